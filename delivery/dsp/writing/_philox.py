"""Philox4x64-10: the same random numbers as NumPy's ``Philox``, which draws them one by one and takes twice as long.

Salmon, Moraes, Dror, Shaw, "Parallel Random Numbers: As Easy as 1, 2, 3", SC11 (2011). C types are declared in
``_philox.pxd``.
"""

from __future__ import annotations

from typing import Any

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()


def fill(key: int, other_key: int, count: int, out: Any) -> None:
    """Four numbers for each value of the counter, from *count* on, into *out*, (4 * values,) uint64.

    The key is given in halves of 64 bits. Five rounds are written out: a loop of ten is not unrolled, and half as fast.
    """
    state = [0] * 6
    with cython.nogil:
        for i in range(len(out) // 4):
            state[0], state[1], state[2], state[3], state[4], state[5] = count + i, 0, 0, 0, key, other_key
            for _ in range(2):
                _round(state)
                _round(state)
                _round(state)
                _round(state)
                _round(state)
            out[4 * i], out[4 * i + 1], out[4 * i + 2], out[4 * i + 3] = state[0], state[1], state[2], state[3]


def _round(state: Any) -> None:
    """Mix the four numbers, then change both halves of the key behind them."""
    mask, factor, other_factor = 0xFFFFFFFFFFFFFFFF, 0xD2E7470EE14C6C93, 0xCA5A826395121157
    step, other_step = 0x9E3779B97F4A7C15, 0xBB67AE8584CAA73B
    first, second = state[0], state[2]
    first *= factor  # to 128 bits
    second *= other_factor
    state[0], state[1] = (second >> 64) ^ state[1] ^ state[4], second & mask
    state[2], state[3] = (first >> 64) ^ state[3] ^ state[5], first & mask
    state[4], state[5] = (state[4] + step) & mask, (state[5] + other_step) & mask
