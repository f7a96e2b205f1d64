"""Remarks on real pieces: needless and missed ones for each rule, and how many planted faults are found.

Run ``python -m tests.benchmarks.remarks --root FOLDER``; pytest does not collect it. FOLDER holds the packages named
in ``pieces.yaml``, unpacked by ``dpkg -x`` (default: /, for installed packages); pieces that are not there are named.
The first and last 20 s of each piece are judged, one behind the other: edges are the file's own.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.intake import load_spec
from delivery.meters import measure_blocks
from delivery.model.finding import Answer
from delivery.rules import Scope, judge
from tests.meters.memory import facts as sound_facts

Array = NDArray[np.float64]
EACH_S = 20
LIST = Path(__file__).with_name("pieces.yaml")
RULES = (
    "no_audible_cut",
    "fade_finished",
    "lead_in_s",
    "dc_offset_max_percent",
    "not_inverted",
    "no_side_inverted",
    "not_nearly_mono",
    "true_stereo",
)
FIGURES = (
    *("starts_cut", "fade_unfinished", "lead_in_s", "dc_offset_percent", "inverted_channels", "one_side_inverted"),
    *("channels", "nearly_mono"),
)


def pieces(root: Path) -> Iterator[tuple[str, Path, frozenset[str], frozenset[str]]]:
    from ruamel.yaml import YAML

    for package, files in YAML(typ="safe").load(LIST).items():
        for file, says in files.items():
            told, free = (frozenset(says.get(key, ())) for key in ("tell", "may"))
            yield package, root / file, told, free


def read(path: Path) -> tuple[Array, int]:
    """The first and last 20 s, or the whole of a shorter piece."""
    with soundfile.SoundFile(path) as file:
        frames = EACH_S * file.samplerate
        if len(file) <= 2 * frames:
            return file.read(always_2d=True), file.samplerate
        head = file.read(frames, always_2d=True)
        file.seek(len(file) - frames)
        return np.concatenate([head, file.read(frames, always_2d=True)]), file.samplerate


def reported(sound: Array, rate_hz: int) -> set[str]:
    """Rules that are not met."""
    spec = load_spec("store-base")
    measured = measure_blocks(sound_facts(sound, rate_hz), [sound], only=FIGURES)
    found = judge(spec, measured.readings, scope=Scope.TRACK, track=1, waivers=())
    return {one.rule for one in found if one.answer is Answer.NOT_MET and one.rule in RULES}


def _dither(sound: Array) -> Array:
    return np.asarray(np.random.default_rng(1).triangular(-1, 0, 1, len(sound)) / 32_768)


def cut_at_both(sound: Array, rate_hz: int) -> Array:
    """Five seconds off each edge, wherever that falls."""
    return sound[5 * rate_hz : -5 * rate_hz]


def fade_stopped(sound: Array, rate_hz: int) -> Array:
    """A fade of two seconds that stops at -45 dB."""
    fade = np.ones(len(sound))
    fade[-2 * rate_hz :] = 10 ** (np.linspace(0, -45, 2 * rate_hz) / 20)
    return sound[: -5 * rate_hz] * fade[5 * rate_hz :, None]


def offset(sound: Array, _rate_hz: int) -> Array:
    return sound * 0.9 + 0.01


def one_inverted(sound: Array, _rate_hz: int) -> Array:
    return sound * [1.0, -1.0]


def dual_mono(sound: Array, _rate_hz: int) -> Array:
    """One channel twice, the second 0.2 dB softer, with dither of 16 bits."""
    left = sound[:, 0]
    return np.stack([left, left * 10 ** (-0.2 / 20) + _dither(sound)], axis=1)


def same_twice(sound: Array, _rate_hz: int) -> Array:
    return np.repeat(sound[:, :1], 2, axis=1)


PLANTED: tuple[tuple[Callable[[Array, int], Array], tuple[str, ...]], ...] = (
    (cut_at_both, ("no_audible_cut",)),
    (fade_stopped, ("fade_finished", "no_audible_cut")),
    (offset, ("dc_offset_max_percent",)),
    (one_inverted, ("no_side_inverted", "not_inverted")),
    (dual_mono, ("not_nearly_mono",)),
    (same_twice, ("true_stereo",)),
)
"""What is done to a piece, and the rules any of which finds it."""


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--root", type=Path, default=Path("/"))
    asked.add_argument("--clean-only", action="store_true")
    options = asked.parse_args()
    needless, missed, right, hits = Counter[str](), Counter[str](), Counter[str](), Counter[str]()
    heard, absent = 0, Counter[str]()
    for package, path, told, free in pieces(options.root):
        if not path.exists():
            absent[package] += 1
            continue
        sound, rate_hz = read(path)
        found = reported(sound, rate_hz)
        heard += 1
        needless.update(found - told - free)
        missed.update(told - found)
        right.update(found & told)
        print(f"{path.name}: {', '.join(sorted(found)) or 'nothing'}", flush=True)
        for plant, by in () if options.clean_only else PLANTED:
            hits[plant.__name__] += bool(reported(plant(sound, rate_hz), rate_hz) & set(by))
    for package, count in absent.items():
        print(f"SKIPPED: {count} pieces of {package} are not in {options.root}; see --root")
    print(f"\n| rule | right | needless | missed |  ({heard} pieces)\n|---|--:|--:|--:|")
    for rule in RULES:
        print(f"| {rule} | {right[rule]} | {needless[rule]} | {missed[rule]} |")
    if not options.clean_only:
        print(f"\n| planted | found of {heard} |\n|---|--:|")
        for plant, _ in PLANTED:
            print(f"| {plant.__name__} | {hits[plant.__name__]} |")


if __name__ == "__main__":
    main()
