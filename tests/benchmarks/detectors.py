"""Faults planted at known places, and what the detectors make of them and of clean sound.

Run ``python -m tests.benchmarks.detectors``; pytest does not collect it. Thresholds are tuned on the even seeds and
files (``--tuning``); the others are printed. ``--folder`` adds real lossless material: WAV, AIFF or FLAC, its folders
named by kind ('tracker music'). ``--only clicks`` requires one detector, ``--alarms-only`` plants nothing.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.planted.material import real, synthetic
from tests.benchmarks.planted.trial import Alarms, Detector, Material, Score, detectors, false_alarms, hits, rows

SEEDS = 6


def materials(half: int, seeds: int, folders: list[Path]) -> Iterator[Material]:
    yield from synthetic(range(half, 2 * seeds, 2))
    for folder in folders:
        yield from real(folder, half)


def hit_rows(detector: Detector, scores: dict[str, Score]) -> Iterator[tuple[str, ...]]:
    for strength, score in scores.items():
        shown = f"{score.hit / score.planted:.1%}" if score.planted else "-"
        named = f"{score.named / score.hit:.0%}" if score.hit else "-"
        yield detector.id, strength, f"{score.planted}", shown, named


def alarm_rows(detector: Detector, kinds: dict[str, Alarms]) -> Iterator[tuple[str, ...]]:
    total = Alarms()
    for kind, alarms in kinds.items():
        yield detector.id, kind, *_reported(detector, alarms)
        total += alarms
    yield detector.id, "**all**", *_reported(detector, total)


def _reported(detector: Detector, alarms: Alarms) -> tuple[str, ...]:
    listed = alarms.files - alarms.declined
    if detector.per_minute:
        rate = f"{alarms.false / alarms.minutes:.2f} a minute"
    else:
        rate = f"{alarms.suspected / listed:.1%} of files" if listed else "-"
    word = f"{alarms.declined} ({alarms.word})" if alarms.declined else "0"
    return f"{alarms.files}", f"{alarms.minutes:.1f}", f"{alarms.false}", rate, word


HIT_HEAD = ("detector", "planted", "how many", "found", "called what it is")
ALARM_HEAD = ("detector", "clean material", "files", "minutes", "false", "rate", "declined")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, action="append", default=[])
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--seeds", type=int, default=SEEDS)
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--alarms-only", action="store_true", help="plant nothing")
    given = parser.parse_args()
    chosen = {name: one for name, one in detectors().items() if not given.only or name in given.only}
    found: dict[str, dict[str, Score]] = {name: {} for name in chosen}
    alarms: dict[str, dict[str, Alarms]] = {name: {} for name in chosen}
    for material in materials(0 if given.tuning else 1, given.seeds, given.folder):  # one in memory at a time
        for name, detector in chosen.items():
            planted = {} if given.alarms_only else hits(detector, [material])
            for strength, score in planted.items():
                found[name][strength] = found[name].get(strength, Score()) + score
            for kind, more in false_alarms(detector, [material]).items():
                alarms[name][kind] = alarms[name].get(kind, Alarms()) + more
    shown = [row for name, detector in chosen.items() for row in hit_rows(detector, found[name])]
    print("\n".join(rows([HIT_HEAD, *shown])), end="\n\n")
    shown = [row for name, detector in chosen.items() for row in alarm_rows(detector, alarms[name])]
    print("\n".join(rows([ALARM_HEAD, *shown])))


if __name__ == "__main__":
    main()
