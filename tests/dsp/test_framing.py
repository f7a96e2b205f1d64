"""Windows cut out of blocks are the same slices of the whole, for any length of block."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.blocks.framing import Framing, spread

WHOLE = np.arange(2 * 5000.0).reshape(2, 5000)


@pytest.mark.parametrize("block", [1, 7, 100, 333, 5000])
@pytest.mark.parametrize("hop", [50, 100, 250], ids=["overlapping", "side by side", "apart"])
def test_windows_are_slices_of_the_whole(block: int, hop: int) -> None:
    framing = Framing(2, 100, lambda k: k * hop)
    found = [
        (start, window.copy())
        for at in range(0, WHOLE.shape[1], block)
        for start, window in framing.windows(WHOLE[:, at : at + block])
    ]
    assert [start for start, _ in found] == list(range(0, 4901, hop))
    assert all(np.array_equal(window, WHOLE[:, start : start + 100]) for start, window in found)
    assert np.array_equal(framing.rest, WHOLE[:, len(found) * hop :])


def test_windows_apart_from_each_other_align_with_no_beat() -> None:
    """Over each period, the mean of the windows' phases as unit vectors is as small as that of places drawn by chance.

    By chance it exceeds r with the probability exp(-n r^2) (Rayleigh test; n windows): at 0.2 one of 4 million.
    """
    begins = spread(300 * 44_100, 8192, enough=280, most_apart=4.5)
    starts_s = np.array([begins(number) for number in range(380)]) / 44_100
    assert (np.diff(starts_s) >= 0).all()
    periods_s = np.linspace(0.2, 4.0, 20_000)
    means = [abs(np.exp(2j * np.pi * starts_s / period_s).mean()) for period_s in periods_s]
    assert max(means) < 0.2
