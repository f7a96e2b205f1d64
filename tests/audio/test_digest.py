"""The name of a sound depends on its samples and on nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from blake3 import blake3
from numpy.typing import NDArray

from delivery.audio.digest import AudioDigest
from tests.signals import noise

Array = NDArray[np.float64]


def reported(sound: Array, *, rate_hz: int = 48_000, integers: bool = True, block: int = 10**9) -> str:
    digest = AudioDigest(rate_hz, sound.shape[1], integers)
    for at in range(0, len(sound), block):
        digest.update(sound[at : at + block])
    return digest.hexdigest()


def test_the_library_follows_the_published_test_vectors() -> None:
    """First of the official test vectors of BLAKE3, with no input and with the one byte 0 (from memory)."""
    assert blake3(b"").hexdigest() == "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262"
    assert blake3(b"\0").hexdigest() == "2d3adedff11b61f14c886e35afa036736dcd87a74d27b5c1510225d0f592e213"


def test_integers_are_little_endian_and_left_justified() -> None:
    """Spelt out by hand: what another program must hash to get the same name."""
    sound = np.array([[0.5, -1.0], [2.0**-31, 1 - 2.0**-15]])
    by_hand = b"48000 Hz, 2 channels, integers\n"
    for word in (0x40000000, -0x80000000, 1, 0x7FFF0000):
        by_hand += word.to_bytes(4, "little", signed=True)
    assert reported(sound) == blake3(by_hand).hexdigest()


def test_floats_are_little_endian_doubles_with_one_zero() -> None:
    by_hand = b"48000 Hz, 1 channels, floats\n" + np.array([0.0, 0.1, 1.5]).astype("<f8").tobytes()
    assert reported(np.array([[-0.0], [0.1], [1.5]]), integers=False) == blake3(by_hand).hexdigest()


@pytest.mark.parametrize("integers", [True, False])
@pytest.mark.parametrize("block", [1, 7, 1000])
def test_blocks_and_memory_order_do_not_matter(integers: bool, block: int) -> None:
    sound = np.clip(np.rint(noise(48_000, 0.1) * 2**23) / 2**23, -1, 1 - 2**-23)
    whole = reported(sound, integers=integers)
    assert reported(sound, integers=integers, block=block) == whole
    assert reported(np.asfortranarray(sound), integers=integers, block=block) == whole


def test_any_change_changes_the_name() -> None:
    sound = np.rint(noise(48_000, 0.1) * 2**15) / 2**15
    changed = sound.copy()
    changed[77, 1] += 2.0**-31
    names = [
        reported(sound),
        reported(changed),
        reported(sound[:, ::-1]),
        reported(sound[:-1]),
        reported(np.concatenate([sound, np.zeros((1, 2))])),
        reported(sound.reshape(-1, 1)),
        reported(sound, rate_hz=44_100),
        reported(sound + 2.0**-40, integers=False),
    ]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("block", [7, 1000, 10**9])
def test_floats_that_are_integers_have_the_integers_name(block: int) -> None:
    """The same samples are the same sound however they are stored; one that no integer holds makes them floats."""
    sound = np.clip(np.rint(noise(48_000, 0.1) * 2**23) / 2**23, -1, 1 - 2**-23)
    assert reported(sound, integers=False, block=block) == reported(sound)
    sound[4_000, 1] += 2.0**-35
    by_hand = b"48000 Hz, 2 channels, floats\n" + sound.astype("<f8").tobytes()
    assert reported(sound, integers=False, block=block) == blake3(by_hand).hexdigest()
