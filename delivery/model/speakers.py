"""Loudspeaker positions of a file's channels, and their weights in loudness.

Names are short forms of those in ITU-R BS.2051: L, R, C, Ls (surround), Lb (back), Ltf (top front), and so on.
"""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

LFE = ("LFE", "LFE2")
POSITIONS = MappingProxyType(
    {
        "M": (0, 0),
        "L": (30, 0),
        "R": (-30, 0),
        "C": (0, 0),
        "Lc": (15, 0),
        "Rc": (-15, 0),
        "Lw": (60, 0),
        "Rw": (-60, 0),
        "Ls": (110, 0),
        "Rs": (-110, 0),
        "Lss": (90, 0),
        "Rss": (-90, 0),
        "Lb": (135, 0),
        "Rb": (-135, 0),
        "Cs": (180, 0),
        "Ltf": (45, 30),
        "Ctf": (0, 30),
        "Rtf": (-45, 30),
        "Ltm": (90, 30),
        "Rtm": (-90, 30),
        "Ltb": (135, 30),
        "Ctb": (180, 30),
        "Rtb": (-135, 30),
        "T": (0, 90),
    }
)
"""Azimuth (positive to the left) and elevation in degrees: ITU-R BS.2051-3, Table 1 and layouts A to J; the wide front
loudspeakers and those beside the centre are from memory."""
SIDE_WEIGHT = 1.41
NOT_STATED = "the file does not state which loudspeaker each of its {channels} channels is for"


def loudness_weight(azimuth: float, elevation: float) -> float:
    """ITU-R BS.1770-5, Annex 3: 1.41 from 60 to 120 degrees to the side and less than 30 above or below, else 1."""
    return SIDE_WEIGHT if abs(elevation) < 30 and 60 <= abs(azimuth) <= 120 else 1.0


def loudness_weights(speakers: Sequence[str]) -> tuple[float, ...]:
    """Weight of each channel by its position; low-frequency effects have weight 0 (BS.1770-5, Annex 1)."""
    return tuple(0.0 if name in LFE else loudness_weight(*POSITIONS[name]) for name in speakers)


def usual(channels: int) -> tuple[str, ...]:
    """Positions of one or two channels, which no file needs to state; empty for more."""
    return {1: ("M",), 2: ("L", "R")}.get(channels, ())
