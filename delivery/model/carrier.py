"""Carrier: a medium made of parts with limits. A disc and a side differ only in these numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

PARTS: Mapping[str, str] = {"cd": "disc", "vinyl": "side", "cassette": "side"}
"""Kind of carrier -> name of its parts, and the key of a track that assigns it."""

FRAMES_A_SECOND = 75
"""IEC 60908: a frame is 1/75 s, 588 samples at 44.1 kHz."""


@dataclass(frozen=True, slots=True)
class Pressing:
    """Size and speed, on which the limits of a side depend."""

    size_inch: int | None = None
    speed_rpm: int | None = None
    """33 means 33 1/3."""

    def __str__(self) -> str:
        size = f"{self.size_inch}-inch" if self.size_inch else ""
        speed = f"{'33⅓' if self.speed_rpm == 33 else self.speed_rpm} rpm" if self.speed_rpm else ""
        return " ".join(text for text in (size, speed) if text)

    def fits(self, size_inch: int | None, speed_rpm: int | None) -> bool:
        """True if a row of limits applies; a row without size or speed applies to all."""
        return size_inch in (None, self.size_inch) and speed_rpm in (None, self.speed_rpm)

    def limit_s(self, rows: Iterable[Mapping[str, Any]]) -> float | None:
        """Maximum length of a part in s from *rows* of size, speed and ``at_most_s``; None if no row applies."""
        fitting = (row for row in rows if self.fits(row.get("size_inch"), row.get("speed_rpm")))
        return next((float(row["at_most_s"]) for row in fitting), None)


NO_PRESSING = Pressing()
"""Nothing stated."""


@dataclass(frozen=True, slots=True)
class Carrier:
    """How a spec's songs are joined into one continuous file for each part."""

    kind: str
    """A key of ``PARTS``."""
    frame_samples: int = 1
    """Marks are multiples of this many samples; 588 on a CD."""
    first_pause_s: float = 0.0
    """Silence that the player or burner adds before a part's first song; not in the file."""
    pressing: Pressing = NO_PRESSING
    copy_permitted: bool = False
    """Digital copy flag in a CD's control bits; a track may override it."""
    mark_early_frames: int = 0
    """Index 1 precedes the audio by this much, as far as silence permits. Common practice, no source."""
    mark_late_frames: int = 0
    """A track ends this much after its audio, as far as silence permits. Common practice, no source."""

    @property
    def part(self) -> str:
        """'disc' or 'side'."""
        return PARTS[self.kind]

    @property
    def is_cut(self) -> bool:
        """True for records, whose cutting engineers have questions of their own; tape has no bands and is not cut."""
        return self.kind == "vinyl"

    @property
    def in_frames(self) -> bool:
        """True if positions are given in minutes, seconds and frames."""
        return self.frame_samples > 1


@dataclass(frozen=True, slots=True)
class Index:
    """One of the index points 2 to 99 of a song."""

    number: int
    frame: int
    """Frame of the file that contains the position, so that the mark is never late."""
    early: int
    """Samples by which the frame begins before the position."""


@dataclass(frozen=True, slots=True)
class Song:
    """Position of one song in a part's file. Samples count from the file's first one."""

    position: int
    """On the release."""
    number: int
    """On the part, from 1."""
    begins: int
    """Its first sample."""
    length: int
    """Samples of its own, without gap and padding."""
    padding: int
    """Silent samples after it, up to the next frame; none if the next song continues without a break."""
    mark: int
    """Frame of index 1, the start of the track: the frame of its first sample, or earlier if required."""
    pause: int
    """Frame of index 0; equal to ``mark`` if there is no pause before it."""
    joined: bool
    """It continues from the song before: no gap, no padding, one stream."""
    indices: tuple[Index, ...] = ()
    """Index 2 and later."""
    pregap: int = 0
    """Samples of its own before index 1, in the pause."""

    @property
    def ends(self) -> int:
        """The first sample after it."""
        return self.begins + self.length


@dataclass(frozen=True, slots=True)
class Programme:
    """One part of a carrier, planned: every position exact, before a sample is written."""

    spec: str
    label: str
    """'A', or '1'."""
    carrier: Carrier
    pressing: Pressing
    rate_hz: int
    songs: tuple[Song, ...]
    length: int
    """Samples of the file, the last song's padding included."""
    first_pause: int
    """Frames of the pause before the file."""

    @property
    def name(self) -> str:
        """'disc 1', 'side A'."""
        return f"{self.carrier.part} {self.label}"

    @property
    def heading(self) -> str:
        """'Disc 1', 'Side A'."""
        return self.name[:1].upper() + self.name[1:]

    @property
    def frames(self) -> int:
        """Length of the image, in frames of the carrier (75 a second on a disc)."""
        return self.length // self.carrier.frame_samples

    @property
    def lead_out(self) -> int:
        """Frame on the carrier's clock at which the programme ends: a CD's capacity is counted in these."""
        return self.on_carrier(self.frames)

    @property
    def length_s(self) -> float:
        """From the start of the first pause to the end."""
        return self.lead_out * self.carrier.frame_samples / self.rate_hz

    def on_carrier(self, frame: int) -> int:
        """A frame of the file on the carrier's clock."""
        return frame + self.first_pause

    def early(self, song: Song) -> int:
        """Samples by which a song's mark precedes its first one: it continues inside a frame, or marks are early."""
        return song.begins + song.pregap - song.mark * self.carrier.frame_samples

    def late_frames(self, song: Song) -> int:
        """Frames by which the track continues after its audio and padding: none unless required."""
        later = self._after(song)
        sound_ends = -(-song.ends // self.carrier.frame_samples)
        return 0 if later is None or later.joined else later.pause - sound_ends

    def _after(self, song: Song) -> Song | None:
        return next((other for other in self.songs if other.number == song.number + 1), None)

    def track_frames(self, song: Song) -> int:
        """From a song's index 1 to the next one's index 0, or to the end: the length shown by a player."""
        later = self._after(song)
        return (later.pause if later else self.frames) - song.mark


def msf(frames: int) -> str:
    """'MM:SS:FF' of a count of 1/75 s."""
    seconds, frame = divmod(frames, FRAMES_A_SECOND)
    return f"{seconds // 60:02}:{seconds % 60:02}:{frame:02}"
