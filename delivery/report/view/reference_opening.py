"""The first sentences about a song beside a reference playlist: loudness, low end, the octave farthest away. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator

from delivery.model.reference import BandSpread, Beside, Spread
from delivery.report.view import words

MARGIN = 0.05
"""Differences below it are printed as 0.0."""
CLOSE = 0.5
"""In dB or LU: nearer to the middle half than this, nothing is outstanding. Common practice, no source."""
HEADLINE_HZ = (49.0, 12_600.0)
"""Middles of octaves the opening may name; below and above, songs of one style differ too widely."""
NOMINAL = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
"""Of a decade (IEC 61260-1:2014, Annex E, from memory)."""


def range_of_band(band: BandSpread) -> str:
    """'80 to 160 Hz', '3 to 5 kHz'; middles of third octaves as they are called."""
    return range_of(band.low_hz, band.high_hz)


def range_of(low_hz: float, high_hz: float) -> str:
    """'80 to 160 Hz', from two middles of third octaves."""
    low, high = nominal_hz(low_hz), nominal_hz(high_hz)
    if low >= 1000:
        return f"{_kilo(low)} to {_kilo(high)} kHz"
    if high >= 1000:
        return f"{low:g} Hz to {_kilo(high)} kHz"
    return f"{low:g} to {high:g} Hz"


def _kilo(hz: float) -> str:
    """'3' for 3150 Hz, '1.25' for 1250: exact below 2 kHz, to the half above."""
    return f"{hz / 1000:g}" if hz < 2000 else f"{round(hz / 500) / 2:g}"


def nominal_hz(middle_hz: float) -> float:
    """The name IEC 61260-1 gives a third octave, such as 3150 for 3162.28 Hz."""
    decade, step = divmod(round(10 * math.log10(middle_hz)), 10)
    return float(round(NOMINAL[step] * 10**decade, 1))


def opening(song: Beside) -> tuple[str, ...]:
    """At most three sentences: loudness, the low end, and the octave that stands out most, or that nothing does."""
    loudness = song.figures["integrated_lufs"]
    if loudness.q25 is None:
        return tuple(_among_few(song))
    sentences = [_loudness_sentence(loudness)]
    if song.low_end and song.low_end.level.outside is not None:
        sentences.append(f"Low end, {range_of_band(song.low_end)}, {_place(song.low_end.level)}.")
    levels = _headline_levels(song)
    near = " or within 0.5 dB of it" if any(strays(level) for level in levels) else ""
    if band := farthest(song):
        sentences.append(f"{range_of_band(band)} {_place(band.level)}.")
    elif len(levels) > 1 and not any(_outstanding(level) for level in levels):
        where = f"in the middle half of the reference playlist{near}"
        sentences.append(f"Loudness and tone lie {where}; no change is suggested.")
    elif len(levels) > 1:
        sentences.append(f"Every other octave is inside the middle half{near}.")
    return tuple(sentences)


def _headline_levels(song: Beside) -> list[Spread]:
    """Subjects of the opening: loudness, the low end, the octaves."""
    bands = [*headline_bands(song), *([song.low_end] if song.low_end else [])]
    return [song.figures["integrated_lufs"], *(band.level for band in bands)]


def strays(level: Spread) -> bool:
    """Outside the middle half, as printed."""
    return abs(level.outside or 0.0) >= MARGIN


def _outstanding(level: Spread) -> bool:
    """Outside by so much that the opening names it; what was not measured does, since it was not found inside."""
    return level.outside is None or abs(level.outside) >= CLOSE


def _loudness_sentence(loudness: Spread) -> str:
    if loudness.difference is None:
        return "The song's loudness could not be measured."
    near = "" if _outstanding(loudness) else f", {_near(loudness, 'LU')}"
    if abs(loudness.difference) < MARGIN:
        return f"At the median loudness of the reference playlist{near}."
    return f"{_apart(loudness.difference, 'LU')} the median of the reference playlist{near}."


def _near(level: Spread, unit: str) -> str:
    return f"within 0.5 {unit} of the middle half" if strays(level) else "inside the middle half"


def _place(level: Spread) -> str:
    """'inside the middle half', 'is 1.8 dB above the median, outside the middle half'."""
    if level.difference is None or not _outstanding(level):
        return _near(level, "dB")
    return f"is {_apart(level.difference, 'dB')} the median, outside the middle half"


def _apart(difference: float, unit: str) -> str:
    return f"{abs(difference):.1f} {unit} {'above' if difference > 0 else 'below'}"


def headline_bands(song: Beside) -> Iterator[BandSpread]:
    """Octaves whose middle third octave is in HEADLINE_HZ and which do not lie in the low end alone."""
    for band in song.octaves:
        middle = (band.low_hz * band.high_hz) ** 0.5
        if HEADLINE_HZ[0] < middle < HEADLINE_HZ[1] and not 79 < middle < 161 and band.level.outside is not None:
            yield band


def farthest(song: Beside) -> BandSpread | None:
    """The octave farthest outside the middle half."""
    far = [(abs(band.level.outside or 0.0), -at, band) for at, band in enumerate(headline_bands(song))]
    most = max(far, key=lambda one: one[:2], default=None)
    return most[2] if most and _outstanding(most[2].level) else None


def _among_few(song: Beside) -> Iterator[str]:
    loudness = song.figures["integrated_lufs"]
    if loudness.song is None or not loudness.values:
        yield "The song's loudness could not be measured."
        return
    values = words.listed(f"{value:.1f}" for value in loudness.values)
    yield f"{loudness.song:.1f} LUFS; the reference has {values} LUFS."
    yield "Fewer than three tracks: single values, no middle half."
