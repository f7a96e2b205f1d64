"""Third-octave bands against IEC 61260-1:2014: middles, edges, and between them."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.spectrum.spectra import third_octave_bands
from delivery.meters.spectrum import Spectrum
from tests.meters.memory import readings

Array = NDArray[np.float64]

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)

# IEC 61260-1:2014, Annex E, nominal and exact middles in base ten; from memory, and by its formula 5.4.
EXACT_HZ = {
    25: 25.119, 31.5: 31.623, 40: 39.811, 50: 50.119, 63: 63.096, 80: 79.433, 100: 100.0, 125: 125.89, 160: 158.49,
    200: 199.53, 250: 251.19, 315: 316.23, 400: 398.11, 500: 501.19, 630: 630.96, 800: 794.33, 1000: 1000.0,
    1250: 1258.9, 1600: 1584.9, 2000: 1995.3, 2500: 2511.9, 3150: 3162.3, 4000: 3981.1, 5000: 5011.9, 6300: 6309.6,
    8000: 7943.3, 10_000: 10_000.0, 12_500: 12_589.0, 16_000: 15_849.0, 20_000: 19_953.0,
}  # fmt: skip
RATIO = 10**0.3
"""G, the octave's frequency ratio in base ten (5.2)."""


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_middles_and_edges(rate_hz: int) -> None:
    """5.4 to 5.6: middles 1000 G^(k/3) Hz, edges G^(-1/6) and G^(1/6) times that; bands touch and do not overlap."""
    bins = 4097 * rate_hz // 44_100
    middles, edges = third_octave_bands(bins, rate_hz / 2 / bins)
    expected = np.array(list(EXACT_HZ.values()))[: len(middles)]
    assert middles == pytest.approx(expected, rel=1e-4)
    assert len(middles) == (29 if rate_hz == 44_100 else 30)
    assert edges[:, 0] == pytest.approx(middles * RATIO ** (-1 / 6))
    assert edges[:, 1] == pytest.approx(middles * RATIO ** (1 / 6))
    assert edges[1:, 0] == pytest.approx(edges[:-1, 1])


def filled(bands_hz: list[float], rate_hz: int, seconds: float = 6.0) -> Array:
    """Noise that fills each of these bands from edge to edge, to the same power in each, and nothing else."""
    frames = round(seconds * rate_hz)
    hz = np.fft.rfftfreq(frames, 1 / rate_hz)
    rng = np.random.default_rng(1)
    spectrum = np.zeros(len(hz), complex)
    for middle in bands_hz:
        inside = (hz >= middle * RATIO ** (-1 / 6)) & (hz < middle * RATIO ** (1 / 6))
        spectrum[inside] = np.exp(2j * np.pi * rng.random(inside.sum())) / np.sqrt(inside.sum())
    wave = np.fft.irfft(spectrum, frames)
    return (0.1 * wave / wave.std())[:, None]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("first", range(3))
def test_what_fills_a_band_is_in_it_and_not_beside_it(rate_hz: int, first: int) -> None:
    """Every third band full from edge to edge: equal levels in these, and little in the two between.

    6 s are 16 windows: each band's power is drawn to 1 dB. The window's own response is four lines of 5.9 Hz wide, so
    what fills a band below 300 Hz is heard a little in the one beside it too.
    """
    middles = [hz for hz in EXACT_HZ.values() if hz > 159 and hz * RATIO ** (1 / 6) < rate_hz / 2]
    full = middles[first::3]
    found = readings(Spectrum, filled(full, rate_hz), rate_hz)
    levels = dict(zip(found["third_octave_hz"], found["third_octave_db"], strict=True))
    share_db = -10 * np.log10(len(full))
    for hz, level in levels.items():
        if any(abs(hz / middle - 1) < 1e-3 for middle in full):
            assert level == pytest.approx(share_db, abs=1.0), hz
        elif hz > 300:
            assert level < share_db - 13, hz
