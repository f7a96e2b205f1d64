"""Disc data in a release file besides audio: index points, flags, and texts shown by players."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction


@dataclass(frozen=True, slots=True)
class IndexPoint:
    """A position within a track, counted from the track's first sample; points 2 to 99 of a disc."""

    as_written: str
    """As written in the release file."""
    at_s: Fraction | None = None
    """Seconds, exact; None if stated in samples."""
    sample: int | None = None
    """Sample number in the master."""

    def samples(self, from_hz: int, to_hz: int) -> int:
        """Whole samples of the delivered song before the position; master at *from_hz*, song at *to_hz*."""
        from fractions import Fraction

        at_s = self.at_s if self.at_s is not None else Fraction(self.sample or 0, from_hz)
        return int(at_s * to_hz)


@dataclass(frozen=True, slots=True)
class CdText:
    """Texts of a disc or a track (IEC 61866); empty: label copy is used."""

    title: str = ""
    performer: str = ""
    songwriter: str = ""
    composer: str = ""
    arranger: str = ""
    message: str = ""
    genre: str = ""
    """Of a disc only."""
    disc_id: str = ""
    """Of a disc only."""


NO_TEXT = CdText()
