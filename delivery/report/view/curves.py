"""Curves with their axes: what a plot shows and every word beside it. Raw values, rounded labels. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from delivery.model.bounds import rounded
from delivery.model.figure import Measurement
from delivery.model.spec import Spec, bounds_of
from delivery.report.view import words
from delivery.report.view.numbers import signed
from delivery.report.view.plots import Band, LoudnessCurve, Over, Place, Spectrum, Tick, Waveform

LOWEST_LUFS = -60.0
"""Nothing above this: no plot, for there is nothing to see."""
HALF_WINDOW_S = 1.5
"""Short-term windows are stored by their start; readers expect them at their middle."""
SPECTRUM_SPAN_DB = 60.0
NICE_STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600)
OCTAVES_HZ = (31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000)
THIRDS_HZ = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)
"""Nominal frequencies of a decade of third-octave bands: IEC 61260-1, Annex E (from memory)."""


def waveform(measurement: Measurement, specs: Sequence[Spec] = ()) -> Waveform | None:
    """The picture of the sound, with the lowest ceiling that any of *specs* sets."""
    low, high = measurement.value("waveform_low"), measurement.value("waveform_high")
    duration_s = measurement.value("duration_s")
    if not low or not high or not duration_s:
        return None
    overs = tuple(_over(number, *over) for number, over in enumerate(measurement.value("overs") or (), start=1))
    return Waveform(
        tuple(low),
        tuple(high),
        duration_s,
        times(duration_s),
        overs,
        _overs_text(measurement),
        _ceiling(specs),
        _peak(measurement, tuple(specs)),
    )


def _over(number: int, at_s: float, channel: int, true_peak_dbtp: float) -> Over:
    level = signed(rounded(true_peak_dbtp, 2))
    return Over(at_s, f"{words.at(at_s)}  {level} dBTP, channel {channel}", f"{number}")


def _ceiling(specs: Sequence[Spec]) -> Tick | None:
    limits = [limit for spec in specs if isinstance(limit := spec.limit("true_peak_max_dbtp"), int | float)]
    if not limits:
        return None
    lowest = min(limits)
    return Tick(10 ** (lowest / 20), f"ceiling (dotted) {signed(rounded(lowest, 2))} dBTP")


def _peak(measurement: Measurement, specs: tuple[Spec, ...]) -> Place | None:
    level_dbtp, at_s = measurement.value("true_peak_dbtp"), measurement.value("true_peak_at_s")
    if level_dbtp is None or at_s is None:
        return None
    level = signed(rounded(level_dbtp, 2, bounds_of("true_peak_dbtp", specs)))
    return Place(at_s, 10 ** (level_dbtp / 20), f"{level} dBTP")


def _overs_text(measurement: Measurement) -> str:
    count = measurement.value("overs_count")
    if count is None:
        return "overs above 0 dBTP: not measured"
    shown = len(measurement.value("overs") or ())
    worst = f", the worst {shown} marked" if shown < count else ""
    return f"{words.counted(count, 'over') if count else 'no overs'} above 0 dBTP{worst}"


def loudness(measurement: Measurement, specs: Sequence[Spec] = ()) -> LoudnessCurve | None:
    """Short-term loudness over time, with the first window that any of *specs* sets for the whole."""
    curve, step_s = measurement.value("short_term_curve_lufs"), measurement.value("curve_step_s")
    duration_s = measurement.value("duration_s")
    if not curve or not step_s or not duration_s or max(curve) <= LOWEST_LUFS:
        return None
    integrated, loudest = measurement.value("integrated_lufs"), measurement.value("short_term_max_lufs")
    highest = max(curve) if loudest is None else max(loudest, max(curve))
    window = _window(specs)
    edges = [edge for edge in (window.low, window.high) if edge is not None] if window else []
    return LoudnessCurve(
        tuple(curve),
        HALF_WINDOW_S,
        step_s,
        duration_s,
        times(duration_s),
        _levels(min(curve), max(highest, *edges, integrated if integrated is not None else highest)),
        _tick(integrated, "integrated (dashed)"),
        _tick(loudest, "loudest 3 s (ring)"),
        (measurement.value("short_term_max_at_s") or 0.0) + HALF_WINDOW_S,
        "" if loudest is None else signed(rounded(loudest, 1)),
        window,
    )


def _window(specs: Sequence[Spec]) -> Band | None:
    for spec in specs:
        limit = spec.limit("integrated_lufs")
        if isinstance(limit, Mapping) and not {"at_least", "at_most"}.isdisjoint(limit):
            low, high = limit.get("at_least"), limit.get("at_most")
            sentence = {"at least": low, "at most": high} if low is None or high is None else {"": low, "to": high}
            text = " ".join(
                f"{word} {signed(rounded(at, 1))}".strip() for word, at in sentence.items() if at is not None
            )
            return Band(low, high, f"window (shaded) {text} LUFS")
    return None


def _tick(level_lufs: float | None, sentence: str) -> Tick | None:
    if level_lufs is None or level_lufs <= LOWEST_LUFS:
        return None
    return Tick(level_lufs, f"{sentence} {signed(rounded(level_lufs, 1))} LUFS")


def _levels(lowest: float, highest: float) -> tuple[Tick, ...]:
    """Lines every 6 LU: 12 LU in all at least, and 30 at most, for under that the music is fading."""
    top = math.ceil(highest / 6) * 6
    bottom = min(max(math.floor(lowest / 6) * 6, top - 30), top - 12)
    return tuple(Tick(at, f"{at}") for at in range(bottom, top + 1, 6))


def times(duration_s: float) -> tuple[Tick, ...]:
    """At most nine marks at round times, the start and the end among them, none so close that labels could touch."""
    step = next((step for step in NICE_STEPS_S if duration_s / step <= 8), NICE_STEPS_S[-1])
    inner = [at for at in range(0, math.ceil(duration_s), step) if at <= duration_s - 0.9 * step]
    return (*(Tick(at, words.clock(at, 0)) for at in inner), Tick(duration_s, words.at(duration_s)))


def spectrum(measurement: Measurement) -> Spectrum | None:
    """The third-octave spectrum to draw; None if it was not measured."""
    hz: Sequence[float] | None = measurement.value("third_octave_hz")
    db: Sequence[float] | None = measurement.value("third_octave_db")
    if not hz or not db:
        return None
    loudest = max(range(len(db)), key=lambda band: db[band])
    top = math.ceil(db[loudest] / 10) * 10
    levels = tuple(Tick(at, f"{at}") for at in range(int(top - SPECTRUM_SPAN_DB), top + 1, 20))
    bands = tuple(Tick(at, _hertz(at)) for at in OCTAVES_HZ if hz[0] * 0.9 <= at <= hz[-1] * 1.1)
    highest = Tick(db[loudest], f"strongest: {_hertz(hz[loudest])}Hz, {signed(rounded(db[loudest], 1))} dB")
    return Spectrum(tuple(hz), tuple(db), bands, levels, highest, hz[loudest])


def _hertz(hz: float) -> str:
    """'31.5 ', '4 k': the nominal frequency before 'Hz'."""
    decade = 10.0 ** math.floor(math.log10(hz) + 0.05)
    nominal = decade * min(THIRDS_HZ, key=lambda third: abs(math.log(hz / decade / third)))
    return f"{nominal / 1000:g} k" if nominal >= 1000 else f"{nominal:g} "
