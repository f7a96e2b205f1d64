"""Gaps, dips, repeated and held buffers, jumps and clicks planted in real music: how many are found, and false places.

Run ``python -m tests.benchmarks.discontinuities FOLDER`` after ``python -m tests.benchmarks.free_music FOLDER``; pytest
does not collect it. The half that is held out is used, up to two minutes of each piece; ``--tuning`` takes the other.
Faults are made by numpy alone, on half a minute of the waveform; then the piece is rounded to 24 bits, every second one
dithered to 16. Chance is seeded by piece and fault, so every run plants the same. ``--record`` writes the tables of the
guide. The limits were chosen on other music: the pieces of ``pieces.yaml`` that are not held out there, and those for
dips and clipped peaks on the half for tuning.
"""

from __future__ import annotations

import argparse
import zlib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks import free_music
from tests.benchmarks.figures import record
from tests.benchmarks.intervals import a_minute, found
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
Plant = Callable[[Array, int, int, np.random.Generator], Array]
"""Sound as (frames, channels), frame, rate in Hz, chance; gives sound of that length with a fault at the frame."""

MOST_S, EXCERPT_S, PLACES, APART_S, EDGE_S = 120.0, 30, 6, 2.5, 1.0
LEAST_DBFS = -36.0
WITHIN_S = 0.015
ONE_CHANNEL = 0.25
"""Share of the faults that are in one channel alone."""
FIGURES = ("discontinuity_places_kinds", "discontinuity_places", "discontinuity_places_many")
GOAL_SHARE, GOAL_A_MINUTE = 0.9, 0.2
MUSIC = tuple(free_music.KINDS.values())
CHANGES = {8.0: "by less than 8 dB", 16.0: "by 8 to 16 dB", np.inf: "by 16 dB or more"}
ALL = "**all**"
Counts = dict[tuple[str, str], list[tuple[int, int]]]
"""By fault and kind of music: of each piece how many were found, or called by their kind, and of how many."""


def _gain(length_s: float, edge_s: float, depth_db: float) -> Plant:
    """Softer by *depth_db* for that long, the edges (straight lines) inside or outside of it in turn."""

    def plant(sound: Array, at: int, rate_hz: int, rng: np.random.Generator) -> Array:
        edge, length = round(edge_s * rate_hz), round(length_s * rate_hz)
        inside = length - 2 * edge if rng.random() < 0.5 else length
        low = 10 ** (-depth_db / 20)
        down = np.linspace(1, low, edge + 2)[1:-1]
        gain = np.concatenate([down, np.full(inside, low), down[::-1]])
        sound[at : at + len(gain)] *= gain[:, None]
        return sound

    return plant


def _repeated(frames: int, times: int = 1) -> Plant:
    """A buffer comes again in the place of the next one or several."""

    def plant(sound: Array, at: int, _rate_hz: int, _rng: np.random.Generator) -> Array:
        buffer = sound[at - frames : at].copy()
        sound[at : at + times * frames] = np.tile(buffer, (times, 1))
        return sound

    return plant


def _inserted(frames: int) -> Plant:
    """A buffer comes twice and all that follows is later."""

    def plant(sound: Array, at: int, _rate_hz: int, _rng: np.random.Generator) -> Array:
        sound[at:] = np.concatenate([sound[at - frames : at], sound[at:-frames]])
        return sound

    return plant


def _held(frames: int) -> Plant:
    """The last value stays."""

    def plant(sound: Array, at: int, _rate_hz: int, _rng: np.random.Generator) -> Array:
        sound[at : at + frames] = sound[at - 1]
        return sound

    return plant


def _lost(frames: int) -> Plant:
    def plant(sound: Array, at: int, _rate_hz: int, _rng: np.random.Generator) -> Array:
        sound[at:-frames] = sound[at + frames :].copy()
        sound[-frames:] = 0.0
        return sound

    return plant


def _spliced(sound: Array, at: int, rate_hz: int, rng: np.random.Generator) -> Array:
    """From there on another part of the piece, for two seconds; hard cuts."""
    most = len(sound) - 3 * rate_hz
    other = int(rng.integers(0, most))
    sound[at : at + 2 * rate_hz] = sound[other : other + 2 * rate_hz].copy()
    return sound


def _click(sound: Array, at: int, _rate_hz: int, rng: np.random.Generator) -> Array:
    sound[at : at + 2] += rng.choice([-1.0, 1.0]) * 0.25
    return sound


FAULTS: dict[str, tuple[Plant, str]] = {
    "gap of 5 ms, edges of 0.5 ms": (_gain(0.005, 0.0005, 200), "gap"),
    "gap of 20 ms, edges of 2 ms": (_gain(0.020, 0.002, 200), "gap"),
    "gap of 50 ms, edges of 5 ms": (_gain(0.050, 0.005, 200), "gap"),
    "gap of 100 ms, edges of 10 ms": (_gain(0.100, 0.010, 200), "gap"),
    "dip of 20 dB, 30 ms, edges of 1 ms": (_gain(0.030, 0.001, 20), "dip"),
    "dip of 20 dB, 30 ms, edges of 5 ms": (_gain(0.030, 0.005, 20), "dip"),
    "dip of 30 dB, 100 ms, edges of 5 ms": (_gain(0.100, 0.005, 30), "dip"),
    "dip of 12 dB, 60 ms, edges of 2 ms": (_gain(0.060, 0.002, 12), "dip"),
    "64 samples repeated": (_repeated(64), "repeated buffer"),
    "128 samples repeated": (_repeated(128), "repeated buffer"),
    "1024 samples repeated": (_repeated(1024), "repeated buffer"),
    "256 samples four times": (_repeated(256, 3), "repeated buffer"),
    "512 samples inserted again": (_inserted(512), "repeated buffer"),
    "one value held for 128 samples": (_held(128), "held buffer"),
    "one value held for 512 samples": (_held(512), "held buffer"),
    "64 frames lost": (_lost(64), "lost samples or a splice"),
    "500 frames lost": (_lost(500), "lost samples or a splice"),
    "another part of the piece for 2 s": (_spliced, "lost samples or a splice"),
    "click of two samples at -12 dBFS": (_click, "click"),
}
"""What is planted, and the kind it should be called."""


def read(path: Path) -> tuple[Array, int]:
    """The whole piece; of a long one its 4 minutes in the middle."""
    with soundfile.SoundFile(path) as file:
        most = 240 * file.samplerate
        if len(file) > most:
            file.seek((len(file) - most) // 2)
        return file.read(most, always_2d=True), file.samplerate


def excerpt(sound: Array, rate_hz: int) -> Array:
    """Half a minute in the middle."""
    most = EXCERPT_S * rate_hz
    first = max(0, (len(sound) - most) // 2)
    return sound[first : first + most]


def spots(sound: Array, rate_hz: int, rng: np.random.Generator) -> list[int]:
    """Frames apart from each other, where 20 ms around are loud."""
    chosen: list[int] = []
    edge, half = round(EDGE_S * rate_hz), rate_hz // 100
    for at in rng.integers(edge, len(sound) - 4 * edge, 400).tolist():
        loud = np.mean(sound[at - half : at + half] ** 2) > 10 ** (LEAST_DBFS / 10)
        if loud and all(abs(at - other) > APART_S * rate_hz for other in chosen):
            chosen.append(at)
        if len(chosen) == PLACES:
            break
    return sorted(chosen)


def stored(sound: Array, bits: int, rng: np.random.Generator) -> Array:
    """Rounded to that many bits; to 16 with dither."""
    steps = 2.0 ** (bits - 1)
    noise = rng.random(sound.shape) - rng.random(sound.shape) if bits == 16 else 0.0
    return np.asarray(np.rint(sound * steps + noise).clip(-steps, steps - 1) / steps)


def planted(clean: Array, rate_hz: int, fault: str, name: str, bits: int) -> tuple[Array, list[int]]:
    """The excerpt with that fault at up to six places."""
    rng = np.random.default_rng(zlib.crc32(f"{name}/{fault}".encode()))
    plant, _kind = FAULTS[fault]
    sound, at = clean.copy(), spots(clean, rate_hz, rng)
    for frame in at:
        made = plant(sound.copy(), frame, rate_hz, rng)
        alone = fault != "another part of the piece for 2 s" and rng.random() < ONE_CHANNEL
        if alone:
            side = int(rng.integers(0, sound.shape[1]))
            sound[:, side] = made[:, side]
        else:
            sound = made
    return stored(sound, bits, rng), at


class Reported(NamedTuple):
    """Places with their kinds, how many there are, and whether they are so many that they are called a style."""

    places: list[tuple[float, str]]
    count: int
    many: bool

    def near(self, frame: int, rate_hz: int) -> list[str]:
        """Kinds of the places at that frame."""
        return [kind for at_s, kind in self.places if abs(at_s - frame / rate_hz) < WITHIN_S]


def reported(sound: Array, rate_hz: int, bits: int) -> Reported:
    """What the list of all breaks has of (frames, channels)."""
    found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=FIGURES)
    places, count, many = (found.value(name) for name in FIGURES)
    return Reported(list(places or ()), int(count or 0), bool(many))


def changes_db(clean: Array, frame: int, rate_hz: int) -> float:
    """How far the level of 5 ms, of differences of samples, changes in the music from before a dip until behind it."""
    before, behind, part = (round(seconds * rate_hz) for seconds in (0.030, 0.065, 0.005))
    moves = np.diff(clean[frame - before : frame + behind].mean(axis=1))
    powers = np.mean(moves[: len(moves) // part * part].reshape(-1, part) ** 2, axis=1)
    return float(np.ptp(10 * np.log10(np.maximum(powers, 1e-12))))


def planted_rows(hits: Counts, named: Counts) -> Iterator[list[str]]:
    """Each fault: found in each kind of music, whether the goal is met in what was released, called by its kind."""
    for fault in (fault for fault in FAULTS if hits[fault, MUSIC[1]]):
        cells = [found(hits[fault, music]) for music in MUSIC]
        right, of = np.sum([one for music in MUSIC for one in named[fault, music]], axis=0)
        heard, planted = np.sum(hits[fault, MUSIC[1]], axis=0)
        goal = "met" if heard >= GOAL_SHARE * planted else "missed"
        yield [fault, *cells, goal, f"{right / max(of, 1):.0%}".replace("%", " %")]


def change_rows(by_change: Counts) -> Iterator[list[str]]:
    """Dips of 20 dB found in each kind of music, by how far its level changes there."""
    for label in CHANGES.values():
        yield [label, *(found(by_change[label, music]) for music in MUSIC)]


def false_rows(false: dict[str, list[tuple[Counter[str], float]]], many: Counter[str]) -> Iterator[list[str]]:
    """False places a minute in each kind of music, of every kind of place."""
    kinds = sorted({kind for pieces in false.values() for places, _ in pieces for kind in places})
    for kind in kinds:
        yield [kind, *(a_minute([(places[kind], minutes) for places, minutes in false[music]]) for music in MUSIC)]
    of = [(len(false[music]), sum(minutes for _, minutes in false[music])) for music in MUSIC]
    yield ["pieces and minutes", *(f"{pieces}; {minutes:.0f}" for pieces, minutes in of)]
    yield ["further pieces, of which it says “many”", *(f"{many[music]}" for music in MUSIC)]
    places = [sum(places[ALL] for places, _ in false[music]) for music in MUSIC]
    met = [count < GOAL_A_MINUTE * minutes for count, (_, minutes) in zip(places, of, strict=True)]
    yield [f"goal: under {GOAL_A_MINUTE} a minute", *("met" if one else "missed" for one in met)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where free_music was unpacked")
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--clean-only", action="store_true")
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    faults = [name for name in FAULTS if not given.only or any(word in name for word in given.only)]
    hits: Counts = defaultdict(list)
    named: Counts = defaultdict(list)
    by_change: Counts = defaultdict(list)
    false: dict[str, list[tuple[Counter[str], float]]] = defaultdict(list)
    many = Counter[str]()
    for number, piece in enumerate(free_music.pieces(given.folder, held_out=not given.tuning)):
        music = free_music.KINDS[piece.kind]
        sound, rate_hz = free_music.read(given.folder, piece, MOST_S)
        bits = 16 if number % 2 else 24
        alone = reported(stored(sound, bits, np.random.default_rng(number)), rate_hz, bits)
        many[music] += alone.many
        if not alone.many:
            of_piece = Counter(kind for _, kind in alone.places) + Counter({ALL: alone.count})
            false[music].append((of_piece, len(sound) / rate_hz / 60))
        print(f"{piece.name}:{' many' if alone.many else ''} {sorted(alone.places)}", flush=True)
        part, dips = excerpt(sound, rate_hz), defaultdict[str, list[bool]](list)
        for fault in () if given.clean_only else faults:
            faulty, frames = planted(part, rate_hz, fault, piece.name, bits)
            listed = reported(faulty, rate_hz, bits)
            near = [listed.near(frame, rate_hz) for frame in frames]
            heard = sum(map(bool, near))
            hits[fault, music].append((heard, len(near)))
            named[fault, music].append((sum(FAULTS[fault][1] in each for each in near), heard))
            for frame, each in zip(frames, near, strict=True) if "dip of 20 dB" in fault else ():
                change_db = changes_db(part, frame, rate_hz)
                label = next(label for most_db, label in CHANGES.items() if change_db < most_db)
                dips[label].append(bool(each))
        for label, heard_each in dips.items():
            by_change[label, music].append((sum(heard_each), len(heard_each)))
    tables = {"false-discontinuities": list(false_rows(false, many))}
    if not given.clean_only:
        tables["discontinuities"] = list(planted_rows(hits, named))
        tables["dips-by-change"] = list(change_rows(by_change))
    for name, table in tables.items():
        print(f"\n{name}")
        for row in table:
            print("| " + " | ".join(row) + " |")
        if given.record:
            record("detectors", name, table)


if __name__ == "__main__":
    main()
