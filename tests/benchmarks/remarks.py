"""Remarks on real pieces: needless and missed ones for each rule, and how many planted faults are found.

Run ``python -m tests.benchmarks.remarks --root FOLDER``; pytest does not collect it. FOLDER holds the packages named
in ``pieces.yaml``, unpacked by ``dpkg -x`` (default: /, for installed packages; repeat it for several); pieces that are
not there are counted. Whole pieces are judged. Faults are planted in the first 40 s of the pieces that were held out.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.facts import BLOCK_FRAMES
from delivery.intake import load_spec
from delivery.meters import measure_blocks
from delivery.model.finding import Answer
from delivery.rules import Scope, judge, rules
from tests.benchmarks.figures import record
from tests.meters.memory import cut
from tests.meters.memory import facts as sound_facts

Array = NDArray[np.float64]
PLANTED_S = 40
LIST = Path(__file__).with_name("pieces.yaml")
SPEC = Path(__file__).with_name("remarks-on-trial.yaml")
RULES = (
    "no_audible_cut",
    "fade_finished",
    "lead_in_s",
    "tail_s",
    "inner_silence_max_s",
    "dc_offset_max_percent",
    "not_inverted",
    "no_side_inverted",
    "not_nearly_mono",
    "true_stereo",
    "balance_max_db",
    "mono_loss_octave_max_db",
    "channel_delay_max",
    "zero_run_places_max",
    "dropout_places_max",
    "click_places_max",
    "jump_places_max",
    "discontinuity_places_max",
    "sibilant_spots_max",
    "hum_places_max",
)
"""On trial: those on sound that can be a matter of opinion. Peaks above a ceiling are a fact, and all of
these pieces are lossy."""
FIGURES = tuple(name for rule in RULES for name in rules()[rule].needs)


def pieces() -> Iterator[tuple[str, str, frozenset[str], frozenset[str]]]:
    from ruamel.yaml import YAML

    for package, files in YAML(typ="safe").load(LIST).items():
        for file, marks in files.items():
            expected, free = (frozenset(marks.get(key, ())) for key in ("tell", "may"))
            yield package, file, expected, free


def read(path: Path) -> tuple[Array, int]:
    sound, rate_hz = soundfile.read(path, always_2d=True)
    return sound, rate_hz


def reported(sound: Array, rate_hz: int) -> dict[str, str]:
    """Rules that are not met, and what was found by each."""
    spec = load_spec(SPEC)
    blocks = cut(sound, BLOCK_FRAMES)
    measured = measure_blocks(sound_facts(sound, rate_hz), blocks, only=FIGURES)
    found = judge(spec, measured.readings, scope=Scope.TRACK, track=1, waivers=())
    return {
        one.rule: f"{one.found} {' '.join(f'{at_s:.2f}' for at_s in one.at_s[:4])}".rstrip()
        for one in found
        if one.answer is Answer.NOT_MET and one.rule in RULES
    }


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
    """An offset of 1 %."""
    return sound * 0.9 + 0.01


def one_inverted(sound: Array, _rate_hz: int) -> Array:
    """One channel inverted."""
    return sound * [1.0, -1.0]


def dual_mono(sound: Array, _rate_hz: int) -> Array:
    """One channel twice, the second 0.2 dB softer, with dither of 16 bits."""
    left = sound[:, 0]
    return np.stack([left, left * 10 ** (-0.2 / 20) + _dither(sound)], axis=1)


def same_twice(sound: Array, _rate_hz: int) -> Array:
    """One channel copied to both."""
    return np.repeat(sound[:, :1], 2, axis=1)


def unbalanced(sound: Array, _rate_hz: int) -> Array:
    """The right channel 4 dB softer."""
    return sound * [1.0, 10 ** (-4 / 20)]


def late(sound: Array, rate_hz: int) -> Array:
    """The right channel half a millisecond late."""
    frames = round(0.0005 * rate_hz)
    right = np.concatenate([np.zeros(frames), sound[: len(sound) - frames, 1]])
    return np.stack([sound[:, 0], right], axis=1)


def wide(sound: Array, _rate_hz: int) -> Array:
    """The middle 12 dB softer: what is left in mono is little."""
    middle = sound.mean(axis=1, keepdims=True)
    return sound - middle + middle * 10 ** (-12 / 20)


def _loud_places(sound: Array, rate_hz: int) -> list[int]:
    """Three frames in loud sound, 5 s apart at least and away from the edges."""
    second = sound[: len(sound) // rate_hz * rate_hz].reshape(-1, rate_hz * sound.shape[1])
    levels = np.square(second).sum(axis=1)
    chosen: list[int] = []
    for at in np.argsort(-levels).tolist():
        if 2 <= at < len(second) - 2 and all(abs(at - other) >= 5 for other in chosen) and len(chosen) < 3:
            chosen.append(at)
    return [at * rate_hz + rate_hz // 2 for at in chosen]


def buffer_missed(sound: Array, rate_hz: int) -> Array:
    """Five milliseconds of zeros in three loud places."""
    out = sound.copy()
    for at in _loud_places(sound, rate_hz):
        out[at : at + rate_hz // 200] = 0.0
    return out


def clicked(sound: Array, rate_hz: int) -> Array:
    """A click of one sample at -6 dBFS in three places."""
    out = sound.copy()
    for at in _loud_places(sound, rate_hz):
        out[at] = 0.5
    return out


def frames_lost(sound: Array, rate_hz: int) -> Array:
    """64 frames cut out in three loud places."""
    kept = np.ones(len(sound), bool)
    for at in _loud_places(sound, rate_hz):
        kept[at : at + 64] = False
    return sound[kept]


def hissed(sound: Array, rate_hz: int) -> Array:
    """Three bursts of 0.15 s of noise from 5 to 10 kHz at -12 dBFS rms in both channels."""
    out, frames = sound * 0.5, round(0.15 * rate_hz)
    spectrum = np.fft.rfft(np.random.default_rng(2).standard_normal(frames))
    hz = np.fft.rfftfreq(frames, 1 / rate_hz)
    hiss = np.fft.irfft(np.where((hz > 5000) & (hz < 10_000), spectrum, 0), frames) * np.hanning(frames)
    hiss *= 10 ** (-12 / 20) / np.sqrt(np.mean(hiss**2))
    for at in _loud_places(sound, rate_hz):
        out[at : at + frames] += hiss[:, None]
    return out


PLANTED: tuple[tuple[Callable[[Array, int], Array], tuple[str, ...]], ...] = (
    (cut_at_both, ("no_audible_cut",)),
    (fade_stopped, ("fade_finished", "no_audible_cut")),
    (offset, ("dc_offset_max_percent",)),
    (one_inverted, ("no_side_inverted", "not_inverted")),
    (dual_mono, ("not_nearly_mono",)),
    (same_twice, ("true_stereo",)),
    (unbalanced, ("balance_max_db",)),
    (late, ("channel_delay_max",)),
    (wide, ("mono_loss_octave_max_db",)),
    (buffer_missed, ("zero_run_places_max",)),
    (clicked, ("click_places_max",)),
    (frames_lost, ("discontinuity_places_max",)),
    (hissed, ("sibilant_spots_max",)),
)
"""What is done to a piece, and the rules any of which finds it."""


class Counts:
    """What was reported and what was not, of one set of pieces."""

    def __init__(self, name: str) -> None:
        self.name, self.heard = name, 0
        self.right, self.needless, self.missed, self.hits = (
            Counter[str](),
            Counter[str](),
            Counter[str](),
            Counter[str](),
        )

    def piece(self, found: set[str], expected: frozenset[str], free: frozenset[str]) -> None:
        self.heard += 1
        self.right.update(found & expected)
        self.needless.update(found - expected - free)
        self.missed.update(expected - found)

    def tables(self, planted: bool) -> Iterator[str]:
        needless, missed = self.needless.total(), self.missed.total()
        yield f"\n{self.name}: {self.heard} pieces, {needless} needless remarks, {missed} missed"
        yield "\n| rule | right | needless | missed |\n|---|--:|--:|--:|"
        for rule in RULES:
            yield f"| {rule} | {self.right[rule]} | {self.needless[rule]} | {self.missed[rule]} |"
        if planted:
            yield f"\n| planted | found of {self.heard} |\n|---|--:|"
            yield from (f"| {plant.__name__} | {self.hits[plant.__name__]} |" for plant, _ in PLANTED)


def remark_rows(tuned: Counts, held_out: Counts) -> Iterator[list[str]]:
    """Rules with anything to count, then the number of the others."""
    quiet = 0
    for rule in RULES:
        counts = [each[rule] for set_ in (tuned, held_out) for each in (set_.right, set_.needless, set_.missed)]
        quiet += not any(counts)
        if any(counts):
            yield [rule, *map(str, counts)]
    yield [f"the other {quiet} rules on trial", *["0"] * 6]
    totals = [each.total() for set_ in (tuned, held_out) for each in (set_.right, set_.needless, set_.missed)]
    yield [f"**all**, of {tuned.heard} and {held_out.heard} pieces", *map(str, totals)]


def planted_rows(held_out: Counts) -> Iterator[list[str]]:
    for plant, _ in PLANTED:
        what = (plant.__doc__ or "").partition(".\n")[0].rstrip(".")
        yield [what[0].lower() + what[1:], str(held_out.hits[plant.__name__])]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--root", type=Path, default=[], action="append")
    parser.add_argument("--clean-only", action="store_true")
    parser.add_argument("--held-out-only", action="store_true")
    options = parser.parse_args()
    tuned, held_out, absent = Counts("Tuned on"), Counts("Held out"), Counter[str]()
    for package, file, expected, free in pieces():
        if options.held_out_only and package != "held_out":
            continue
        path = next((root / file for root in options.root or [Path("/")] if (root / file).exists()), None)
        if path is None:
            absent[package] += 1
            continue
        counts = held_out if package == "held_out" else tuned
        sound, rate_hz = read(path)
        found = reported(sound, rate_hz)
        counts.piece(set(found), expected, free)
        print(f"{path.name}: " + ("; ".join(f"{rule} {what}" for rule, what in found.items()) or "nothing"), flush=True)
        for plant, by in PLANTED if counts is held_out and not options.clean_only else ():
            excerpt = sound[: PLANTED_S * rate_hz]
            counts.hits[plant.__name__] += bool(set(reported(plant(excerpt, rate_hz), rate_hz)) & set(by))
    for package, count in absent.items():
        print(f"SKIPPED: {count} pieces of {package} were not found; see --root")
    for counts in (tuned, held_out):
        print("\n".join(counts.tables(planted=counts is held_out and not options.clean_only)))
    if not absent and not options.clean_only and not options.held_out_only:
        record("detectors", "remarks", list(remark_rows(tuned, held_out)))
        record("detectors", "planted-faults", list(planted_rows(held_out)))


if __name__ == "__main__":
    main()
