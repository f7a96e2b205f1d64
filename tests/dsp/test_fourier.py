"""The Fourier transform of windows against NumPy's."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.spectrum import _fourier as compiled
from delivery.dsp.spectrum.fourier import Fourier
from tests.dsp.test_compiled import plain


@pytest.mark.parametrize("size", [2**power for power in range(7, 18)])
def test_spectra_are_numpys(size: int) -> None:
    """Rounding apart, the result is ``numpy.fft.rfft`` of the window times each channel, at any place of a block."""
    rng = np.random.default_rng(size)
    window = rng.random(size)
    piece = rng.standard_normal((3, size + 100))[:, 50 : size + 50]
    found = Fourier(window).spectra(piece, np.empty((3, 2, size // 2 + 1)))
    wanted = np.fft.rfft(window * piece)
    assert np.abs(found[:, 0] + 1j * found[:, 1] - wanted).max() < 2e-15 * np.abs(wanted).max()


def test_equal_channels_have_equal_spectra() -> None:
    piece = np.repeat(np.random.default_rng(1).standard_normal((1, 8192)), 2, axis=0)
    left, right = Fourier(np.ones(8192)).spectra(piece, np.empty((2, 2, 4097)))
    assert np.array_equal(left, right)


def test_spectra_are_the_same_uncompiled(monkeypatch: pytest.MonkeyPatch) -> None:
    piece, window = np.random.default_rng(2).standard_normal((1, 512)), np.hanning(512)
    one = Fourier(window).spectra(piece, np.empty((1, 2, 257)))
    monkeypatch.setattr("delivery.dsp.spectrum.fourier.transform", plain(compiled).transform)
    assert np.array_equal(one, Fourier(window).spectra(piece, np.empty((1, 2, 257))))
