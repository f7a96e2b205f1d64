"""Read sound in blocks: the one way in for every sample this program touches."""

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


class Sound(Protocol):
    """An open sound file."""

    facts: SoundFacts

    def blocks(self, frames: int = BLOCK_FRAMES, start: int = 0) -> Iterator[Array]:
        """(n, channels) float64, full scale 1.0, *frames* at a time; the last one may be shorter, none is empty.

        From frame *start* on; call it once for each opened file.

        Integers are exact: a sample of b bits is a multiple of 2**(1 - b). Each block is the caller's to keep.

        Raises
        ------
        Unreadable : the sound breaks off before the end the header promises; says how far it went
        """


@contextmanager
def open_sound(path: Path, *, count: bool = True) -> Iterator[Sound]:
    """Open *path* for reading, and close it again.

    Parameters
    ----------
    count : False leaves ``facts.frames`` at 0 for lossy files, and saves decoding them once more to count

    Raises
    ------
    Unreadable : vanished, a folder, not permitted, empty, no sound file, or shorter than its header promises
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
    """What the file says of itself; raises as :func:`open_sound` does. Lossy files are decoded to count frames."""
    with open_sound(path) as sound:
        return sound.facts
