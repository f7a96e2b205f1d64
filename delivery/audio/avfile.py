"""MP3, AAC, Opus and ALAC, decoded by FFmpeg's libraries to float. Runs in a child process (``audio.isolated``)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import av
import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import Header, SoundFacts, checked, clock, unreadable
from delivery.audio.speakers import of_ffmpeg
from delivery.regular import open_regular

if TYPE_CHECKING:
    from delivery.errors import Unreadable

Samples = NDArray[Any]
"""float64, or float32 as decoded."""
CODINGS = {"mp3float": "mp3", "mp3": "mp3", "aac": "aac", "opus": "opus", "libopus": "opus"}
LOSSLESS = ("alac", "flac")
DSD = ("dsd_lsbf", "dsd_lsbf_planar", "dsd_msbf", "dsd_msbf_planar", "dst")
"""Codecs of one-bit audio (DSD); the decoder returns floats at one eighth of the rate."""
PACKET_FRAMES = 2304
"""Decoders may lose this much at the end of a complete file: two packets of MP3."""
DEMUXERS = {"mp3": "mp3", "m4a": "mov", "opus": "ogg", "ogg": "ogg", "aac": "aac", "flac": "flac"}
DEMUXERS |= {"caf": "caf", "dsf": "dsf", "dff": "iff"}
"""FFmpeg's name for the detected format: it must not guess, least of all by the file's name."""
FULL_SCALE = {"s16": 2.0**-15, "s16p": 2.0**-15, "s32": 2.0**-31, "s32p": 2.0**-31}


class AvFile:
    """One open file, decoded as it states: the encoder's delay and padding are trimmed."""

    floats = True
    interleaved = False

    def __init__(self, path: Path, header: Header, *, count: bool = True) -> None:
        try:
            # Opened by handle: FFmpeg takes a path such as 'tcp:...' or 'http:...' for an address, and would connect to
            # it.
            self._bytes = open_regular(path)
        except OSError as problem:
            raise unreadable(path, f"a file that cannot be read ({_words(problem)})") from problem
        try:
            self._file = av.open(self._bytes, mode="r", format=DEMUXERS.get(header.container))
        except (av.FFmpegError, OSError, ValueError) as problem:
            self._bytes.close()
            raise unreadable(path, f"a damaged {header.container.upper()} file ({_words(problem)})") from problem
        try:
            self._begin(path, header, count)
        except BaseException:
            self.close()
            raise
        self._waiting = self._pieces()
        self._left: Samples | None = None

    def _begin(self, path: Path, header: Header, count: bool) -> None:
        if not self._file.streams.audio:
            raise unreadable(path, "a file without sound", "a sound file")
        self._stream = self._file.streams.audio[0]
        if self._stream.codec_context is None or not self._stream.codec_context.channels:
            raise unreadable(
                path, "sound in a coding that no installed decoder supports", "MP3, AAC, ALAC, FLAC or Opus"
            )
        self._states_length = header.states_length
        self._stream.codec_context.thread_count = 1
        self.facts = _facts(path, header, self._stream)
        if count:
            self.facts = _counted(path, header, self.facts)

    def close(self) -> None:
        """Close the file."""
        self._file.close()
        self._bytes.close()

    def skip_to(self, frame: int) -> None:
        """Skip the frames before *frame*, before any is read; they still have to be decoded."""
        reached = 0
        while reached < frame and (piece := next(self._waiting, None)) is not None:
            reached += piece.shape[1]
            self._left = piece[:, piece.shape[1] - (reached - frame) :] if reached > frame else None

    def read_into(self, memory: memoryview, frames: int) -> int:
        """Read up to *frames* frames, channel by channel, into the start of *memory*; return their number, 0 at the
        end."""
        pieces = [self._left] if self._left is not None else []
        held = sum(piece.shape[1] for piece in pieces)
        while held < frames and (piece := next(self._waiting, None)) is not None:
            pieces.append(piece)
            held += piece.shape[1]
        channels = self.facts.channels
        count: int = min(held, frames)
        here = np.frombuffer(memory, np.float64, count * channels).reshape(channels, count)
        at = 0
        for piece in pieces:
            taken = piece[:, : count - at]
            here[:, at : at + taken.shape[1]] = taken
            at += taken.shape[1]
        self._left = pieces[-1][:, pieces[-1].shape[1] - (held - count) :] if held > count else None
        return count

    def _pieces(self) -> Iterator[Samples]:
        """Planar (channels, n) pieces from the decoder, up to the end stated by the container."""
        facts, reached = self.facts, 0
        stated = _stated_frames(self._stream) if self._states_length else None
        try:
            for frame in self._file.decode(self._stream):
                if frame.sample_rate != facts.rate_hz or frame.layout.nb_channels != facts.channels:
                    raise self._broken(reached, "changes its rate or number of channels")
                piece = _planar(frame, facts.channels)
                if stated is not None:
                    piece = piece[:, : max(stated - reached, 0)]
                reached += piece.shape[1]
                yield piece
        except (av.FFmpegError, OSError) as problem:
            raise self._broken(reached, f"breaks off ({_words(problem)})") from problem
        if stated is not None and reached < stated - PACKET_FRAMES:
            raise self._broken(reached, f"should last until {clock(stated / facts.rate_hz)}, and stops")

    def _broken(self, reached: int, how: str) -> Unreadable:
        return unreadable(self.facts.path, f"sound that {how} at {clock(reached / self.facts.rate_hz)}")


def _facts(path: Path, header: Header, stream: Any) -> SoundFacts:
    codec = stream.codec_context
    lossless = codec.name in LOSSLESS
    facts = SoundFacts(
        path,
        header.container,
        "",
        "pcm" if lossless else "dsd" if codec.name in DSD else CODINGS.get(codec.name, codec.name),
        codec.sample_rate,
        codec.channels,
        0,
        (header.bits or _bits(codec)) if lossless else None,
        header.size_bytes,
        decoded_by="FFmpeg",
        speakers=of_ffmpeg(channel.name for channel in codec.layout.channels),
    )
    return checked(facts)


def _bits(codec: Any) -> int:
    """ALAC stores its bit depth in byte 5 of its cookie (the magic cookie's sixth field) after a 12-byte atom head."""
    if codec.name == "alac" and codec.extradata and len(codec.extradata) >= 18:
        return int(codec.extradata[17])
    return 16 if codec.format.name.startswith("s16") else 24


def _stated_frames(stream: Any) -> int | None:
    if stream.duration is None:
        return None
    return round(float(stream.duration * stream.time_base * stream.codec_context.sample_rate))


def _counted(path: Path, header: Header, facts: SoundFacts) -> SoundFacts:
    """The same facts with frames counted by decoding once; a declared length may be an estimate."""
    from dataclasses import replace

    other = AvFile(path, header, count=False)
    try:
        return replace(facts, frames=sum(piece.shape[1] for piece in other._pieces()))
    finally:
        other.close()


def _planar(frame: Any, channels: int) -> Samples:
    """(channels, n) at full scale 1.0: floats as decoded, which the reader's memory widens."""
    raw: Samples = frame.to_ndarray()
    if not frame.format.is_planar:
        raw = raw.reshape(-1, channels).T
    scale = FULL_SCALE.get(frame.format.name)
    return raw if scale is None else np.multiply(raw, scale, dtype=np.float64)


def _words(problem: Exception) -> str:
    return str(getattr(problem, "strerror", None) or problem)
