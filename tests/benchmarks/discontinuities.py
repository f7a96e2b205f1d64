"""Gaps, dips, repeated and held buffers, jumps and clicks planted in real music: how many are found, and false places.

Run ``python -m tests.benchmarks.discontinuities --root FOLDER``; pytest does not collect it. The pieces are those of
``pieces.yaml`` (see ``remarks.py``): all but 'held_out' for tuning (``--tuning``), 'held_out' for the printed tables.
Faults are made by numpy alone, on the waveform; then the piece is rounded to 24 bits, every second one dithered to 16.
``--folder`` adds held-out pieces: for the guide those of 400 kB or more in the Debian packages ardentryst,
extremetuxracer-data and lincity-ng-data. ``--record`` writes the tables of the guide. Chance is seeded by piece and
fault, so every run plants the same.
"""

from __future__ import annotations

import argparse
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks.figures import record
from tests.benchmarks.remarks import pieces
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
Plant = Callable[[Array, int, int, np.random.Generator], Array]
"""Sound as (frames, channels), frame, rate in Hz, chance; gives sound of that length with a fault at the frame."""

EXCERPT_S, PLACES, APART_S, EDGE_S = 60, 8, 2.5, 1.0
LEAST_DBFS = -36.0
WITHIN_S = 0.015
ONE_CHANNEL = 0.25
"""Share of the faults that are in one channel alone."""
FIGURES = (
    "discontinuity_places",
    "discontinuity_places_at_s",
    "discontinuity_places_kinds",
)


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
    """The minute in the middle."""
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
    """The excerpt with that fault at up to eight places."""
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


def reported(sound: Array, rate_hz: int, bits: int) -> tuple[list[tuple[float, str]], int]:
    """Places with their kind, and how many there are."""
    found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=FIGURES)
    return list(found.value("discontinuity_places_kinds") or ()), int(found.value("discontinuity_places") or 0)


def material(roots: list[Path], held_out: bool, folders: Sequence[Path] = ()) -> Iterator[tuple[str, Path]]:
    """Package and path of every piece of that half; pieces in *folders* that are in no list are held out as well."""
    listed = {Path(file).name for _, file, _, _ in pieces()}
    if held_out:
        further = (path for folder in folders for path in sorted(folder.rglob("*.ogg")))
        yield from (("further", path) for path in further if path.name not in listed)
    for package, file, _expected, _free in pieces():
        path = next((root / file for root in roots if (root / file).exists()), None)
        if path is not None and (package == "held_out") is held_out:
            yield package, path


def _rows(hits: Counter[str], named: Counter[str], count: Counter[str]) -> Iterator[tuple[str, ...]]:
    for fault in FAULTS:
        if count[fault]:
            share, right = hits[fault] / count[fault], named[fault] / max(hits[fault], 1)
            yield fault, f"{count[fault]}", f"{share:.0%}".replace("%", " %"), f"{right:.0%}".replace("%", " %")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--root", type=Path, default=[], action="append")
    parser.add_argument("--folder", type=Path, default=[], action="append", help="further pieces, held out")
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--clean-only", action="store_true")
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    hits, named, count = Counter[str](), Counter[str](), Counter[str]()
    false, minutes = Counter[str](), 0.0
    for number, (_package, path) in enumerate(material(given.root or [Path("/")], not given.tuning, given.folder)):
        sound, rate_hz = read(path)
        bits = 16 if number % 2 else 24
        clean = stored(sound, bits, np.random.default_rng(number))
        places, every = reported(clean, rate_hz, bits)
        minutes += len(sound) / rate_hz / 60
        false.update(kind for _, kind in places)
        false["**all**"] += every
        print(f"{path.name}: {[(round(at, 3), kind) for at, kind in sorted(places)]}", flush=True)
        part = excerpt(sound, rate_hz)
        for fault, (_plant, kind) in {} if given.clean_only else FAULTS.items():
            if given.only and not any(word in fault for word in given.only):
                continue
            faulty, at = planted(part, rate_hz, fault, path.name, bits)
            found, _ = reported(faulty, rate_hz, bits)
            for frame in at:
                near = [one for when, one in found if abs(when - frame / rate_hz) < WITHIN_S]
                count[fault] += 1
                hits[fault] += bool(near)
                named[fault] += kind in near
    hit_rows = list(_rows(hits, named, count))
    rates = [(kind, f"{number}", f"{number / minutes:.2f}") for kind, number in sorted(false.items())]
    print(f"\n{minutes:.1f} minutes of clean music\n")
    for row in (*hit_rows, *rates):
        print("| " + " | ".join(row) + " |")
    if given.record:
        record("detectors", "discontinuities", hit_rows)
        record("detectors", "false-discontinuities", rates)


if __name__ == "__main__":
    main()
