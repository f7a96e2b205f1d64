"""A song beside a reference playlist in words and rounded numbers: rows, marks, cautions. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from delivery.model.reference import BandSpread, Beside, Doubt, Place, PlaceKind, ReferenceComparison, Spread
from delivery.report.view import words
from delivery.report.view.reference_opening import (
    headline_bands,
    nominal_hz,
    range_of,
    range_of_band,
    strays,
)

CAUTION = (
    "Differences are context, not a target.",
    "References must be lossless and not recorded from a loudness-normalised stream.",
)
FEW_FILES = 3
"""Most names of doubtful tracks in one remark."""
NAMES = {
    "integrated_lufs": ("Integrated", "LUFS", 1),
    "short_term_max_lufs": ("Short-term maximum", "LUFS", 1),
    "loudness_range_lu": ("Loudness range", "LU", 1),
    "true_peak_dbtp": ("True peak", "dBTP", 1),
    "plr_db": ("PLR", "dB", 1),
    "psr_low_db": ("PSR, 5th percentile", "dB", 1),
    "psr_min_db": ("PSR, least", "dB", 1),
    "side_mid_db": ("Width, side over mid", "dB", 1),
    "correlation": ("Correlation", "", 2),
    "spectral_tilt_db": ("Spectral tilt", "dB/octave", 2),
}
"""Figure -> name, unit, decimals, in the order in which they are printed."""
DIFFERENCE_UNITS = {"LUFS": "LU", "dBTP": "dB"}
"""Of the difference of two levels, where it is another than theirs."""
SHORT = ("integrated_lufs", "short_term_max_lufs", "loudness_range_lu", "plr_db", "psr_low_db", "side_mid_db",
         "spectral_tilt_db")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of the song beside those of the reference."""

    name: str
    unit: str
    song: str
    median: str
    middle_half: str
    """'-9.4 to -8.1'; of fewer than three tracks their single values."""
    difference: str
    """With its unit: '-1.2 LU'; empty where there is none."""
    place: str
    """'inside' or 'outside' the middle half; empty where there is none. The difference has the direction."""


def rows(song: Beside, names: Sequence[str] = tuple(NAMES)) -> tuple[Row, ...]:
    """One row a figure."""
    return tuple(_row(*NAMES[name], song.figures[name]) for name in names)


def band_rows(bands: Sequence[BandSpread]) -> tuple[Row, ...]:
    """One row a band: third octaves by their middle, wider ones by their range."""
    return tuple(_row(range_of_band(band) if band.low_hz < band.high_hz else hertz(band.low_hz), "dB", 1, band.level)
                 for band in bands)  # fmt: skip


def hertz(middle_hz: float) -> str:
    """'80 Hz', '3.15 kHz': the name of a third octave."""
    hz = nominal_hz(middle_hz)
    return f"{hz:g} Hz" if hz < 1000 else f"{hz / 1000:g} kHz"


def standing_out(song: Beside, most: int = 3) -> tuple[Row, ...]:
    """Rows of the low end and of at most so many octaves outside the middle half, strongest of overlapping ones."""
    chosen: list[BandSpread] = []
    bands = sorted(headline_bands(song), key=lambda band: -abs(band.level.outside or 0.0))
    for band in bands:
        apart = all(band.low_hz > one.high_hz * 1.01 or band.high_hz * 1.01 < one.low_hz for one in chosen)
        if strays(band.level) and apart:
            chosen.append(band)
    low_end = [song.low_end] if song.low_end else []
    return band_rows([*low_end, *sorted(chosen[:most], key=lambda band: band.low_hz)])


def _row(name: str, unit: str, digits: int, level: Spread) -> Row:
    several = level.q25 is not None
    return Row(
        name,
        unit,
        _number(level.song, digits),
        _number(level.median, digits) if several else "",
        f"{_number(level.q25, digits)} to {_number(level.q75, digits)}"
        if several
        else ", ".join(_number(value, digits) for value in level.values),
        _difference(level.difference, digits, unit) if several else "",
        _side(level),
    )


def _side(level: Spread) -> str:
    if level.outside is None:
        return ""
    return "outside" if strays(level) else "inside"


def _difference(value: float | None, digits: int, unit: str) -> str:
    return f"{_signed(value, digits)} {DIFFERENCE_UNITS.get(unit, unit)}".strip() if value is not None else ""


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{round(value, digits) + 0.0:.{digits}f}"


def _signed(value: float | None, digits: int) -> str:
    return "" if value is None else f"{round(value, digits) + 0.0:+.{digits}f}"


def playback_rows(song: Beside) -> tuple[tuple[str, ...], ...]:
    """Target, gain and peaks of the song, gain and peaks of the reference (medians), as text."""
    return tuple(
        (
            f"{each.target_lufs:.0f}",
            _signed(each.gain_db.song, 1) or "-",
            _signed(each.peak_dbtp.song, 1) or "-",
            _signed(each.gain_db.median, 1) or "-",
            _signed(each.peak_dbtp.median, 1) or "-",
        )
        for each in song.playback
    )


def playback_line(song: Beside) -> str:
    """The loudest target in one sentence."""
    target, gain, peak, peers_gain, peers_peak = playback_rows(song)[0]
    return f"At {target} LUFS: gain {gain} dB, peak {peak} dBTP; reference {peers_gain} dB, {peers_peak} dBTP."


PLACE_HEADS = ("Bands over time", "Band", "", "From usual", "Beyond peers")
PLACE_NOTE = (
    "From usual: from the band's usual level in the song. Beyond peers: beyond what 19 of 20 bars of the playlist "
    "hold. Arrangement: a part drops out and returns at once."
)


def place_rows(song: Beside) -> tuple[tuple[str, ...], ...]:
    """A row a place, as PLACE_HEADS: thin or crowded, the farthest beyond the playlist first; then arrangement."""
    return tuple(map(_place_row, [*_thin_or_crowded(song), *_arrangement(song)]))


def thin_or_crowded_rows(song: Beside) -> tuple[tuple[str, ...], ...]:
    """The same without parts that drop out and return."""
    return tuple(map(_place_row, _thin_or_crowded(song)))


def more_places(song: Beside, shown: int) -> str:
    """How many thin or crowded places are not shown, and how many are arrangement; empty where there is neither."""
    rest, arrangement = len(_thin_or_crowded(song)) - shown, len(_arrangement(song))
    texts = [f"{rest} more"] if rest else []
    texts += [f"{arrangement} of arrangement"] if arrangement else []
    return f"{words.listed(texts)}: --all." if texts else ""


def _thin_or_crowded(song: Beside) -> list[Place]:
    found = [place for place in song.places if place.kind is not PlaceKind.DROPS_OUT]
    return sorted(found, key=lambda place: (-abs(place.peers_db or 0.0), -abs(place.own_db), place.at_s))


def _arrangement(song: Beside) -> list[Place]:
    return sorted((place for place in song.places if place.kind is PlaceKind.DROPS_OUT), key=lambda place: place.at_s)


def _place_row(place: Place) -> tuple[str, ...]:
    arrangement = place.kind is PlaceKind.DROPS_OUT
    beyond = "" if arrangement or place.peers_db is None else f"{abs(place.peers_db):.1f} dB"
    kind = "arrangement" if arrangement else place.kind.value
    section = f" ({words.plain(place.section)})" if place.section else ""
    return _when(place) + section, range_of(place.low_hz, place.high_hz), kind, f"{place.own_db:+.1f} dB", beyond


def _when(place: Place) -> str:
    return f"{words.at(place.at_s)} to {words.at(place.until_s)}"


def bar_remark(song: Beside) -> str:
    """What a bar is here; empty where no places were sought."""
    if song.bar_s is None:
        return ""
    tempo = f"four beats at {song.bpm:g} a minute" if song.bpm else "no tempo stated"
    return f"Bars of {song.bar_s:.2f} s ({tempo})."


def remarks(found: ReferenceComparison) -> tuple[str, ...]:
    """What the reader must know of the reference: doubtful tracks, those left out, older figures."""
    texts = list(doubts(found))
    if found.marks:
        texts.append(f"Why: delivery reference show {_named(found)}; leave them out: --leave-out-marked.")
    return (*texts, *_of_tracks(found))


def short_remarks(found: ReferenceComparison) -> tuple[str, ...]:
    """The same for a screen: doubts in one line."""
    line = marks_line(found)
    return (*((line,) if line else ()), *_of_tracks(found))


def _of_tracks(found: ReferenceComparison) -> list[str]:
    texts = []
    if found.left_out:
        texts.append(f"Left out as marked: {', '.join(words.plain(file) for file in found.left_out)}.")
    if found.same:
        texts.append(f"Left out as the same sound: {', '.join(words.plain(file) for file in found.same)}.")
    if found.older:
        texts.append(older_remark(found.reference.name, found.older))
    return texts


def marks_line(found: ReferenceComparison) -> str:
    """How many tracks are doubtful in which way, and what to do: for a screen; empty where none is."""
    if not found.marks:
        return ""
    counts = [(doubt, sum(any(mark.doubt is doubt for mark in own) for own in found.marks.values())) for doubt in Doubt]
    listed = words.listed(f"{count} {doubt.value}" for doubt, count in counts if count)
    return f"Marked tracks: {listed} (delivery reference show {_named(found)}); --leave-out-marked."


def _named(found: ReferenceComparison) -> str:
    return words.in_command(found.named or found.reference.name)


def doubts(found: ReferenceComparison) -> Iterator[str]:
    """One sentence for each doubt, with the tracks it is about."""
    for doubt in Doubt:
        files = [words.plain(file) for file, own in found.marks.items() if any(mark.doubt is doubt for mark in own)]
        if files:
            more = "" if len(files) <= FEW_FILES else f" and {len(files) - FEW_FILES} more"
            yield f"{words.counted(len(files), 'reference track')} {doubt.value}: {', '.join(files[:FEW_FILES])}{more}."


def older_remark(name: str, older: Sequence[str]) -> str:
    """What to do about tracks that other versions of the meters measured."""
    return (
        f"{words.counted(len(older), 'track')} of {words.plain(name)} measured by another version of the meters. "
        f"Measure again: delivery reference make {words.in_command(name)} FOLDER --replace"
    )
