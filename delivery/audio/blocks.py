"""Read audio in blocks: the only way in which samples are read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import BLOCK_FRAMES, SoundFacts
from delivery.audio.headers import read_header

if TYPE_CHECKING:
    from delivery.audio.isolated import IsolatedSound
    from delivery.audio.plain_pcm import PlainPcm

__all__ = ["Sound", "SoundFacts", "open_sound", "sound_facts"]

Array = NDArray[np.float64]
Integers = NDArray[np.int32]


class Sound(Protocol):
    """An open sound file."""

    facts: SoundFacts

    def blocks(self, frames: int = BLOCK_FRAMES, start: int = 0) -> Iterator[Array]:
        """(n, channels) float64, full scale 1.0, *frames* at a time; the last one may be shorter, none is empty.

        From frame *start* on; call it once for each opened file.

        Integers are exact: a sample of b bits is a multiple of 2**(1 - b). The caller may keep each block.

        Raises
        ------
        Unreadable : the audio ends before the length stated in the header; the message gives the position
        """


@contextmanager
def open_sound(path: Path, *, count: bool = True) -> Iterator[Sound]:
    """Open *path* for reading; closes it on exit.

    Parameters
    ----------
    count : False leaves ``facts.frames`` at 0 for lossy files, and saves decoding them once more to count

    Raises
    ------
    Unreadable : missing, a folder, not permitted, empty, not a sound file, or shorter than stated in its header
    """
    header = read_header(path)
    file: PlainPcm | IsolatedSound
    if header.layout:
        from delivery.audio.plain_pcm import PlainPcm

        file = PlainPcm(path, header, header.layout)
    else:
        from delivery.audio.isolated import IsolatedSound

        file = IsolatedSound(path, header, count=count)
    try:
        yield file
    finally:
        file.close()


def sound_facts(path: Path) -> SoundFacts:
    """Facts from the file's header; raises as :func:`open_sound`. Lossy files are decoded to count frames."""
    with open_sound(path) as sound:
        return sound.facts


def stored(sound: Sound, frames: int) -> Iterator[Array | Integers]:
    """The blocks as the file stores them: of plain integers left-justified int32, else as ``Sound.blocks``."""
    from delivery.audio.plain_pcm import PlainPcm

    if isinstance(sound, PlainPcm) and sound.facts.integers:
        return sound.integers(frames)
    return sound.blocks(frames)
