"""Digital silence at the ends of a song: dithered like all else, or zero where the spec requires it; inside, never."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from delivery.chain.render_steps import converted, requantised
from delivery.dsp.writing.dither import Requantiser, dithers
from tests.signals import Array, noise, sine, stretches

HEAD, SONG, GAP, TAIL = 5_000, 3_000, 40_000, 7_000


def song(channels: int = 2) -> Array:
    """Silence, sound, a long silence inside, sound, silence."""
    parts = [HEAD, SONG, GAP, SONG, TAIL]
    pieces = [noise(44_100, 1, channels=channels, seed=at)[:frames] * (at % 2) for at, frames in enumerate(parts)]
    return np.concatenate(pieces)


def cut(x: Array, frames_a_block: int) -> Iterator[Array]:
    return (x[start : start + frames_a_block] for start in range(0, len(x), frames_a_block))


def values(x: Array, *, zero_ends: bool, dither: str = "tpdf", frames_a_block: int = 4_096) -> NDArray[np.int32]:
    requantiser = Requantiser(16, dither, 44_100, x.shape[1], "seed")
    made = requantised(cut(x, frames_a_block), "song", requantiser, 16, 44_100, zero_ends=zero_ends)
    return np.concatenate(list(made)) >> 16


@pytest.mark.parametrize("dither", ["tpdf", "rpdf"])
def test_zeros_at_the_ends_and_nothing_else_changes(dither: str) -> None:
    """Every sample from the first sound to the last is the one that would be there anyway."""
    x = song()
    zero, dithered = (values(x, zero_ends=ends, dither=dither) for ends in (True, False))
    assert not zero[:HEAD].any()
    assert not zero[-TAIL:].any()
    assert np.array_equal(zero[HEAD:-TAIL], dithered[HEAD:-TAIL])
    inside = slice(HEAD + SONG, HEAD + SONG + GAP)
    assert dithered[inside].any() == zero[inside].any() == (dither == "tpdf")  # half a step of rpdf never shows


def test_silence_is_dithered_unless_the_spec_forbids_it() -> None:
    dithered = values(song(), zero_ends=False)
    for silence in (dithered[:HEAD], dithered[-TAIL:]):
        assert silence.var() == pytest.approx(0.25, rel=0.05)  # TPDF: a quarter step squared


@pytest.mark.parametrize("dither", dithers())
def test_no_dither_is_left_out_of_it(dither: str) -> None:
    zero = values(song(), zero_ends=True, dither=dither)
    assert not zero[:HEAD].any()
    assert not zero[-TAIL:].any()
    assert zero[HEAD : HEAD + SONG].any()


def test_a_shaped_dither_starts_anew_after_the_zeros() -> None:
    """What its filter remembers is the error of samples it rounded itself, and of zeros there is none."""
    x = song()
    whole = values(x, zero_ends=True, dither="f-weighted-9")
    late = Requantiser(16, "f-weighted-9", 44_100, 2, "seed")
    late.pass_over(HEAD)
    assert np.array_equal(whole[HEAD : HEAD + SONG], late.update(x[HEAD : HEAD + SONG]) >> 16)


@settings(max_examples=50)
@given(frames_a_block=st.integers(1, 70_000), channels=st.integers(1, 3))
def test_block_size_does_not_matter(frames_a_block: int, channels: int) -> None:
    x = song(channels)[HEAD - 50 : HEAD + SONG + 200] if frames_a_block < 50 else song(channels)
    whole = values(x, zero_ends=True, frames_a_block=len(x))
    assert np.array_equal(values(x, zero_ends=True, frames_a_block=frames_a_block), whole)


@pytest.mark.parametrize("frames", [1, 2, 100_000])
def test_a_song_of_nothing_but_silence_is_zeros_of_its_length(frames: int) -> None:
    zero = values(np.zeros((frames, 2)), zero_ends=True)
    assert zero.shape == (frames, 2)
    assert not zero.any()


def test_one_channel_that_sounds_is_sound() -> None:
    x = np.zeros((1000, 2))
    x[300:700, 1] = 0.1
    zero = values(x, zero_ends=True)
    assert not zero[:300].any()
    assert zero[300:700, 0].any()  # the silent channel is dithered as long as the other one sounds


def test_after_a_rate_conversion_the_ringing_is_kept_and_the_silence_before_it_is_zero() -> None:
    """A tone that starts at full level after digital silence: its ringing goes before it, and is no silence."""
    x = np.concatenate([np.zeros((48_000, 1)), sine(1000, 96_000, 0.25), np.zeros((48_000, 1))])
    y = np.concatenate(list(converted(stretches(x, 8_192), 96_000, 44_100, 1, 0, 44_100 + 11_025)))
    zero, dithered = values(y, zero_ends=True), values(y, zero_ends=False)
    starts, ends = 22_050, len(y) - 22_050
    heard = np.flatnonzero(np.abs(y[:, 0]) > 0.5 / 32_768)
    assert heard[0] < starts - 10  # the ringing is there
    assert np.array_equal(zero[heard[0] : heard[-1]], dithered[heard[0] : heard[-1]])
    assert not zero[: starts - 4_410].any()
    assert not zero[ends + 4_410 :].any()
    assert dithered[: starts - 4_410].any()
