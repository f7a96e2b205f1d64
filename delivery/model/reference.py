"""A playlist of peers as kept figures, and a song or an album beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Doubt(StrEnum):
    """Why a track may not represent the released master."""

    LOSSY = "lossy"
    CLIPPED = "clipped"
    MONO = "mono"
    EDITED_DOWN = "edited down"
    NORMALISED = "normalised"


@dataclass(frozen=True, slots=True)
class Mark:
    """Why a track of a reference is doubtful."""

    doubt: Doubt
    reason: str
    """With its numbers, such as '6 of 8 tracks lie within 0.3 LU of each other'."""


@dataclass(frozen=True, slots=True)
class BandHabit:
    """How one octave of a song usually lies and moves, in bars of 2 s."""

    middle_hz: float
    usual_re_loudness_db: float
    """Median level over the bars, less the song's integrated loudness."""
    low_db: float
    """The 5th percentile of its departures: what all bands do together is taken off."""
    high_db: float
    """The 95th."""


class PlaceKind(StrEnum):
    """Kind of a place at which a song departs from the reference."""

    THIN = "thin"
    CROWDED = "crowded"
    DROPS_OUT = "drops out and returns"
    """Arrangement: a part stops and returns abruptly."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a band departs for longer than a bar."""

    kind: PlaceKind
    at_s: float
    until_s: float
    low_hz: float
    """Middle of the lowest third octave in it; of the highest likewise."""
    high_hz: float
    own_db: float
    """Mean distance from the song's own level in this band."""
    peers_db: float | None
    """Mean distance beyond what 19 of 20 bars of the reference hold; None without a suitable reference."""
    section: str = ""
    """Stated section in which it begins; empty: none is stated."""


@dataclass(frozen=True, slots=True)
class ReferenceTrack:
    """Figures of one song of a reference."""

    file: str
    """Name below the folder it was measured in, '/' between steps; never a path of the machine."""
    audio_hash: str
    meters: str
    """Version of the meters that measured it."""
    figures: Mapping[str, Any]
    """Figure name -> number, text, truth, row of numbers, or None where it was not measured."""
    habits: tuple[BandHabit, ...] = ()
    """Of each octave; empty where the track is too short."""


@dataclass(frozen=True, slots=True)
class Reference:
    """Figures of the songs of a reference playlist."""

    name: str
    tracks: tuple[ReferenceTrack, ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """One figure of the song beside the same figure of the reference tracks."""

    song: float | None
    values: tuple[float, ...]
    """Of the tracks that have it, in the reference's order."""
    median: float | None
    q25: float | None
    """Quartiles: None with fewer than three values."""
    q75: float | None

    @property
    def difference(self) -> float | None:
        """Song less median."""
        return None if self.song is None or self.median is None else self.song - self.median

    @property
    def outside(self) -> float | None:
        """How far the song lies above (+) or below (-) the middle half; 0 inside, None where there is none."""
        if self.song is None or self.q25 is None or self.q75 is None:
            return None
        return max(self.song - self.q75, 0.0) + min(self.song - self.q25, 0.0)


@dataclass(frozen=True, slots=True)
class BandSpread:
    """The level of one band less the song's own integrated loudness, in dB, beside the reference's."""

    low_hz: float
    """Middle of the lowest third octave in it; of the highest likewise."""
    high_hz: float
    level: Spread


@dataclass(frozen=True, slots=True)
class Playback:
    """What a player that brings everything to one loudness would do, gain alone."""

    target_lufs: float
    gain_db: Spread
    peak_dbtp: Spread
    """True peak after that gain; above 0 the player has to limit, clip or stay below its target."""


@dataclass(frozen=True, slots=True)
class Beside:
    """One song, or an album as one programme, beside a reference."""

    title: str
    figures: Mapping[str, Spread]
    third_octaves: tuple[BandSpread, ...]
    octaves: tuple[BandSpread, ...]
    """Three third octaves added up, around every third octave that has two neighbours."""
    low_end: BandSpread | None
    playback: tuple[Playback, ...]
    places: tuple[Place, ...] = ()
    bar_s: float | None = None
    """Length of a bar in which places were sought; None where they were not."""
    bpm: float | None = None
    """The tempo it follows from; None: not stated; a bar is taken as 2 s."""


@dataclass(frozen=True, slots=True)
class ReferenceComparison:
    """Comparison of a song with a reference."""

    reference: Reference
    """Only the tracks that were compared with."""
    marks: Mapping[str, tuple[Mark, ...]]
    """Of these tracks, by file."""
    left_out: tuple[str, ...]
    older: tuple[str, ...]
    """Files whose figures come from other versions of the meters."""
    songs: tuple[Beside, ...]
    album: Beside | None = None
    """All songs as one programme; None for a single song."""
    problems: tuple[str, ...] = field(default=())
    """Of songs that cannot be used."""
    same: tuple[str, ...] = ()
    """Tracks of the reference with the sound of a compared song; left out, since they would pull the median to it."""
    named: str = ""
    """How commands name the reference: by its name, or that of its file, without a path; empty: by its name."""
