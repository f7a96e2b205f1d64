"""Faults and processing planted in free music, what the detectors make of them, and of the same music as it is.

Run ``python -m tests.benchmarks.detectors FOLDER`` after ``python -m tests.benchmarks.free_music FOLDER``, which
fetches the listed pieces; pytest does not collect it. The half that is held out is used, up to two minutes of each
piece; ``--tuning`` takes the other half, for choosing limits. Faults are planted in the first half minute of every
second piece, in the first ones of the list. ``--only clicks`` takes one detector. ``--by-code`` adds sounds made by
code. ``--record`` writes the tables of the guide. It takes some four minutes of processor time.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from tests.benchmarks import free_music
from tests.benchmarks.figures import record
from tests.benchmarks.intervals import a_minute, found
from tests.benchmarks.planted.material import synthetic
from tests.benchmarks.planted.trial import Detector, Material, Score, detectors

SEEDS, MOST_S, PLANTED_S = 1, 120.0, 30.0
EVERY, PLANTED = 2, 30
"""Faults are planted in every second piece: twelve modules, and released ones."""
PLACES = ("clicks", "jumps", "dropouts", "runs of zeros", "hum")
HISTORY = ("upsampled", "padded", "scaled", "undithered (weak)")
MUSIC = tuple(free_music.KINDS.values())
ODD = ("saw and square waves", "8-bit style", "breaks into silence", "glitchy on purpose")
PLAIN = "ten other kinds of sound by code"

Scores = dict[tuple[str, str], list[tuple[str, Score]]]
"""By detector and strength: the kind of material and the score of each piece."""
Alarms = dict[str, list[tuple[str, float, int | str]]]
"""By detector: the kind of each piece, its minutes, and false alarms or the detector's word."""


def materials(root: Path, held_out: bool, by_code: bool) -> Iterator[Material]:
    """Music first, then sounds by code, if wished."""
    for piece in free_music.pieces(root, held_out=held_out):
        sound, rate_hz = free_music.read(root, piece, MOST_S)
        yield Material(free_music.KINDS[piece.kind], piece.name, rate_hz, sound)
    if by_code:
        yield from synthetic(range(int(held_out), 2 * SEEDS, 2))


def planted_in(name: str, material: Material) -> bool:
    """Faults go into all music; processing only into music of which all earlier processing is known."""
    return material.kind in (MUSIC if name in PLACES else MUSIC[:1])


def hit_rows(
    chosen: dict[str, Detector], ids: Sequence[str], kinds: Sequence[str], scores: Scores
) -> Iterator[list[str]]:
    """What was planted, found in each of these kinds of music, and how many of all found were called what they are."""
    for detector in (chosen[name] for name in ids if name in chosen):
        for strength in detector.strengths:
            every = scores[detector.id, strength]
            cells = [found([(one.hit, one.planted) for of, one in every if of == kind]) for kind in kinds]
            hits, named = sum(one.hit for _, one in every), sum(one.named for _, one in every)
            label = detector.planted.format(strength)
            yield [label, *cells, f"{named / hits:.0%}".replace("%", " %") if hits else "-"]


def _group(kind: str) -> str:
    return kind if kind in (*MUSIC, *ODD) else PLAIN


def place_rows(alarms: Alarms) -> Iterator[list[str]]:
    """False places a minute in each kind of clean sound; hum in how many of the pieces."""
    for group in (*MUSIC, PLAIN, *ODD):
        cells = []
        for name in PLACES:
            of_group = [(minutes, what) for kind, minutes, what in alarms[name] if _group(kind) == group]
            listed = [(what, minutes) for minutes, what in of_group if isinstance(what, int)]
            many = len(of_group) - len(listed)
            rate = f"{sum(what for what, _ in listed)} of {len(listed)}" if name == "hum" else a_minute(listed)
            cells.append(f"{rate}; “many” in {many}" if many else rate)
        minutes = sum(minutes for minutes, _ in of_group)
        if of_group:
            yield [f"{group}: {len(of_group)} pieces, {minutes:.0f} minutes", *cells]


def sign_rows(alarms: Alarms) -> Iterator[list[str]]:
    """Files without such a history that a sign is reported of."""
    for name in HISTORY:
        for group in (*MUSIC, "sounds made by code"):
            of_group = [
                what for kind, _, what in alarms[name] if group == (kind if kind in MUSIC else "sounds made by code")
            ]
            if of_group:
                decided = [what for what in of_group if isinstance(what, int)]
                yield [
                    name,
                    group,
                    f"{len(of_group)}",
                    found([(what, 1) for what in decided]),
                    f"{len(of_group) - len(decided)}",
                ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where free_music was unpacked")
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--planted", type=int, default=PLANTED, help="pieces to plant in; 0 for false alarms alone")
    parser.add_argument("--by-code", action="store_true", help="false alarms in sounds made by code, too")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    chosen = {name: one for name, one in detectors().items() if not given.only or name in given.only}
    scores: Scores = defaultdict(list)
    alarms: Alarms = defaultdict(list)
    for number, material in enumerate(
        materials(given.folder, not given.tuning, given.by_code)
    ):  # one in memory at a time
        part = replace(material, sound=material.sound[: round(PLANTED_S * material.rate_hz)])
        for name, detector in chosen.items():
            false = detector.alarms(material)
            if false is not None:
                alarms[name].append((material.kind, material.minutes, false))
                if false:
                    print(f"{material.name}: {name} {false}", flush=True)
            planting = number % EVERY == 0 and number < EVERY * given.planted and planted_in(name, material)
            for strength in detector.strengths if planting else ():
                score = detector.plant(part, strength)
                if score is not None:
                    scores[name, strength].append((material.kind, score))
                    print(f"{material.name}: {name}, {strength}: {score}", flush=True)
    tables = {
        ("detectors", "planted-places"): list(hit_rows(chosen, PLACES, MUSIC, scores)),
        ("detectors", "false-places"): list(place_rows(alarms)),
        ("history", "found"): list(hit_rows(chosen, HISTORY, MUSIC[:1], scores)),
        ("history", "false-alarms"): list(sign_rows(alarms)),
    }
    for (page, block), table in tables.items():
        print(f"\n{page}, {block}")
        for row in table:
            print("| " + " | ".join(row) + " |")
        if given.record:
            record(page, block, table)


if __name__ == "__main__":
    main()
