"""Files of one recording among all others: by the hash of their samples, and by landmarks that they share.

Landmarks are on disk, so memory does not grow with them; what they elect is then compared as `delivery check` compares
the songs of a release, by loudness over time and by spectrum.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from delivery.dsp.likeness.landmark_index import LANDMARK, VOTE, elected, votes_of
from delivery.dsp.likeness.same_recording import Alike, alike, tone_apart_db
from delivery.model.figure import Measurement
from delivery.pipeline.audit_file import landmarks_of, levels_of, powers_from
from delivery.pipeline.likenesses import NEARLY, TONE_APART_DB
from delivery.tasks.audit.buckets import Buckets

LEAST_VOTES = 8
"""Two different pieces of real music shared at most 3 landmarks at one offset (test_audit_recordings.py)."""
LEAST_SHARE = 0.03
"""Of the landmarks of the one that has fewer: a copy that begins half a step of the spectrogram later shares 10 %."""


@dataclass(frozen=True, slots=True)
class Link:
    """Two files of one recording, by their numbers."""

    one: int
    other: int
    alike: Alike | None
    """None: sample for sample the same."""


class Recordings:
    """Every file of the audit is added once, in order; then `links` finds the copies.

    Parameters
    ----------
    folder : an existing folder for what is too large for memory; a few files remain in it
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._landmarks = Buckets(folder, "landmarks", LANDMARK)
        self._counts = array("H")
        self._curves = (folder / "curves").open("wb+")
        self._curve_at = array("Q")
        self._by_hash: dict[bytes, int] = {}
        self._exact: list[Link] = []

    def add(self, measurement: Measurement | None) -> None:
        """The next file; None: it could not be measured."""
        number = len(self._counts)
        self._curve_at.append(self._curves.tell())
        first = self._first_of(measurement, number)
        if measurement is None or first != number:
            self._counts.append(0)
            if first != number:
                self._exact.append(Link(first, number, None))
            return
        found = landmarks_of(measurement)
        rows = np.empty(len(found.keys), LANDMARK)
        rows["key"], rows["song"], rows["frame"] = found.keys, number, found.frames
        self._landmarks.append(rows, found.keys)
        self._counts.append(len(rows))
        tone = np.array(measurement.value("third_octave_db") or (), "<f4")
        levels = levels_of(measurement)
        self._curves.write(np.array([len(tone), len(levels)], "<u4").tobytes() + tone.tobytes() + levels.tobytes())

    def links(self) -> Iterator[Link]:
        """Every two files found to be one recording, not every two of a large group."""
        yield from self._exact
        with self._landmarks as landmarks, Buckets(self._folder, "votes", VOTE) as votes:
            for rows in landmarks.take():
                cast = votes_of(rows)
                votes.append(cast, cast["one"])
            for rows in votes.take():
                for pair in elected(rows, LEAST_VOTES):
                    one, other = int(pair["one"]), int(pair["other"])
                    enough = LEAST_SHARE * min(self._counts[one], self._counts[other])
                    if pair["votes"] >= enough and (found := self._compared(one, other)):
                        yield Link(one, other, found)

    def close(self) -> None:
        """Close the files."""
        self._curves.close()
        self._landmarks.__exit__(None, None, None)

    def _first_of(self, measurement: Measurement | None, number: int) -> int:
        samples = measurement.value("audio_hash") if measurement else None
        return self._by_hash.setdefault(bytes.fromhex(samples), number) if samples else number

    def _compared(self, one: int, other: int) -> Alike | None:
        (tone_a, levels_a), (tone_b, levels_b) = self._curve(one), self._curve(other)
        if not (len(tone_a) and len(tone_b)) or tone_apart_db(tone_a, tone_b) > TONE_APART_DB:
            return None
        found = alike(levels_a, levels_b)
        return found if found and found.correlation >= NEARLY else None

    def _curve(self, number: int) -> tuple[list[float], list[float]]:
        self._curves.seek(self._curve_at[number])
        tones, levels = np.frombuffer(self._curves.read(8), "<u4")
        tone = np.frombuffer(self._curves.read(4 * int(tones)), "<f4")
        return tone.tolist(), powers_from(np.frombuffer(self._curves.read(2 * int(levels)), "<i2"))


def groups_of(links: Iterable[Link]) -> dict[int, int]:
    """File number -> the lowest number of its recording, for files that are there more than once."""
    leader: dict[int, int] = {}

    def root(number: int) -> int:
        while leader.setdefault(number, number) != number:
            leader[number] = leader[leader[number]]
            number = leader[number]
        return number

    for link in links:
        low, high = sorted((root(link.one), root(link.other)))
        leader[high] = low
    return {number: root(number) for number in sorted(leader)}
