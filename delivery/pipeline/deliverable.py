"""One deliverable: plan, judge predicted figures, render, tag, read back, measure and judge the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from delivery.audio.encode import CODECS, encoder_missing
from delivery.chain.album_gain import AlbumGain, album_gain
from delivery.chain.joined import cut_alike
from delivery.chain.plan import GAIN_SLACK_DB, headroom_db, plan, predict
from delivery.chain.render import render
from delivery.chain.stream import Place
from delivery.errors import DeliveryError, Over, Unfinished, Unusable
from delivery.formats import containers, extension
from delivery.formats.carried import items_of
from delivery.formats.registry import codec_of
from delivery.ledger.cache import MeasurementCache
from delivery.meters import identify, measure
from delivery.model.album import Join
from delivery.model.carried import Item, Passage
from delivery.model.chain import Chain, StepKind
from delivery.model.dual_mono import as_heard
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Finding, Result, worst
from delivery.model.part import Part, Shipped, Source, unapproved
from delivery.model.release import Acceptance, Release
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pack.checksums import checksums
from delivery.pack.names import MAX_BYTES, distinct, fields_of, file_name
from delivery.pack.names_back import disagreements
from delivery.pack.swap import unfinished
from delivery.pipeline import metadata
from delivery.pipeline.album import ALBUM_LOUDNESS, loudness_of, loudness_together
from delivery.pipeline.joined_songs import together
from delivery.pipeline.predicted import Trials, expected
from delivery.pipeline.sources import unexpected
from delivery.pipeline.trial_conversion import finished
from delivery.pipeline.unsettled import needed_figures, unsettled
from delivery.rules import Scope, judge
from delivery.rules.feasible import obstacles

TAGS_READ, KINDS_KEPT = "tags_read", "kinds_kept"
"""Facts that describe what a file carries besides audio, and what the spec lets through."""


@dataclass(frozen=True, slots=True)
class Task:
    """A part to make, with the gain found by an earlier attempt."""

    spec: Spec
    source: Source
    part: Part
    place: Place | None = None
    """Its place in a stream of songs joined without a gap; None: the song is made by itself."""


def predict_parts(
    release: Release,
    spec: Spec,
    sources: tuple[Source, ...],
    joins: Sequence[Join],
    found: Trials,
    numbers: Mapping[int | None, str],
) -> tuple[Part, ...]:
    """Plan every track for *spec* and judge the predicted result; nothing is written.

    Parameters
    ----------
    release, sources : as the spec receives them
    joins : between neighbours, as the album's samples show them
    found : peaks found by trial conversions
    numbers : how reports number the tracks, by position
    """
    masters = expected(release, spec, sources, joins, found)
    measured = [(numbers[s.track.position], master) for s, master in zip(sources, masters, strict=True) if master]
    gain = album_gain(spec, measured, loudness_together(sources, dual_mono=spec.dual_mono).value)
    chains = [_chain(spec, master, gain) for master in masters]
    made = together(spec, sources, chains, joins, numbers)
    names = _names(release, spec, sources, [each.chain for each in made])
    return tuple(
        replace(_predict(release, spec, source, master, each.chain, name), stream=each.stream, lenders=each.lenders)
        for source, master, each, name in zip(sources, masters, made, names, strict=True)
    )


def release_facts(
    release: Release,
    spec: Spec,
    sources: tuple[Source, ...],
    parts: tuple[Part, ...],
    album: Mapping[str, float],
    artwork: Reading,
) -> dict[str, Reading]:
    """Facts for the rules about the release itself."""
    tracks = tuple(
        (source.track, _predicted(source, part.chain) if source.measurement else Measurement({}))
        for source, part in zip(sources, parts, strict=True)
    )
    return {
        "release": Reading(_as_approved(release, sources)),
        "tracks": Reading(tracks),
        "album": Reading(album) if album else Reading.missing("not every track could be measured"),
        ALBUM_LOUDNESS: album_loudness(spec, sources, parts),
        "artwork": artwork,
    }


def _as_approved(release: Release, sources: tuple[Source, ...]) -> Release:
    """*release* without an approval that was given for other audio."""
    return replace(release, approval=None) if unapproved(release, sources) else release


def album_as_shipped(
    release: Release, spec: Spec, sources: tuple[Source, ...], parts: tuple[Part, ...]
) -> tuple[Finding, ...]:
    """Judge *spec*'s requirements on album loudness again on the written files; empty if it has none."""
    asked = tuple(requirement for requirement in spec.requirements if requirement.rule == ALBUM_LOUDNESS)
    facts = {ALBUM_LOUDNESS: album_loudness(spec, sources, parts)}
    only = replace(spec, requirements=asked)
    return judge(only, facts, scope=Scope.RELEASE, track=None, waivers=release.waivers)


def album_loudness(spec: Spec, sources: tuple[Source, ...], parts: tuple[Part, ...]) -> Reading:
    """Loudness of written files, and of the predicted others, as one programme."""
    return loudness_of(_songs(sources, parts), dual_mono=spec.dual_mono)


def _songs(sources: tuple[Source, ...], parts: tuple[Part, ...]) -> list[tuple[int, Measurement | None, float]]:
    """Each song's written file, or its master with the planned gain."""
    return [
        (part.track, part.shipped.measurement, 0.0) if part.shipped else (part.track, source.measurement, gain_db(part))
        for source, part in zip(sources, parts, strict=True)
    ]


def make(task: Task, release: Release, folder: Path, picture: bytes | None) -> Part:
    """Render, tag, read back, measure and judge one part inside the hidden *folder*.

    If conversion would exceed full scale and the spec permits gain down to the ceiling, the level is reduced
    accordingly.
    """
    try:
        shipped, chain, passage = _write(task, release, folder, picture)
    except Unfinished:
        raise
    except Over as over:
        if task.spec.conversions.gain != "down_to_ceiling":
            return _over(task, over)
        return make(at_gain(task, gain_db(task.part) - over.over_db - GAIN_SLACK_DB), release, folder, picture)
    except DeliveryError as error:
        return replace(task.part, problem=str(error))
    except OSError as error:
        raise unfinished(error, folder) from error  # a failure here would stop every part
    except Exception as error:  # noqa: BLE001 - one bad track never stops the job
        return replace(task.part, problem=unexpected(task.source.track.file, error))
    kept = metadata.kinds_kept(release, task.spec, task.source, chain)
    facts = shipped.measurement.with_readings(
        {TAGS_READ: _tags_read(chain, shipped.carried), KINDS_KEPT: Reading(kept)}
    )
    findings = _judge(release, task.spec, task.source, facts, task.part.name)
    return replace(task.part, chain=chain, findings=findings, shipped=shipped, passage=passage)


def _over(task: Task, over: Over) -> Part:
    """A sample over full scale, met only while writing: a finding, like a predicted one."""
    assert task.part.chain
    peak = {"sample_peak_dbfs": Reading(over.peak_dbfs), "sample_peak_at_s": Reading(over.at_s)}
    met = _predicted(task.source, task.part.chain).with_readings(peak)
    found = obstacles(task.spec.id, task.part.track, met, task.part.chain)
    return replace(task.part, findings=(*task.part.findings, *found))


def worth_a_trial(part: Part) -> bool:
    """True if only the finished file can answer, and no other finding refuses the part."""
    others = (finding.result for finding in part.findings if finding.rule not in part.unsettled)
    return bool(part.unsettled) and not part.problem and worst(others) in (Result.READY, Result.REMARKS)


def settle(task: Task, release: Release, cache: MeasurementCache | None) -> Part:
    """Make a trial file and answer the part's unsettled requirements from it."""
    part, spec = task.part, task.spec
    assert part.chain
    try:
        found = finished(task.source, part.chain, needed_figures(part.unsettled), cache, task.place)
    except Over as over:
        return _over(task, over)
    except DeliveryError:
        return part  # the build meets the same error and reports it
    asked = tuple(requirement for requirement in spec.requirements if requirement.rule in part.unsettled)
    settled = _judge(release, replace(spec, requirements=asked), task.source, found, part.name)
    others = tuple(finding for finding in part.findings if finding.rule not in part.unsettled)
    return replace(part, findings=(*settled, *others), unsettled=())


def without_file(part: Part, folder: Path) -> Part:
    """Delete a refused part's file; the findings keep the figures."""
    if part.shipped is None or part.result in (Result.READY, Result.REMARKS):
        return part
    return taken_away(part, folder)


def taken_away(part: Part, folder: Path) -> Part:
    """*part* with its written file deleted."""
    assert part.shipped
    layout.on_disk(folder, part.shipped.path).unlink()
    return replace(part, shipped=None)


def trims_db(spec: Spec, parts: tuple[Part, ...]) -> dict[int, float]:
    """Gain by track position for parts that must be made again at a lower level.

    Conversion raises peaks; if the spec permits gain down to the ceiling, the measured result gives the amount. With
    album scope the largest reduction applies to all tracks.
    """
    if spec.conversions.gain != "down_to_ceiling":
        return {}
    made = {part.track: part for part in parts if part.shipped}
    wanted = {
        track: gain_db(part) + min(0.0, headroom_db(spec, part.shipped.measurement))
        for track, part in made.items()
        if part.shipped
    }
    if spec.conversions.gain_scope == "album":
        wanted = dict.fromkeys(wanted, min(wanted.values(), default=0.0))
    return {track: gain for track, gain in wanted.items() if gain < gain_db(made[track])}


def at_gain(task: Task, gain: float) -> Task:
    """Plan the same part again with a gain of *db*."""
    assert task.source.measurement
    chain = plan(task.spec, task.source.measurement, containers(), gain_db=gain)
    if task.part.chain:
        chain = cut_alike(chain, task.part.chain)
    return replace(task, part=replace(task.part, chain=chain))


def gain_db(part: Part) -> float:
    """Gain in a part's chain in dB; 0.0 if it has none."""
    step = part.chain.step(StepKind.GAIN) if part.chain else None
    return float(step.settings["gain_db"]) if step else 0.0


def _chain(spec: Spec, master: Measurement | None, gain: AlbumGain | None) -> Chain | None:
    if master is None:
        return None
    if gain is None:
        return plan(spec, master, containers())
    return plan(spec, master, containers(), gain_db=gain.gain_db, gain_because=gain.because)


def _names(release: Release, spec: Spec, sources: tuple[Source, ...], chains: list[Chain | None]) -> tuple[str, ...]:
    most_bytes = spec.limit("name_max_bytes") or MAX_BYTES
    wanted = [
        file_name(
            spec.name_template,
            fields_of(release, source.track, chain.target, spec.id),
            extension(chain.target.container),
            max_bytes=most_bytes,
            ascii_only=bool(spec.limit("name_ascii")),
        )
        if chain
        else f"track {source.track.position}"
        for source, chain in zip(sources, chains, strict=True)
    ]
    return distinct(wanted, max_bytes=most_bytes)


def _predict(
    release: Release, spec: Spec, source: Source, master: Measurement | None, chain: Chain | None, name: str
) -> Part:
    position = source.track.position
    if master is None or chain is None:
        return Part(spec.id, position, None, (), name, problem=source.problem)
    passage, tags_read = metadata.predict(release, spec, source, chain)
    kept = Reading(metadata.kinds_kept(release, spec, source, chain))
    deliverable = predict(master, chain).with_readings({TAGS_READ: _tags_read(chain, tags_read), KINDS_KEPT: kept})
    findings = _judge(release, spec, source, deliverable, name)
    stopped = obstacles(spec.id, position, deliverable, chain, _no_encoder(chain))
    open_asks = () if stopped else unsettled(spec, deliverable, chain)
    return Part(spec.id, position, chain, (*findings, *stopped), name, unsettled=open_asks, passage=passage)


def _tags_read(chain: Chain, items: tuple[Item, ...]) -> Reading:
    """Tags and chunks in the file; not measured for a copy whose container's tags cannot be read here, such as W64."""
    container = chain.target.container
    known = containers().get(container)
    if known and (known.tag_formats or not chain.step(StepKind.COPY)):
        return Reading(items)
    return Reading.missing(f"what a {container.upper()} file carries besides its sound is not read here")


def _no_encoder(chain: Chain) -> str:
    """Why *chain* cannot be carried out on this machine; empty if it can."""
    coding = codec_of(chain.target.container, chain.target.coding)
    if coding not in CODECS or chain.step(StepKind.COPY) or not encoder_missing(coding):
        return ""
    return f"no encoder for {CODECS[coding].title} on this machine"


def _predicted(source: Source, chain: Chain | None) -> Measurement:
    assert source.measurement
    assert chain
    return predict(source.measurement, chain)


def _judge(release: Release, spec: Spec, source: Source, measurement: Measurement, name: str) -> tuple[Finding, ...]:
    facts = {
        **as_heard(spec, measurement),
        "track": Reading(source.track),
        "release": Reading(release),
        "name": Reading(name),
    }
    return judge(
        spec,
        facts,
        scope=Scope.TRACK,
        track=source.track.position,
        waivers=release.waivers,
        accepted=_about(source, release),
    )


def _about(source: Source, release: Release) -> tuple[Acceptance, ...]:
    """Acceptances about this master's samples: they apply to every file made from it."""
    audio_hash = source.measurement.value("audio_hash") if source.measurement else None
    return tuple(acceptance for acceptance in release.accepted if acceptance.is_about(audio_hash))


def _write(task: Task, release: Release, folder: Path, picture: bytes | None) -> tuple[Shipped, Chain, Passage]:
    chain, source, spec = task.part.chain, task.source, task.spec
    assert chain
    assert source.measurement
    inside = layout.part(spec.id, task.part.name)
    file = layout.on_disk(folder, inside)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.unlink(missing_ok=True)  # an earlier attempt at a higher level, in our own hidden folder
    rendered = render(source.track.file, chain, file, source.measurement.value("audio_hash"), task.place)
    measurement = _measured(file, source.measurement, chain, rendered)
    cover = picture if spec.embed_artwork else None
    tags, passage = metadata.write(release, spec, source, chain, file, cover, measurement)
    final = _check_after_tagging(file, measurement)
    _check_name(spec, file, final)
    sums = checksums(file)
    carried = items_of(file)
    return Shipped(inside, sums.size_bytes, sums.sha256, sums.md5, final, tags, carried), chain, passage


def _check_name(spec: Spec, file: Path, measurement: Measurement) -> None:
    """Check that the rate and bit depth in the name are those of the file.

    Raises
    ------
    Unusable : they differ
    """
    stem = file.name.removesuffix(file.suffix)
    wrong = disagreements(spec.name_template, stem, measurement.value("rate_hz"), measurement.value("bits"))
    if wrong:
        raise Unusable(
            file.name, "; ".join(wrong), "a name that states the file's rate and bit depth", "Please report it."
        )


def _measured(file: Path, master: Measurement, chain: Chain, rendered: str) -> Measurement:
    """Measure the written file; an identical copy takes the master's figures.

    Identity is proven after tagging, when the file is read again.

    Parameters
    ----------
    rendered : audio hash of the samples handed to the writer; empty for lossy codings

    Raises
    ------
    Unusable : the file's samples differ from those rendered
    """
    if chain.identical:
        return master
    measured = measure(file)
    if rendered and measured.value("audio_hash") != rendered:
        raise Unusable(file.name, "samples that were not rendered", "the rendered samples", "Please report it.")
    return measured


def _check_after_tagging(file: Path, before: Measurement) -> Measurement:
    """Read the tagged file again: new container figures, and check that the samples are those measured.

    Raises
    ------
    Unusable : they differ: the copy is not exact, or tagging changed them
    """
    after = identify(file)
    if after.value("audio_hash") != before.value("audio_hash"):
        wanted = "identical samples after tagging"
        raise Unusable(file.name, "samples that are not those measured", wanted, "Please report it.")
    return before.with_readings(after)
