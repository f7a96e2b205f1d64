"""Events to listen to: dips and gaps with edges, buffers that come twice, and values that are held."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.stretches import Stretches
from delivery.dsp.events import breaks
from delivery.dsp.events.breaks import AGAIN, AGAIN_AT, AGAIN_FRAMES, DIP, DIP_AFTER, DIP_BEFORE, LONGEST_LAG, SLOTS
from delivery.dsp.events.ranking import Place, Places
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.places import figures, readings
from delivery.model.figure import Reading, Subject

Steps = NDArray[np.int32]
PRACTICE = "common practice, no source; limits tuned on planted faults"
APART_S = 0.05
BEHIND, AHEAD = 2 * LONGEST_LAG + 64, LONGEST_LAG + 320
GAP_DB = 40.0
LEAST_DB, LEAST_GAP_DB = 8.0, 24.0
NEARLY_DB = (4.0, 11.0)
"""Dips of this score, as most that music makes have: the more of them a minute, the further a fault must stand out."""
DOUBLED_DB = 1.5
"""How much further for each doubling. With LEAST_DB chosen on the tuning half of ``free_music.yaml``: a low limit that
rises fast has 6 false dips there where 9 and 1 dB had 9, and misses at most one more planted dip in a hundred. On a
clean master a false report costs more than a missed shallow dip."""


class Breaks:
    """Passages of 3 to 260 ms that fall and rise within 14 ms, and repeats of what was just heard.

    Levels are taken in milliseconds, of the samples and of their differences. A dip is 8 dB deep at least in both, and
    is scored by its depth less what speaks for music: unlike depth in treble and bass, a slope inside, another level
    after it, a stroke behind it. It counts from 8 dB on, and 1.5 dB more for each doubling of one plus the number a
    minute of dips that score 4 to 11 dB. 40 dB deep or more: a gap, which counts from 24 dB on, with the same increase.

    A repeated buffer: at least 32 frames, and half of their distance to the original, that equal what was 32 to 4096
    frames earlier within 3 steps of 16 bits, while both neighbours differ by more than 8 times that. A held value: 48
    to 4096 frames that stay within 3 steps of 16 bits in moving sound, not at zero and not at the top of the waveform.
    Each channel by itself; events within 50 ms are one.
    """

    subject = Subject.LISTEN
    least_rate_hz = 8000
    gives = (
        *figures("edged_gap", "gaps of 3 to 260 ms with edges, 40 dB deep or more", "score_db", PRACTICE),
        *figures("dip", "dips of 3 to 260 ms", "score_db", PRACTICE),
        *figures("repeated_buffer", "a buffer comes twice", "length_ms", PRACTICE),
        *figures("held_value", "one value held", "length_ms", PRACTICE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz, self._channels = sound.rate_hz, sound.channels
        self._block = max(round(sound.rate_hz / 1000), 1)
        self._stretches = Stretches(sound.channels, self._block, 1)
        self._steps = self._room = np.zeros((sound.channels, BEHIND + AHEAD), np.int32)
        """The last samples, as 24-bit integers, and the array that holds them."""
        self._levels = np.zeros((2, sound.channels, DIP_BEFORE))
        self._first = -DIP_BEFORE
        """Millisecond of the first kept level."""
        self._slots = np.zeros((sound.channels, SLOTS), np.uint16)
        self._again, self._held = (Places(round(APART_S * sound.rate_hz)) for _ in range(2))
        self._dips: list[tuple[int, int, float, float]] = []
        """Millisecond, channel, score and depth in dB of all that nearly count, in order."""
        self._frames = 0

    def update(self, block: Array) -> None:
        """Take in the next block, (frames, channels) float64."""
        self._frames += len(block)
        self._take(planar(block))

    def _take(self, samples: Array) -> None:
        for piece, frame in self._stretches.pieces(samples):
            self._look(piece, frame)

    def _look(self, piece: Array, frame: int) -> None:
        """Of (channels, 1 + whole milliseconds)."""
        kept, count = self._levels.shape[2], piece.shape[1] // self._block
        levels = np.empty((2, self._channels, kept + count))
        levels[:, :, :kept] = self._levels
        steps = self._steps = self._followed_by(count * self._block)
        for c, x in enumerate(piece):
            breaks.milliseconds(x, self._block, levels[0, c, kept:], levels[1, c, kept:], steps[c, BEHIND + AHEAD :])
        self._look_for_copies(steps, frame - BEHIND - AHEAD)
        self._look_for_dips(levels)

    def _followed_by(self, frames: int) -> Steps:
        """The last steps, and room for more; in one array for all blocks, since the system clears what it hands out."""
        end = BEHIND + AHEAD + frames
        if end > self._room.shape[1]:
            self._room = np.empty((self._channels, end), np.int32)
        self._room[:, : BEHIND + AHEAD] = self._steps[:, -BEHIND - AHEAD :]
        return self._room[:, :end]

    def _look_for_copies(self, steps: Steps, frame: int) -> None:
        end = steps.shape[1] - AHEAD
        found = np.empty(((end - BEHIND) // 16 + 1, AGAIN))
        repeated, held = [], []
        for c, (row, slots) in enumerate(zip(steps, self._slots, strict=True)):
            repeated += self._places(found[: breaks.repeats(row, BEHIND, end, frame, slots, found)], c)
            held += self._places(found[: breaks.holds(row, BEHIND, end, frame, found)], c)
        for places, events in ((self._again, repeated), (self._held, held)):
            for event in sorted(events):
                places.add(event)

    def _places(self, rows: Array, channel: int) -> list[Place]:
        return [Place(int(r[AGAIN_AT]), channel + 1, 1000 * float(r[AGAIN_FRAMES]) / self._rate_hz) for r in rows]

    def _look_for_dips(self, levels: Array) -> None:
        """Of (2, channels, milliseconds), the kept ones and the new ones."""
        end = levels.shape[2] - DIP_AFTER
        if end > DIP_BEFORE:
            events: list[tuple[int, int, float, float]] = []
            found = np.empty((end - DIP_BEFORE, DIP))
            for c in range(self._channels):
                count = breaks.dips(levels[0, c], levels[1, c], DIP_BEFORE, end, found)
                events += self._scored(found[:count], c) if count else []
            self._dips += sorted(events)
            levels, self._first = levels[:, :, end - DIP_BEFORE :], self._first + end - DIP_BEFORE
        self._levels = levels.copy()

    def _scored(self, rows: Array, c: int) -> list[tuple[int, int, float, float]]:
        scores, depths = breaks.dip_scores(rows), breaks.dip_depths(rows)
        return [
            (self._first + int(row[breaks.DIP_BEGINS]), c + 1, float(score), float(depth))
            for row, score, depth in zip(rows, scores, depths, strict=True)
            if score > NEARLY_DB[0]
        ]

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        blocks = -(-max(AHEAD, DIP_AFTER * self._block) // self._block) + 1
        self._take(np.zeros((self._channels, blocks * self._block)))
        gaps, dips = self._outstanding()
        lists = (gaps, dips, self._again, self._held)
        return tuple(reading for list_ in lists for reading in readings(list_, self._frames, self._rate_hz))

    def _outstanding(self) -> tuple[Places, Places]:
        """Gaps, and dips, that are far from what this song does by itself."""
        nearly = sum(NEARLY_DB[0] < score < NEARLY_DB[1] for _, _, score, _ in self._dips) / self._channels
        habit_db = DOUBLED_DB * float(np.log2(1 + nearly / (self._frames / self._rate_hz / 60)))
        gaps, dips = (Places(round(APART_S * self._rate_hz)) for _ in range(2))
        for at_ms, channel, score, depth in self._dips:
            gap = depth >= GAP_DB
            if score > (LEAST_GAP_DB if gap else LEAST_DB) + habit_db:
                (gaps if gap else dips).add(Place(at_ms * self._block, channel, score))
        return gaps, dips
