"""A spec in plain sentences, and the differences between two specs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from delivery.model.carrier import Carrier
from delivery.model.dual_mono import TWO_LOUDSPEAKERS_LU
from delivery.model.spec import Cover, Requirement, Spec
from delivery.rules import rules
from delivery.rules.words import listed

CONVERSIONS = {
    ("rate", "never"): "The sample rate is never converted.",
    ("rate", "lower"): "A sample rate that is too high may be lowered; it is never raised.",
    ("rate", "any"): "The sample rate may be converted, up or down.",
    ("depth", "never"): "The bit depth is never reduced.",
    ("depth", "lower"): "A bit depth that is too high may be reduced, with dither ({dither}).",
    ("silence", "dithered"): "Digital silence at either end of a song is dithered like the rest.",
    ("silence", "zero"): "Digital silence at either end of a song stays at zero when the bit depth is reduced.",
    ("gain", "never"): "The level is never changed.",
    ("gain", "down_to_ceiling"): "The level may be reduced, only as much as the peak ceiling requires ({scope}).",
    ("gain", "to_target"): "The level is changed by plain gain to meet the loudness target ({scope}).",
    ("container", "never"): "The container is never changed.",
    ("container", "any"): "The same samples may be written to another container.",
}
GAIN_SCOPES = {"track": "each track by itself", "album": "one gain for the whole album"}


def explain(spec: Spec) -> list[str]:
    """One sentence for each requirement, permitted step and added file, with sources."""
    return [
        f"{spec.id}: {_ended(spec.title)} {_ended(spec.about)}",
        *_origin(spec),
        *(_requested(requirement, spec) for requirement in _by_weight(spec)),
        *filter(None, _frame(spec).values()),
    ]


def difference(a: Spec, b: Spec) -> list[str]:
    """Differences in requirements, permitted steps and files; empty if there are none. Titles, dates and sources may
    differ."""
    return [*_different_requirements(a, b), *_frame_apart(a, b)]


def worded(requirement: Requirement) -> str:
    """'the true peak is at most -1.00 dBTP'."""
    rule = rules()[requirement.rule]
    return rule.sentence.format(limit=rule.limit_text(requirement.limit))


def _origin(spec: Spec) -> Iterator[str]:
    if spec.lineage:
        yield f"It inherits from {listed(spec.lineage)}."
    edition = f"Edition: {spec.edition}. " if spec.edition else ""
    months = f"{spec.good_for_months} months"
    yield f"{edition}Checked against its sources on {spec.checked.isoformat()}; good for {months} from then."


def _by_weight(spec: Spec) -> list[Requirement]:
    known_rules = rules()
    return sorted(spec.requirements, key=lambda one: (not one.must, known_rules[one.rule].subject, one.rule))


def _requested(requirement: Requirement, spec: Spec) -> str:
    word = "Must" if requirement.must else "Should"
    inherited = f"from {requirement.spec}; " if requirement.spec != spec.id else ""
    note = f" {_ended(requirement.note)}" if requirement.note else ""
    sourced = f"({inherited}{requirement.source}; checked {requirement.checked.isoformat()})"
    return f"{word}: {worded(requirement)} {sourced}.{note}"


def _frame(spec: Spec) -> dict[str, str]:
    """Permitted steps and added files: key -> sentence, in print order."""
    steps = spec.conversions
    pair = {
        step: CONVERSIONS[step, getattr(steps, step)].format(dither=steps.dither, scope=GAIN_SCOPES[steps.gain_scope])
        for step in ("rate", "depth", "silence", "gain", "container")
    }
    tags = "Label copy is written into the files" if spec.embed_tags else "No label copy is written into the files"
    cover = "the cover is embedded too" if spec.embed_artwork else "the cover is not embedded"
    papers = listed(paper.replace("_", " ") for paper in spec.papers)
    return pair | {
        "carrier": _carrier(spec.carrier) if spec.carrier else "",
        "bitrate": _bitrate(spec),
        "mono": f"A mono file counts as two equal loudspeakers, {TWO_LOUDSPEAKERS_LU:.2f} LU louder than as it is."
        if spec.dual_mono
        else "",
        "name": f"Files are named '{spec.name_template}'.",
        "tags": f"{tags}; {cover}.",
        "keep_tags": _kept(spec),
        "keep_chunks": f"Kept from the master: {_named(spec.keep_chunks)}." if spec.keep_chunks else "",
        "id3": "" if spec.id3_version == 2.4 else f"MP3 files carry ID3v{spec.id3_version}.",
        "cover": _cover(spec.cover) if spec.cover else "",
        "papers": f"Along go: {papers}." if spec.papers else "",
        "sheet": "It has a delivery sheet of its own, in its folder." if spec.own_sheet else "",
        "purpose": "Its files are listening copies, marked as reference, not for release."
        if spec.reference_only
        else "",
    }


def _kept(spec: Spec) -> str:
    """Which of the master's own texts may stay, besides label copy."""
    if spec.keep_tags is None:
        where = "" if spec.embed_tags else " of a copy"
        return f"Of the master's own tags only the broadcast chunk{where} stays."
    if not spec.keep_tags:
        return "None of the master's own tags stay."
    return f"Of the master's own tags these stay: {_named(spec.keep_tags)}."


def _named(kinds: Iterable[str]) -> str:
    return listed(kind.replace("_", " ") for kind in kinds)


def _cover(cover: Cover) -> str:
    kind = cover.kind.upper()
    return f"A square cover of {cover.side_px} px as {kind} is added, made from the original, never enlarged."


def _carrier(carrier: Carrier) -> str:
    frames = f", songs beginning on frames of {carrier.frame_samples} samples" if carrier.in_frames else ""
    pressed = f" The release may override this; default: {carrier.pressing}." if str(carrier.pressing) else ""
    early, late = carrier.mark_early_frames, carrier.mark_late_frames
    moved = [f"index 1 {early} frames early" if early else "", f"ends {late} frames late" if late else ""]
    pair = listed(text for text in moved if text)
    marks = f" Within the silence between songs: {pair} (common practice, no source)." if pair else ""
    pause = f" {carrier.first_pause_s:g} s of silence precede it." if carrier.first_pause_s else ""
    return f"The songs are joined into one continuous WAV file for each {carrier.part}{frames}.{pause}{pressed}{marks}"


def _bitrate(spec: Spec) -> str:
    if spec.vbr_quality is not None:
        return (
            f"Lossy copies are made at a variable bit rate of quality {spec.vbr_quality} (0 is the best, 9 the lowest)."
        )
    return f"Lossy copies are made at {spec.bitrate_kbps} kbit/s." if spec.bitrate_kbps else ""


def _different_requirements(a: Spec, b: Spec) -> Iterator[str]:
    ours, theirs = a.required(), b.required()
    for key in sorted({*ours, *theirs}):
        pair = [_requirement_text(required_here.get(key)) for required_here in (ours, theirs)]
        if pair[0] != pair[1]:
            yield f"{key}: {a.id} {pair[0]}; {b.id} {pair[1]}."


def _requirement_text(requirement: Requirement | None) -> str:
    if requirement is None:
        return "does not require it"
    limit = rules()[requirement.rule].limit_text(requirement.limit)
    return f"{'must' if requirement.must else 'should'}: {limit}"


def _frame_apart(a: Spec, b: Spec) -> Iterator[str]:
    of_a, of_b = _frame(a), _frame(b)
    for key in of_a:
        if of_a[key] != of_b[key]:
            yield f"{key}: {a.id}: {of_a[key] or 'not stated.'} {b.id}: {of_b[key] or 'not stated.'}"


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
