"""What a release file may say for a disc beyond its sound: index points, flags, and the texts that players show."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class IndexPoint:
    """A place within a track, counted from the track's first sample; points 2 to 99 of a disc."""

    says: str
    """As the release file has it."""
    at_s: Fraction | None = None
    """Seconds, exact; None where a sample is stated."""
    sample: int | None = None
    """Of the master."""

    def samples(self, from_hz: int, to_hz: int) -> int:
        """Whole samples of the delivered song before the place: the master runs at *from_hz*, the song at *to_hz*."""
        at_s = self.at_s if self.at_s is not None else Fraction(self.sample or 0, from_hz)
        return int(at_s * to_hz)


@dataclass(frozen=True, slots=True)
class CdText:
    """Texts of a disc or a track (IEC 61866); empty: what label copy says is taken."""

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
