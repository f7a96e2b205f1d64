"""Sections found against marked ones: sounds of known form, and the F measure within 3 s.

Hit rate at 3 s and its F measure are reported as the field reports them (structural segmentation at MIREX).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from delivery.compare.outline import Outline, Outlining, found_sections
from demo.music import perform, sections
from demo.songs import Part, Song

Array = NDArray[np.float64]
RATE = 44_100
NEAR_S = 3.0
LONG = tuple(
    Part(name, bars)
    for name, bars in (
        *(("intro", 4), ("verse", 8), ("chorus", 8), ("verse", 8), ("chorus", 8)),
        *(("verse", 4), ("chorus", 8), ("outro", 4)),
    )
)
"""Lengths as in released songs: eight bars."""


@dataclass(frozen=True, slots=True)
class Hits:
    """Marked and found boundaries counted."""

    marked: int = 0
    recalled: int = 0
    found: int = 0
    right: int = 0

    def __add__(self, other: Hits) -> Hits:
        return Hits(
            self.marked + other.marked,
            self.recalled + other.recalled,
            self.found + other.found,
            self.right + other.right,
        )

    @property
    def precision(self) -> float:
        return self.right / max(self.found, 1)

    @property
    def recall(self) -> float:
        return self.recalled / max(self.marked, 1)

    @property
    def f_measure(self) -> float:
        return 2 * self.precision * self.recall / max(self.precision + self.recall, 1e-9)

    def __str__(self) -> str:
        return f"precision {self.precision:.2f}, recall {self.recall:.2f}, F {self.f_measure:.2f}"


def outline_of(sound: Array, rate_hz: int = RATE) -> Outline:
    """Of (frames, channels), taken second by second."""
    outline = Outlining(rate_hz, sound.shape[1])
    for at in range(0, len(sound), rate_hz):
        outline.take(sound[at : at + rate_hz])
    return outline.result()


def hits(sound: Array, rate_hz: int, marked: Sequence[float]) -> Hits:
    """Boundaries found in *sound* against *marked* ones, both without the start."""
    found = [each.start_s for each in found_sections(outline_of(sound, rate_hz).rows)][1:]
    return Hits(len(marked), _near(marked, found), len(found), _near(found, marked))


def _near(some: Sequence[float], others: Sequence[float]) -> int:
    return sum(any(abs(at - other) <= NEAR_S for other in others) for at in some)


def played(song: Song, form: tuple[Part, ...] | None = None) -> tuple[Array, list[float]]:
    """(frames, 2) at RATE of a song made by code, in another *form* if one is given, and where its parts begin."""
    song = replace(song, form=form) if form else song
    sound = np.asarray(perform(song, RATE), np.float64)
    return sound.T if len(sound) == 2 else sound, [start_s for _, start_s, _ in sections(song)][1:]


def joined(stretches: dict[str, Array], form: str, rate_hz: int) -> tuple[Array, list[float]]:
    """Stretches of real music put one after the other as *form* has them ('ABACA'), and where another one begins."""
    parts = [stretches[letter] for letter in form]
    starts = np.cumsum([len(part) for part in parts])[:-1] / rate_hz
    changes = [float(at) for at, one, other in zip(starts, form, form[1:], strict=False) if one != other]
    return np.concatenate(parts), changes
