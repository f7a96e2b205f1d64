"""FLAC, Vorbis and the rarer WAV and AIFF through libsndfile: integers stay integers, floats stay floats.

Runs in a child process (``audio.isolated``).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.facts import Header, SoundFacts, checked, clock, unreadable
from delivery.audio.speakers import of_vorbis
from delivery.errors import Unreadable
from delivery.model.speakers import usual
from delivery.regular import open_regular

UNIMPLEMENTED = "unimplemented format"
"""libsndfile's message for a valid file that it does not support (SFE_UNIMPLEMENTED)."""
FLAC_LENGTH_UNKNOWN = 2**62


class Unimplemented(Exception):
    """The file may be valid; libsndfile does not support this kind, but another decoder may."""


class SndFile:
    """One open file; one handle for each thread."""

    interleaved = True

    def __init__(self, path: Path, header: Header) -> None:
        self._bytes: BinaryIO | None = None
        try:
            self._bytes = open_regular(path)
            # Opened by handle, since names that are not valid in the system's encoding cannot be passed. On Windows a
            # handle belongs to one C runtime, and libsndfile may have been built with another.
            self._file = soundfile.SoundFile(path if os.name == "nt" else os.dup(self._bytes.fileno()))
        except (soundfile.LibsndfileError, OSError) as problem:
            if self._bytes:
                self._bytes.close()
            if UNIMPLEMENTED in _words(problem):
                raise Unimplemented from problem
            raise unreadable(path, f"a damaged {header.container.upper()} header ({_words(problem)})") from problem
        try:
            self.facts = _facts(path, header, self._file)
        except Unreadable:
            self.close()
            raise
        self.floats = not self.facts.integers
        self._reached = 0

    def close(self) -> None:
        """Close the file."""
        self._file.close()
        if self._bytes:
            self._bytes.close()

    def skip_to(self, frame: int) -> None:
        """Skip the frames before *frame*, before any is read."""
        try:
            self._reached = self._file.seek(min(frame, self.facts.frames))
        except (soundfile.LibsndfileError, OSError) as problem:
            raise self._broken(frame, f"cannot be reached ({_words(problem)})") from problem

    def read_into(self, memory: memoryview, frames: int) -> int:
        """Read up to *frames* frames, interleaved, into the start of *memory*; return their number, 0 at the end.

        Raises
        ------
        Unreadable : the samples end before the length the header states
        """
        facts = self.facts
        wanted = min(frames, facts.frames - self._reached)
        kind = np.float64 if self.floats else np.int32
        here = np.frombuffer(memory, kind, wanted * facts.channels).reshape(wanted, facts.channels)
        count = self._read(here)
        self._reached += count
        if count < wanted and facts.frames < FLAC_LENGTH_UNKNOWN:
            raise self._broken(self._reached, "stops early")
        return count

    def _read(self, here: NDArray[Any]) -> int:
        if not len(here):
            return 0
        try:
            return len(self._file.read(out=here))
        except (soundfile.LibsndfileError, OSError) as problem:
            raise self._broken(self._reached, f"breaks off ({_words(problem)})") from problem

    def _broken(self, reached: int, how: str) -> Unreadable:
        facts = self.facts
        at, end = clock(reached / facts.rate_hz), clock(facts.duration_s)
        return unreadable(facts.path, f"sound that {how} at {at} of {end} (frame {reached} of {facts.frames})")


def _facts(path: Path, header: Header, file: Any) -> SoundFacts:
    facts = SoundFacts(
        path,
        header.container,
        header.riff_form,
        header.coding,
        file.samplerate,
        file.channels,
        file.frames,
        header.bits,
        header.size_bytes,
        header.extensible,
        "libsndfile",
        of_vorbis(file.channels) if header.coding == "vorbis" else header.speakers or usual(file.channels),
        header.channel_mask,
    )
    return checked(facts)


def _words(problem: Exception) -> str:
    text = getattr(problem, "error_string", "") or str(problem)
    return str(text).strip().rstrip(".")
