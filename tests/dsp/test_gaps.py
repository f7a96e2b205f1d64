"""Quiet runs are found wherever they lie and however the sound is cut, against a search sample by sample."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.events.gaps import OPEN, QUIET, STATE, quiet_runs

LEAST = 8


def searched(x: NDArray[np.float64], channel: int) -> list[tuple[int, int, int, int]]:
    """Frame behind it, channel, frames and most zeros in a row, of every run that a loud sample ends."""
    runs, run = [], []
    for frame, value in enumerate(x.tolist()):
        if abs(value) < QUIET:
            run.append(value)
            continue
        if len(run) >= LEAST:
            zeros = max(len(part) for part in "".join("0" if v == 0 else "x" for v in run).split("x"))
            runs.append((frame, channel, len(run), zeros))
        run = []
    return runs


def found(planar: NDArray[np.float64], block: int) -> list[tuple[int, ...]]:
    states = np.zeros((len(planar), STATE), np.int64)
    states[:, OPEN] = -1
    rows: list[tuple[int, ...]] = []
    for frame in range(0, planar.shape[1], block):
        piece = np.ascontiguousarray(planar[:, frame : frame + block])
        room = np.empty((len(piece) * (piece.shape[1] // LEAST + 1), 4), np.int64)
        written = quiet_runs(piece, frame, states, LEAST, room)
        rows += [tuple(row) for row in room[:written].tolist()]
    return sorted(rows)


@pytest.mark.parametrize("block", [1, 2, 7, 8, 9, 50, 10_000])
@pytest.mark.parametrize("loud", [0.02, 0.1, 0.3, 0.9])
def test_quiet_runs_are_those_of_a_plain_search(block: int, loud: float) -> None:
    """Judge: a search sample by sample."""
    chance = np.random.default_rng(round(100 * loud))
    planar = np.where(chance.random((2, 3000)) < loud, 0.5, 0.0005 * (chance.random((2, 3000)) < 0.3))
    planar[0, 1000 : 1000 + LEAST] = planar[1, 2000 : 2000 + LEAST - 1] = 0.0
    planar[0, [999, 1000 + LEAST]] = planar[1, [1999, 2000 + LEAST - 1]] = -0.5
    expected = sorted(run for channel, x in enumerate(planar) for run in searched(x, channel))
    assert (1000 + LEAST, 0, LEAST, LEAST) in expected
    assert found(planar, block) == expected


def test_runs_as_dense_as_possible_fit() -> None:
    x = np.zeros((1, 20 * (LEAST + 1)))
    x[0, LEAST :: LEAST + 1] = 1.0
    assert found(x, x.shape[1]) == searched(x[0], 0)
    assert len(found(x, 2 * LEAST + 1)) == 20
