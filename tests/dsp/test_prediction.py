"""What linear prediction leaves, and what other values of a few samples explain, against numpy's least squares."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.events import prediction as seen
from delivery.dsp.events.click_prefilter import BLOCK, PER_BLOCK, PRODUCTS, STRETCH, lead, roughness
from delivery.dsp.events.prediction import FINDINGS, ORDER, UNKNOWN, examine

Array = NDArray[np.float64]
HALF = seen.HALF


def sound(seed: int = 1, frames: int = ORDER + 2 * HALF) -> Array:
    """Resonances driven by noise: predictable to the noise, and by no fewer than ORDER samples."""
    rng = np.random.default_rng(seed)
    made = rng.standard_normal(frames + 500) * 0.002
    for hz, near in ((300, 0.98), (900, 0.97), (2_000, 0.96), (4_000, 0.96), (7_000, 0.95), (12_000, 0.95)):
        turn = 2 * near * np.cos(2 * np.pi * hz / 44_100)
        for n in range(2, len(made)):
            made[n] += turn * made[n - 1] - near * near * made[n - 2]
    return made[500:] / np.abs(made).max() * 0.1 + 0.0005 * rng.standard_normal(frames)


def looked(x: Array) -> Array:
    found = np.zeros(FINDINGS)
    assert examine(x, HALF, 0.0, found)
    return found


def left_over(x: Array) -> tuple[Array, Array]:
    """Predictor and what it leaves, by ``numpy.linalg.lstsq`` over both sides without the middle."""
    rows = np.lib.stride_tricks.sliding_window_view(x, ORDER + 1)
    middle = HALF
    learnt = np.r_[0 : middle - seen.NEAR, middle + seen.NEAR + ORDER : 2 * HALF]
    predicts, *_ = np.linalg.lstsq(rows[learnt, :-1], rows[learnt, -1], rcond=None)
    return np.r_[1.0, -predicts[::-1]], rows[:, -1] - rows[:, :-1] @ predicts


@pytest.mark.parametrize("width", [1, 3, 5])
def test_prediction_and_interpolation_are_those_of_least_squares(width: int) -> None:
    x = sound()
    x[ORDER + HALF : ORDER + HALF + width] += 0.2
    predictor, rest = left_over(x)
    found = looked(x)
    at = int(found[seen.AT]) - ORDER
    assert found[seen.PEAK] == pytest.approx(np.abs(rest).max(), rel=0.01)  # a little is added to the diagonal
    best = np.inf
    region = slice(at - seen.BACK, at + seen.REACH)
    for begin in range(at - seen.BACK + 1, at + 1):
        moves = np.zeros((len(rest), UNKNOWN))
        for i in range(UNKNOWN):
            moves[begin + i : begin + i + ORDER + 1, i] = predictor
        sought, *_ = np.linalg.lstsq(moves, rest, rcond=None)
        best = min(best, float(np.sum((rest - moves @ sought)[region] ** 2)))
    assert found[seen.EXPLAINED] == pytest.approx(np.sum(rest[region] ** 2) / best, rel=0.05)
    assert found[seen.DEPARTURE] == pytest.approx(0.2, rel=0.1)


def test_other_values_of_a_few_samples_explain_a_click_but_no_attack_or_lost_sound() -> None:
    click, attack = sound(2), sound(2)
    at = ORDER + HALF
    click[at : at + 5] += 0.2
    attack[at : at + 200] += 0.2 * np.random.default_rng(3).standard_normal(200) * np.exp(-np.arange(200) / 60)
    long = sound(2, ORDER + 2 * HALF + 40)
    lost = np.r_[long[:at], long[at + 40 :]]
    assert looked(click)[seen.RESIDUAL_PEAK] < 4 * looked(click)[seen.SIGMA]
    for x in (attack, lost):
        assert looked(click)[seen.EXPLAINED] > 100 * looked(x)[seen.EXPLAINED]
    assert looked(attack)[seen.NEARBY_PEAK] > 0.3 * looked(attack)[seen.PEAK]


@pytest.mark.parametrize("times", [1, 2, 4])
def test_a_block_is_whitened_by_the_predictor_of_its_neighbours(times: int) -> None:
    """Against the normal equations of the middle of the two blocks beside it, solved by ``numpy.linalg.solve``."""
    block, order = BLOCK * times, PRODUCTS - 1
    samples = np.r_[np.zeros(order + 1), sound(5, 4 * block)]
    samples[order + 1 + 2 * block + 100] += 0.1
    rough, products = np.zeros(3 * PER_BLOCK), np.zeros((2, PRODUCTS))
    window = np.hanning(BLOCK)
    assert len(samples) == lead(times) + 3 * block
    roughness(samples, window.astype(np.float32), times, products, rough)
    steps = np.diff(samples)

    def own(number: int) -> Array:
        begin = order + number * block + (block - BLOCK) // 2
        now = steps[begin : begin + BLOCK] * window
        sums = np.correlate(now, now, "full")[BLOCK - 1 : BLOCK + order]
        return np.asarray(sums / sums[0])

    sums = own(1) + own(3)
    toeplitz = sums[np.abs(np.subtract.outer(np.arange(order), np.arange(order)))] + 1e-6 * sums[0] * np.eye(order)
    predictor = np.r_[1.0, -np.linalg.solve(toeplitz, sums[1:])]
    begin = order + 2 * block
    left = np.convolve(steps, predictor)[begin : begin + block]
    wanted = (left**4).reshape(-1, STRETCH * times).sum(axis=1)
    assert rough[-len(wanted) :] == pytest.approx(wanted, rel=2e-3)
    assert int(wanted.argmax()) == 100 // STRETCH // times
