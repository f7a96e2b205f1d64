"""A master as a browser can play it: itself where it can, else the same samples as WAV."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound, sound_facts
from delivery.audio.facts import SoundFacts
from delivery.disk import space_for

Array = NDArray[np.float64]
PLAIN_BITS = (16, 24)
"""Integer depths of WAV that browsers play."""


@dataclass(frozen=True, slots=True)
class Playable:
    """How a browser can play a file."""

    direct: bool
    """True if the file itself can be played."""
    text: str
    """What is heard, in a sentence."""
    key: str
    """Changes when the file does."""


def playable(path: Path) -> Playable:
    """How the master at *path* is played. Raises Unreadable, as `delivery.measure`."""
    facts = sound_facts(path)
    plain = facts.container == "wav" and facts.riff_form == "RIFF" and facts.channels <= 2
    direct = plain and (facts.bits in PLAIN_BITS if facts.integers else facts.coding == "float" and facts.bits == 32)
    stat = path.stat()
    key = f"{stat.st_mtime_ns:x}-{stat.st_size:x}"
    shape = f"{facts.rate_hz / 1000:g} kHz" + (f", {facts.bits} bit" if facts.bits else "")
    rate = "Your browser or sound card may resample it."
    if direct:
        return Playable(True, f"The master's own samples, {shape}. {rate}", key)
    samples = "the samples that its decoder gives" if facts.lossy else "the master's own samples"
    if not facts.lossy and not _exact(facts):
        samples = "the master's samples, rounded to 32-bit float"
    return Playable(False, f"Decoded to WAV: {samples}, {shape}. {rate}", key)


def write_wav(path: Path, target: Path) -> None:
    """Decode the sound at *path* into a WAV file of 24-bit integers, or 32-bit float where these cannot hold it.

    Raises
    ------
    Unreadable : it cannot be decoded to its end; no file is left
    NoSpace : the disk is full; no file is left
    """
    hidden = target.with_name(f".{target.name}.new")
    try:
        with space_for(target), open_sound(path) as sound, hidden.open("wb") as file:
            floats, frames = not (sound.facts.integers and (sound.facts.bits or 32) <= 24), 0
            file.write(_header(sound.facts, floats, 0))
            for block in sound.blocks():
                frames += len(block)
                file.write(b"".join(_coded(block, floats)))
            file.seek(0)
            file.write(_header(sound.facts, floats, frames))
        hidden.replace(target)
    finally:
        hidden.unlink(missing_ok=True)


def _exact(facts: SoundFacts) -> bool:
    return (facts.bits or 32) <= (24 if facts.integers else 32)


def _coded(block: Array, floats: bool) -> Iterator[bytes]:
    if floats:
        yield block.astype("<f4").tobytes()
        return
    whole = np.rint(block * 2**23).astype("<i4")
    yield whole.reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes()


def _header(facts: SoundFacts, floats: bool, frames: int) -> bytes:
    """RIFF header of 44 bytes; a size over 32 bits is stated as the largest value, as usual for streams."""
    sample_bytes = 4 if floats else 3
    step = facts.channels * sample_bytes
    size = min(frames * step, 2**32 - 45)
    form = struct.pack(
        "<HHIIHH", 3 if floats else 1, facts.channels, facts.rate_hz, facts.rate_hz * step, step, 8 * sample_bytes
    )
    return b"RIFF" + struct.pack("<I", 36 + size) + b"WAVEfmt \x10\0\0\0" + form + b"data" + struct.pack("<I", size)
