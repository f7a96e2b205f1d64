"""Positions that a WAV states in its chunks: the time reference of broadcast wave, and loop points."""

from __future__ import annotations

import struct
from collections.abc import Iterator

from delivery.audio.facts import SoundFacts
from delivery.errors import Unusable
from delivery.meters.meter import Array, all_missing
from delivery.model.figure import Figure, Reading, Subject
from delivery.tags.chunks import body_of, layout_of

TECH3285 = "EBU Tech 3285 version 2 (2011)"
SMPL = "RIFF of 1991 with the sampler chunk of the Multimedia Data Standards Update (1994)"
_HEAD, _LOOP = struct.Struct("<28xI4x"), struct.Struct("<8xII8x")


class Chunks:
    """Read from the file itself after the audio; a container without such chunks states nothing."""

    subject = Subject.FILE
    gives = (
        Figure("broadcast_chunk", "", None, "Whether a WAV has the bext chunk of broadcast wave.", TECH3285),
        Figure("time_reference_s", "s", 3, "Time of day of the first sample, as the bext chunk states it.", TECH3285),
        Figure(
            "loops",
            "",
            None,
            "Loops that the smpl chunk of a WAV states: first and last sample played, counted from 0.",
            SMPL,
            columns=("first_frame", "last_frame"),
        ),
    )
    bears_nonfinite = True

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound

    def update(self, block: Array) -> None:
        """Nothing to do: the samples state no positions."""

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        try:
            found = bodies(self._sound, (b"bext", b"smpl"))
        except Unusable as problem:
            return all_missing(self.gives, f"its chunks cannot be followed: {problem.found}")
        stated = b"bext" in found
        return (
            Reading(stated),
            Reading(self._time_s(found[b"bext"])) if stated else Reading.missing("no bext chunk"),
            Reading(tuple(loops_of(found.get(b"smpl", b"")))),
        )

    def _time_s(self, chunk: bytes) -> float:
        from delivery.tags import bext  # few files have this chunk

        return bext.parse(chunk).time_reference / self._sound.rate_hz


def loops_of(smpl: bytes) -> Iterator[tuple[int, int]]:
    """First and last frame of every complete loop in the body of a smpl chunk.

    The last frame is played too: a loop over a whole file of n frames is (0, n - 1).
    """
    if len(smpl) < _HEAD.size:
        return
    (count,) = _HEAD.unpack_from(smpl)
    for at in range(_HEAD.size, len(smpl) - _LOOP.size + 1, _LOOP.size)[:count]:
        yield _LOOP.unpack_from(smpl, at)


def bodies(sound: SoundFacts, names: tuple[bytes, ...]) -> dict[bytes, bytes]:
    """The first chunk of each of these names in a WAV, if present.

    Raises
    ------
    Unusable : unreadable chunks
    """
    path = sound.path
    if sound.container != "wav" or not path.is_file():  # audio from memory has no file
        return {}
    layout = layout_of(path)
    with path.open("rb") as file:
        found = ((name, layout.all_of(name)) for name in names)
        return {name: body_of(file, chunks[0], path) for name, chunks in found if chunks}
