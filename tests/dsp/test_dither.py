"""The requantiser as a machine: streams, seeds, limits, refusals. What it does to noise is in tests/standards."""

from __future__ import annotations

from hashlib import sha256

import numpy as np
import pytest

from delivery.dsp.writing._philox import fill
from delivery.dsp.writing.dither import CURVES, Curve, Requantiser, dither_refusal, dithers
from delivery.dsp.writing.noise import ChannelDraws, draws
from delivery.errors import Unusable
from tests.signals import noise, sine


def integers(x: np.ndarray, bits: int = 16, dither: str = "tpdf", seed: str = "seed") -> np.ndarray:
    """Right-justified, so that one step counts one."""
    return Requantiser(bits, dither, 44_100, x.shape[1], seed).update(x) >> (32 - bits)


@pytest.mark.parametrize("dither", dithers())
@pytest.mark.parametrize("frames_a_block", [1, 17, 4096])
def test_block_size_does_not_matter(dither: str, frames_a_block: int) -> None:
    x = noise(44_100, 0.2, channels=3)
    whole = Requantiser(16, dither, 44_100, 3, "seed").update(x)
    stream = Requantiser(16, dither, 44_100, 3, "seed")
    cut = [stream.update(x[start : start + frames_a_block]) for start in range(0, len(x), frames_a_block)]
    assert np.array_equal(np.concatenate(cut), whole)


def test_noise_is_found_by_position() -> None:
    whole = draws("seed", 2, 0, 1000)
    for start, frames in [(0, 1), (1, 3), (5, 17), (998, 2)]:
        assert np.array_equal(draws("seed", 2, start, frames), whole[:, start : start + frames])


def test_generator_is_the_published_one() -> None:
    """Philox4x64-10 of zero counter and zero key: known answer of its authors' test vectors (from memory)."""
    answer = [0x16554D9ECA36314C, 0xDB20FE9D672D0FDC, 0xD7E772CEE186176B, 0x7E68B68AEC7BA23B]
    generator = np.random.Philox(key=0, counter=2**256 - 1)  # it counts up before it draws
    assert [int(draw) for draw in generator.random_raw(4)] == answer
    ours = np.empty(4, np.uint64)
    fill(0, 0, 0, ours)
    assert [int(draw) for draw in ours] == answer


@pytest.mark.parametrize("start", [*range(9), 65_535, 2**32 + 3, 2**40 - 2, 2**61 + 1])
def test_generator_is_that_of_numpy(start: int) -> None:
    """Judge: numpy.random.Philox, from any position and for any number of draws; keys of 128 bits from the seed."""
    for channel, seed in enumerate(["", "seed", "another", "f" * 64]):
        key = int.from_bytes(sha256(f"{seed}/{channel}".encode()).digest()[:16], "little")
        judge = np.random.Philox(key=key, counter=start // 4).random_raw(start % 4 + 1003)[start % 4 :]
        stream = ChannelDraws(seed, channel, start)
        assert np.array_equal(np.concatenate([stream.take(frames) for frames in (0, 1, 2, 997)]), judge[:1000])
        stream.pass_over(2)
        assert stream.take(1)[0] == judge[1002]


def test_draws_never_change() -> None:
    """Our own output, kept unchanged: a release dithered today must come out the same in ten years."""
    assert [int(draw) for draw in draws("seed", 2, 2, 2).ravel()] == DRAWS_AS_FIRST_SHIPPED


DRAWS_AS_FIRST_SHIPPED = [7659147447755793112, 3133101610447747171, 7136198600044216293, 11236875096194426296]


def test_channels_have_independent_noise() -> None:
    """Correlation of independent sequences of n stays within 4 / sqrt(n)."""
    left, right = integers(np.zeros((200_000, 2))).T
    assert abs(np.corrcoef(left, right)[0, 1]) < 4 / np.sqrt(len(left))


def test_seed_decides_the_noise_and_nothing_else_does() -> None:
    x = noise(44_100, 0.1)
    assert np.array_equal(integers(x, seed="one"), integers(x, seed="one"))
    assert not np.array_equal(integers(x, seed="one"), integers(x, seed="two"))


@pytest.mark.parametrize("bits", [8, 16, 20, 24, 32])
def test_integers_are_left_justified_and_near(bits: int) -> None:
    x = noise(44_100, 0.1)
    out = Requantiser(bits, "tpdf", 44_100, 2, "seed").update(x).astype(np.int64)
    assert not (out % (1 << (32 - bits))).any()
    assert np.abs(out / 2.0**31 - x).max() <= 1.5 / 2 ** (bits - 1)  # half a step by rounding, one by the noise


def test_without_dither_rounds_to_the_nearest_step() -> None:
    """Also below zero, where a rounding downwards would show."""
    steps = np.array([[124.96], [-124.96], [0.4], [-0.4], [0.6], [-0.6]])
    assert integers(steps / 32_768, dither="none").ravel().tolist() == [125, -125, 0, 0, 1, -1]


@pytest.mark.parametrize("dither", dithers())
def test_full_scale_stops_at_the_rails_and_never_wraps(dither: str) -> None:
    x = sine(997, 44_100, 0.5)
    out = integers(x, dither=dither)
    assert out.max() == 32_767
    assert out.min() == -32_768
    assert np.array_equal(np.sign(out[np.abs(x) > 0.1]), np.sign(x[np.abs(x) > 0.1]))


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_a_sample_stopped_at_the_rail_disturbs_no_other(curve: Curve) -> None:
    """Full scale and half scale are whole steps: the errors in the loop are the same, so are all samples around."""
    high, half = np.zeros((2000, 1)), np.zeros((2000, 1))
    high[500:600], half[500:600] = 1.0, 0.5
    difference = (integers(high, dither=curve.name) - integers(half, dither=curve.name))[:, 0]
    assert difference[500:600].min() < 16_384, "none was stopped, so this shows nothing"
    assert not difference[:500].any()
    assert not difference[600:].any()


@pytest.mark.parametrize("rate_hz", [32_000, 88_200, 96_000, 192_000])
@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_shaped_dither_is_refused_away_from_its_rate(curve: Curve, rate_hz: int) -> None:
    with pytest.raises(Unusable, match=r"for which the curve is made\. 'tpdf' is available"):
        Requantiser(16, curve.name, rate_hz, 2, "seed")


def test_unknown_dither_is_refused_by_name() -> None:
    with pytest.raises(Unusable, match="found 'blue' at 44100 Hz, wanted one of none, rpdf, tpdf, modified-e-2"):
        Requantiser(16, "blue", 44_100, 2, "seed")


@pytest.mark.parametrize("dither", ["none", "rpdf", "tpdf"])
def test_flat_dither_serves_every_rate(dither: str) -> None:
    assert dither_refusal(dither, 384_000) == ""


@pytest.mark.parametrize("bits", [0, 7, 33])
def test_bit_depths_out_of_range(bits: int) -> None:
    with pytest.raises(ValueError, match="8 to 32"):
        Requantiser(bits, "tpdf", 44_100, 2, "seed")
