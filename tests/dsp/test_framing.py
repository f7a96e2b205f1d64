"""Windows cut out of blocks are the same slices of the whole, for any length of block."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.blocks.framing import Framing

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
