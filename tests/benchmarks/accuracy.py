"""How well the meters measure, for the guide's page `accuracy`: K-weighting at other rates, and true peak of tones.

Run ``python -m tests.benchmarks.accuracy`` (a minute or two): it prints both tables and writes them into the page.
pytest does not collect it; the limits are tested in ``tests/standards/``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness.k_weighting_design import k_coefficients
from tests.benchmarks.figures import markdown, record, record_values, tables
from tests.standards.test_k_weighting import HIGH_PASS_48, SHELF_48, response_db
from tests.standards.test_true_peak import true_peak

Array = NDArray[np.float64]

WEIGHTED_HZ = (8_000, 16_000, 32_000, 44_100, 88_200, 96_000, 192_000, 384_000)
TONES_HZ = (44_100, 48_000, 88_200, 96_000, 176_400, 192_000)
PHASES = np.pi * np.arange(0.25, 8, 0.5) / 8
AMPLITUDE = 0.9
SHELF_HZ, HIGH_PASS_HZ = 1681.974450955533, 38.13547087602444
"""Of the analogue prototypes, as independent meters use them (from memory)."""


def bilinear(rate_hz: int) -> Array:
    """(7,) as `k_coefficients`, by the usual re-derivation: bilinear, exact at each filter's own frequency."""
    moved = [_moved(np.array(row), SHELF_HZ, rate_hz) for row in (SHELF_48[:3], (1, *SHELF_48[3:]))]
    poles = _moved(np.array((1, *HIGH_PASS_48)), HIGH_PASS_HZ, rate_hz)
    return np.array([*(moved[0] / moved[1][0]), *(moved[1][1:] / moved[1][0]), *(poles[1:] / poles[0])])


def _moved(polynomial: Array, exact_hz: float, rate_hz: int) -> Array:
    """A polynomial in 1/z at 48 kHz, by the inverse bilinear transform to s and back at *rate_hz*."""
    ratio = math.tan(math.pi * exact_hz / 48_000) / math.tan(math.pi * exact_hz / rate_hz)
    p0, p1, p2 = polynomial
    constant, linear, square = p0 + p1 + p2, 2 * (p0 - p2) * ratio, (p0 - p1 + p2) * ratio**2
    return np.array([constant + linear + square, 2 * (constant - square), constant - linear + square])


def weighting_row() -> Iterator[str]:
    """The largest deviation from the 48 kHz response at each rate, and in brackets that of the usual re-derivation."""
    yield "dB"
    for rate_hz in WEIGHTED_HZ:
        hz = np.linspace(10, min(20_000, 0.4999 * rate_hz), 20_000)
        wanted = response_db(np.array([*SHELF_48, *HIGH_PASS_48]), hz, 48_000)
        off, usual = (
            float(np.abs(response_db(coefficients, hz, rate_hz) - wanted).max())
            for coefficients in (k_coefficients(rate_hz), bilinear(rate_hz))
        )
        yield f"{_one_digit(off)} ({_one_digit(usual)})"


def tone_rows() -> Iterator[list[str]]:
    """The largest error of steady tones up to 20 kHz, low and high, at each rate."""
    errors = {rate_hz: list(_errors(rate_hz)) for rate_hz in TONES_HZ}
    yield ["reads low by at most, dB", *(f"{max(0.0, -min(some)):.3f}" for some in errors.values())]
    yield ["reads high by at most, dB", *(f"{max(0.0, *some):.3f}" for some in errors.values())]


def _errors(rate_hz: int) -> Iterator[float]:
    """Errors in dB of tones at simple fractions of the rate and evenly spread ones."""
    n = np.arange(round(0.045 * rate_hz))
    fade = np.sin(np.minimum(np.minimum(n, n[::-1]) / (len(n) / 4), 1) * np.pi / 2) ** 2
    fractions = [rate_hz * p / q for q in range(3, 33) for p in range(1, q) if p / q * rate_hz <= 20_000]
    for hz in (*fractions[::3], *np.linspace(50, 20_000, 40)):
        for phase in PHASES:
            tone = AMPLITUDE * fade * np.cos(2 * np.pi * hz / rate_hz * n + phase)
            yield true_peak(tone, rate_hz) - 20 * math.log10(AMPLITUDE)


def clipped_noise(slope_db: float) -> tuple[float, float]:
    """How far noise clipped at every other sample reads low at most, and its peak at most over the clipped level, dB.

    Against the same noise interpolated to 32 times the rate by one transform; a second at 44.1 kHz, faded at both ends.
    """
    low_db, over_db = 0.0, 0.0
    for seed in range(8):
        spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(44_100))
        hz = np.maximum(np.fft.rfftfreq(44_100, 1 / 44_100), 20)
        sound = np.fft.irfft(spectrum * (hz / 1000) ** (slope_db / 6.0206))
        level = float(np.median(np.abs(sound)))
        n = np.arange(len(sound))
        sound = np.clip(sound, -level, level) * np.minimum(np.minimum(n, n[::-1]) / 4410, 1) * 0.4 / level
        sound = np.pad(sound, 4410)
        true = np.abs(np.fft.irfft(np.fft.rfft(sound), 32 * len(sound)) * 32).max()
        low_db = max(low_db, 20 * math.log10(true) - true_peak(sound, 44_100))
        over_db = max(over_db, 20 * math.log10(true / 0.4))
    return low_db, over_db


def _one_digit(value: float) -> str:
    digits = max(3, -math.floor(math.log10(value))) if value > 0 else 3
    return f"{value:.{digits}f}"


def main() -> None:
    record("accuracy", "k-weighting", [list(weighting_row())])
    record("accuracy", "true-peak", list(tone_rows()))
    found = {name: clipped_noise(slope_db) for name, slope_db in (("white", 0.0), ("pink", -3.01))}
    values = {
        f"{name}_{what}": f"{value:.2f}"
        for name, each in found.items()
        for what, value in zip(("low", "over"), each, strict=True)
    }
    record_values("accuracy", "clipped-noise", values)
    print("\n\n".join(markdown(table) for table in tables("accuracy").values()))


if __name__ == "__main__":
    main()
