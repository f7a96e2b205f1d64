"""Differences between two deliveries of a release, from their data documents alone. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from delivery.model.changes import EDGE_AT_OTHER_LEVEL_S, About, Audio, Changes, Listed, Move, Tone, Value

Document = Mapping[str, Any]

AUDIBLE_DB = 0.5
"""Change of a band against the change of loudness that is reported. Common practice, no source: the smallest step that
equalisers for mastering usually have."""
SURE_ERRORS = 2.0
"""Standard errors of a band's change that it must exceed where the two files are not measured at the same places."""
FAINT_DB = -60.0
"""Bands so far below the loudness in both are too weak for a comparison of tone."""
BANDS_HZ: tuple[tuple[float, float | None], ...] = (
    (0.0, 80.0),
    (80.0, 250.0),
    (250.0, 1_000.0),
    (1_000.0, 4_000.0),
    (4_000.0, 10_000.0),
    (10_000.0, None),
)
"""In which tone is described."""

_RELEASE = {
    About.TITLES: ("title", "version", "artist"),
    About.CODES: ("upc", "catalogue_number"),
    About.CREDITS: ("isni",),
    About.WAIVERS: ("waivers", "accepted"),
    About.NOTES: ("notes", "qc_log"),
    About.APPROVAL: ("approval",),
}
_TRACK = {
    About.TITLES: ("title", "version"),
    About.CODES: ("isrc", "iswc"),
    About.CREDITS: (
        "artists", "composers", "lyricists", "writers", "publishers", "credits", "display_artist", "original_artist",
    ),
    About.ORDER: ("side", "only_for", "not_for"),
    About.GAPS: ("gap_before_s",),
}  # fmt: skip
_NOT_COMPARED_RELEASE = frozenset({"revision"})
_NOT_COMPARED_TRACK = frozenset({"track", "number", "disc", "measured", "sha256", "file", "problem"})
"""Numbers are compared as moves, audio separately; a file's name decides nothing."""
_DERIVED = {"display_artist": "artists"}
"""Follows from the other, which is reported alone if both differ."""


def changes(earlier: Document, later: Document, names: tuple[str, str] | None = None) -> Changes:
    """Everything that differs between two data documents, of a check or a build each.

    Parameters
    ----------
    names : of the two; None: their revisions

    Raises
    ------
    KeyError, TypeError, ValueError, AttributeError : not data documents of this form
    """
    before, after = list(earlier["sources"]), list(later["sources"])
    pairs = _paired(before, after)
    numbers = _numbers(before), _numbers(after)
    met = {id(one) for one, _ in pairs}, {id(other) for _, other in pairs}
    named = names or (f"revision {earlier['release']['revision']}", f"revision {later['release']['revision']}")
    return Changes(
        *named,
        audio=tuple(_audio(one, other, numbers[1][id(other)]) for one, other in pairs),
        added=tuple(Listed(numbers[1][id(each)], _title(each)) for each in after if id(each) not in met[1]),
        removed=tuple(Listed(numbers[0][id(each)], _title(each)) for each in before if id(each) not in met[0]),
        moved=tuple(_moves(pairs, *numbers)),
        values=tuple(sorted(_values(earlier, later, pairs, numbers[1]), key=_place)),
    )


def _place(value: Value) -> int:
    return list(About).index(value.about)


def _paired(before: Sequence[Document], after: Sequence[Document]) -> list[tuple[Document, Document]]:
    """Tracks of one recording, in the later order: by samples, then code, title, file, and place."""
    left, right = list(before), list(after)
    found: dict[int, Document] = {}
    for key in (_samples, _code, _titled, _file, _place_of):
        for other in right:
            if id(other) in found:
                continue
            value = key(other)
            alike = [one for one in left if value and key(one) == value]
            if alike and (key is not _place_of or len(before) == len(after)):
                best = min(alike, key=lambda one: abs(int(one["track"]) - int(other["track"])))
                found[id(other)] = best
                left = [one for one in left if one is not best]
    return [(found[id(other)], other) for other in after if id(other) in found]


def _samples(source: Document) -> Any:
    return _figure(source, "audio_hash")


def _code(source: Document) -> Any:
    return source["isrc"]


def _titled(source: Document) -> Any:
    return (source["title"].casefold(), source["version"].casefold()) if source["title"] else None


def _file(source: Document) -> Any:
    return source["file"]


def _place_of(source: Document) -> Any:
    return source["track"]


def _figure(source: Document, name: str) -> Any:
    return (source["measured"] or {"figures": {}})["figures"].get(name)


def _title(source: Document) -> str:
    return f"{source['title']} ({source['version']})" if source["version"] else str(source["title"])


def _numbers(sources: Sequence[Document]) -> dict[int, str]:
    """Printed number of each track: '3', or '2.3' where there are several discs."""
    several = len({each["disc"] for each in sources}) > 1
    return {id(each): f"{each['disc']}.{each['number']}" if several else str(each["number"]) for each in sources}


def _moves(
    pairs: Sequence[tuple[Document, Document]], before: Mapping[int, str], after: Mapping[int, str]
) -> Iterator[Move]:
    for one, other in pairs:
        if before[id(one)] != after[id(other)]:
            yield Move(before[id(one)], after[id(other)], _title(other))


def _measured_elsewhere(one: Document, other: Document) -> bool:
    """True if the windows of the two spectra do not lie at the same places of the music: their distance follows from
    the length of the file. A fade at another level moves where sound is found to begin, but not the music."""
    moved_s = abs(_difference(one, other, "lead_in_s"))
    return bool(_difference(one, other, "duration_s")) or moved_s >= EDGE_AT_OTHER_LEVEL_S


def _audio(one: Document, other: Document, number: str) -> Audio:
    title, hashes = _title(other), (_samples(one), _samples(other))
    if None in hashes:
        return Audio(number, title, False, unknown=other["problem"] or one["problem"] or "it could not be measured")
    if hashes[0] == hashes[1]:
        return Audio(number, title, True, one["sha256"] == other["sha256"])
    return Audio(
        number,
        title,
        False,
        False,
        level_db=_level_db(one, other),
        length_s=_difference(one, other, "duration_s"),
        head_s=_difference(one, other, "lead_in_s"),
        tail_s=_difference(one, other, "tail_s"),
        tone=tuple(_tone(one, other)),
        form=_forms(one, other),
    )


def _forms(one: Document, other: Document) -> tuple[str, str] | None:
    before, after = (
        " ".join(str(_figure(each, name)) for name in ("rate_hz", "bits", "channels")) for each in (one, other)
    )
    return (before, after) if before != after else None


def _level_db(one: Document, other: Document) -> float | None:
    for name in ("integrated_lufs", "programme_rms_dbfs"):
        before, after = _figure(one, name), _figure(other, name)
        if before is not None and after is not None:
            return float(after - before)
    return None


def _difference(one: Document, other: Document, name: str) -> float:
    before, after = _figure(one, name), _figure(other, name)
    return 0.0 if before is None or after is None else float(after - before)


def _tone(one: Document, other: Document) -> Iterator[Tone]:
    """Bands whose level changed against the loudness; silent ones and those above a master's rate say nothing.

    Two files of one length are measured at the same places: only the change itself counts. Otherwise each spectrum is
    a sample of the music, and a change must be larger than its error.
    """
    name = "third_octave_re_loudness_db"
    spectra = [dict(zip(_figure(each, "third_octave_hz") or (), _figure(each, name) or (), strict=False))
               for each in (one, other)]  # fmt: skip
    common = [hz for hz in spectra[0] if hz in spectra[1]]
    errors = _errors_db(one, other) if _measured_elsewhere(one, other) else {}
    for low, high in BANDS_HZ:
        both = [(spectra[0][hz], spectra[1][hz]) for hz in common if low <= hz and (high is None or hz < high)]
        heard = [(a, b) for a, b in both if a is not None and b is not None and max(a, b) > FAINT_DB]
        if not heard:
            continue
        before, after = (_sum_db([pair[at] for pair in heard]) for at in (0, 1))
        error_db = max((errors.get(hz, 0.0) for hz in common if low <= hz and (high is None or hz < high)), default=0.0)
        if abs(after - before) >= max(AUDIBLE_DB, SURE_ERRORS * error_db):
            yield Tone(high, low, after - before)


def _errors_db(one: Document, other: Document) -> dict[float, float]:
    """Standard error of the difference of each band, by its middle in Hz; those of neighbours go together."""
    by_band = [
        dict(zip(_figure(each, "third_octave_hz") or (), _figure(each, "third_octave_se_db") or (), strict=False))
        for each in (one, other)
    ]
    both = ((hz, by_band[0][hz], by_band[1].get(hz)) for hz in by_band[0])
    return {hz: math.hypot(error, second) for hz, error, second in both if error is not None and second is not None}


def _sum_db(levels_db: Sequence[float]) -> float:
    """Level of bands together, as powers."""
    return 10 * math.log10(sum(10 ** (max(level, -200.0) / 10) for level in levels_db))


def _values(
    earlier: Document, later: Document, pairs: Sequence[tuple[Document, Document]], numbers: Mapping[int, str]
) -> Iterator[Value]:
    yield from _of_group(earlier["release"], later["release"], _RELEASE, _NOT_COMPARED_RELEASE)
    for one, other in pairs:
        for value in _of_group(one, other, _TRACK, _NOT_COMPARED_TRACK):
            yield Value(value.about, value.key, value.before, value.after, numbers[id(other)], _title(other))
    yield from _specs(earlier["specs"], later["specs"])
    yield from _whole(About.ARTWORK, "artwork", _picture(earlier), _picture(later))
    yield from _of_group(earlier["studio"], later["studio"], {}, frozenset(), About.STUDIO)
    yield from _whole(About.PROGRAM, "version", earlier["program"]["version"], later["program"]["version"])


def _of_group(
    one: Document,
    other: Document,
    subjects: Mapping[About, Sequence[str]],
    left_out: frozenset[str],
    otherwise: About = About.LABEL_COPY,
) -> Iterator[Value]:
    """Each key whose value differs; keys that only a later version of this program writes count where they say
    something."""
    about = {key: subject for subject, keys in subjects.items() for key in keys}
    keys = [*about, *sorted((one.keys() | other.keys()) - about.keys() - left_out)]
    differing = [key for key in keys if _unlike(one, other, key)]
    for key in differing:
        if _DERIVED.get(key) in differing:
            continue
        yield from _whole(about.get(key, otherwise), key, *map(_stated, (one.get(key), other.get(key))))


def _unlike(one: Document, other: Document, key: str) -> bool:
    if key in one and key in other:
        return bool(one[key] != other[key])
    return bool(one.get(key) or other.get(key))


def _stated(value: Any) -> Any:
    """An approval is its name, date and hashes; the sentence about it follows from them."""
    if isinstance(value, Mapping) and "says" in value:
        return {key: each for key, each in value.items() if key != "says"}
    return value


def _whole(about: About, key: str, before: Any, after: Any) -> Iterator[Value]:
    if before == after:
        return
    if isinstance(before, list) and isinstance(after, list):
        if about is About.WAIVERS and sorted(map(str, before)) == sorted(map(str, after)):
            return  # in another order they say the same
        gone, come = [each for each in before if each not in after], [each for each in after if each not in before]
        yield Value(about, key, gone, come) if gone or come else Value(about, key, before, after)
    else:
        yield Value(about, key, before, after)


def _picture(document: Document) -> Any:
    found = document["artwork"]
    return found and {key: found[key] for key in ("width_px", "height_px", "kind", "sha256")}


def _specs(before: Sequence[Document], after: Sequence[Document]) -> Iterator[Value]:
    one, other = ({each["id"]: each for each in some} for some in (before, after))
    for name in [*other, *(name for name in one if name not in other)]:
        before_and_after = [each[name] and {key: each[name][key] for key in ("title", "edition", "checked", "digest")}
                if name in each else None for each in (one, other)]  # fmt: skip
        yield from _whole(About.SPECS, name, *before_and_after)
