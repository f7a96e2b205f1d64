"""What changed since an earlier delivery, in sentences. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from delivery.model.changes import EDGE_AT_OTHER_LEVEL_S, EDGE_S, LEVEL_DB, About, Audio, Changes, Listed, Tone, Value
from delivery.model.fields import FIELDS
from delivery.report.view import words

LABELS = {field.id: field.title for field in FIELDS.values()} | {
    "display_artist": "Artist as printed",
    "gap_before_s": "Gap before",
    "preview_start_s": "Preview start",
    "isni": "ISNI codes",
    "upc": "UPC / EAN",
    "only_for": "Goes only to",
    "not_for": "Does not go to",
    "qc_log": "QC log",
    "p_line": "℗",
    "c_line": "©",
    "dated": "Dated",
    "version": "Version",
    "production": "Values for discs, records and masters",
}
_NOTHING = "not stated"
_KINDS: Mapping[str, Sequence[str]] = {
    "waivers": ("rule", "track", "spec", "by", "why"),
    "accepted": ("rule", "track", "by", "why"),
    "qc_log": ("track", "what", "decision", "by"),
}
"""Which parts of an entry are printed, by key."""
_ENTRY = {"waivers": "Waiver", "accepted": "Acceptance", "qc_log": "QC log entry"}
_BAND = {
    80.0: "below 80 Hz",
    250.0: "80 to 250 Hz",
    1_000.0: "250 Hz to 1 kHz",
    4_000.0: "1 to 4 kHz",
    10_000.0: "4 to 10 kHz",
    None: "above 10 kHz",
}


def headline(changes: Changes) -> str:
    """One sentence: how much differs, from what."""
    if changes.nothing:
        return f"Nothing has changed since {changes.earlier}."
    counted = [
        (sum(not each.same_samples for each in changes.audio), "track with new audio", "tracks with new audio"),
        (len(changes.added), "new track", "new tracks"),
        (len(changes.removed), "track left out", "tracks left out"),
        (len(changes.moved), "track with another number", "tracks with another number"),
    ]
    said = [words.counted(count, one, many) for count, one, many in counted if count]
    if changes.values and not said and changes.audio:
        return f"Compared with {changes.earlier}: same audio, {words.counted(len(changes.values), 'change')}."
    if changes.values:
        said.append(words.counted(len(changes.values), "other change"))
    difference = words.listed(said) or "the masters are other files with the same samples"
    return f"Compared with {changes.earlier}: {difference}."


def not_compared(revision: int) -> str:
    """What is said of a later revision without an earlier one; empty for the first, which has none."""
    return "No earlier revision to compare with was known where this was made." if revision > 1 else ""


def changes_lines(changes: Changes) -> tuple[str, ...]:
    """A sentence for each change, audio first; unchanged tracks together in one."""
    return tuple(
        words.plain(text)
        for text in (
            *_audio(changes),
            *_listed("new on the release", changes.added),
            *_listed("no longer on the release", changes.removed),
            *_order(changes),
            *(line for value in changes.values for line in _value(value)),
        )
    )


def _audio(changes: Changes) -> Iterator[str]:
    for audio in changes.audio:
        if not audio.same_samples:
            yield f"Track {audio.track}, {audio.title}: {_difference(audio)}."
    for same_bytes, says in ((False, "same samples in another file (header, chunks or tags)"), (True, "same samples")):
        alike = [each.track for each in changes.audio if each.same_samples and each.same_bytes is same_bytes]
        if alike and (changes.new_audio or changes.added or changes.removed):
            yield f"Track{'s' if len(alike) > 1 else ''} {words.runs(alike)}: {says}."


def _difference(audio: Audio) -> str:
    """'0.8 dB louder, 1.204 s longer'."""
    if audio.unknown:
        return f"audio not compared: {audio.unknown.rstrip('.')}"
    said = [*_form(audio), *_level(audio), *_length(audio), *_edges(audio), *_tone(audio.tone)]
    return ", ".join(said) or "other samples; level, length, beginning, end and tone as before"


def _form(audio: Audio) -> Iterator[str]:
    if audio.form:
        before, after = (_form_says(form) for form in audio.form)
        yield f"now {after} (was {before})"


def _form_says(form: str) -> str:
    rate_hz, bits, channels = form.split()
    depth = "" if bits == "None" else f", {bits} bit"
    rate = words.kilohertz(float(rate_hz)) if rate_hz != "None" else "unknown rate"
    return f"{rate}{depth}, {words.counted(int(channels), 'channel') if channels != 'None' else 'unknown channels'}"


def _level(audio: Audio) -> Iterator[str]:
    if audio.level_db is None:
        yield "level not known"
    elif abs(audio.level_db) >= LEVEL_DB:
        yield f"{abs(audio.level_db):.1f} dB {'louder' if audio.level_db > 0 else 'quieter'}"


def _length(audio: Audio) -> Iterator[str]:
    if abs(audio.length_s) >= 0.0005:
        yield f"{abs(audio.length_s):.3f} s {'longer' if audio.length_s > 0 else 'shorter'}"


def _edges(audio: Audio) -> Iterator[str]:
    least_s = EDGE_AT_OTHER_LEVEL_S if abs(audio.level_db or 0.0) >= LEVEL_DB else EDGE_S
    for change_s, where in ((audio.head_s, "beginning"), (audio.tail_s, "end")):
        if abs(change_s) >= least_s:
            yield f"{abs(change_s):.2f} s {'more' if change_s > 0 else 'less'} silence at the {where}"


def _tone(tone: Sequence[Tone]) -> Iterator[str]:
    if tone:
        bands = words.listed(f"{band.change_db:+.1f} dB {_BAND[band.below_hz]}" for band in tone)
        yield f"other tone at equal loudness ({bands})"


def _listed(says: str, tracks: Sequence[Listed]) -> Iterator[str]:
    yield from (f"Track {each.track}, {each.title}: {says}." for each in tracks)


def _order(changes: Changes) -> Iterator[str]:
    if changes.moved:
        moves = ", ".join(f"{each.after} {each.title} (was {each.before})" for each in changes.moved)
        yield f"Track numbers: {moves}."


def _value(value: Value) -> Iterator[str]:
    where = f"Track {value.track}, {value.title}: " if value.track else ""
    where = "Studio, " if value.about is About.STUDIO else where
    if value.key in _KINDS and value.about is not About.SPECS:
        yield from _entries(value)
    elif value.about is About.SPECS:
        yield f"Spec {value.key}: {_spec(value.before, value.after)}."
    elif value.about is About.APPROVAL:
        yield f"Approval: {_approval(value.after)} (was: {_approval(value.before)})."
    elif value.about is About.ARTWORK:
        yield f"Artwork: {_artwork(value.after)} (was: {_artwork(value.before)})."
    elif value.about is About.PROGRAM:
        yield f"Made by version {value.after} of the program (was {value.before})."
    elif isinstance(value.before, list) and isinstance(value.after, list):
        yield f"{where}{label(value.key)}: {_list_change(value)}."
    else:
        before, after = _shown(value.key, value.before), _shown(value.key, value.after)
        yield f"{where}{label(value.key)} now {after} (was {before})."


def label(key: str) -> str:
    """Heading of a value, from the table of label-copy fields where it has a row."""
    return LABELS.get(key) or key.replace("_", " ").capitalize()


def _list_change(value: Value) -> str:
    if value.before == [] and value.after == []:
        return "stated otherwise"
    come = [f"added {_shown(value.key, each)}" for each in value.after]
    gone = [f"removed {_shown(value.key, each)}" for each in value.before]
    same = sorted(map(str, value.before)) == sorted(map(str, value.after))
    return "in another order" if same and come else "; ".join((*come, *gone))


def _shown(key: str, value: Any) -> str:
    if value in (None, "", [], {}):
        return _NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{_shown(key, each)}" for each in value.values() if each not in (None, "", [], {}))
    if isinstance(value, list):
        return ", ".join(_shown(key, each) for each in value)
    if key == "isrc":
        return words.isrc(value)
    if key == "preview_start_s":
        return words.clock(value, 0)
    return f"{value:g} s" if key == "gap_before_s" else words.plain(value)


def _entries(value: Value) -> Iterator[str]:
    for entries, says in ((value.after, "added"), (value.before, "removed")):
        for entry in entries or ():
            shown = {part: entry.get(part) for part in _KINDS[value.key]}
            track = f"track {shown['track']}" if shown.get("track") else ""
            rest = (words.plain(shown[part]) for part in _KINDS[value.key] if part != "track" and shown[part])
            yield f"{_ENTRY[value.key]} {says}: {', '.join(text for text in (track, *rest) if text)}."


def _spec(before: Any, after: Any) -> str:
    if before is None:
        return f"new in this delivery ({words.plain(after['title'])})"
    if after is None:
        return f"no longer in this delivery ({words.plain(before['title'])})"
    if before["edition"] != after["edition"]:
        return f"edition {after['edition'] or _NOTHING} (was {before['edition'] or _NOTHING})"
    if before["digest"] != after["digest"]:
        return f"other contents, digest {after['digest'][:8]} (was {before['digest'][:8]})"
    return f"checked {after['checked']} (was {before['checked']})"


def _approval(given: Any) -> str:
    if not given:
        return "none"
    part = given.get("tracks")
    holds = f"of {_tracks(part)}" if part else "of these masters" if given["holds"] else "of other audio"
    return f"{words.plain(given['by'])}, {given['date'] or 'no date'}, {holds}"


def _tracks(numbers: Sequence[str]) -> str:
    return f"track{'s' if len(numbers) > 1 else ''} {words.runs(numbers)}"


def _artwork(found: Any) -> str:
    if not found:
        return "none"
    return f"{found['width_px']} × {found['height_px']} px, {words.plain(found['kind'])}, {found['sha256'][:8]}"
