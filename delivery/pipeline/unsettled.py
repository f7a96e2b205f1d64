"""Which requirements only the finished file can answer, because rate conversion, dither or an encoder decide. Pure.

A master's figures predict those of its files but for what each step moves them by. Where a limit lies within that
reach, the file is made for a trial.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from delivery.chain.plan import size_depends_on_sound
from delivery.meters import figures
from delivery.model.chain import Chain, StepKind
from delivery.model.figure import Measurement
from delivery.model.spec import Requirement, Spec
from delivery.pipeline.album import ALBUM_LOUDNESS
from delivery.rules import rules

PEAK_LIMITS: Mapping[str, str] = {"true_peak_max_dbtp": "true_peak_dbtp", "sample_peak_max_dbfs": "sample_peak_dbfs"}
"""Spec key -> the figure it limits."""
SIZE_LIMIT = "size_max_bytes"
SIZE_APART = 4.0
"""How many times larger or smaller than usual a coded file may be."""
CODER_DB = 6.0
"""More than encoders were found to add to a peak (README, --after-codec)."""
FLAT = ("none", "rpdf", "tpdf")
FLAT_STEPS, SHAPED_STEPS = 4, 64
"""Steps of the bit depth by which a peak may move: flat dither of two steps with its rounding, between samples too;
the steepest curve of noise shaping, whose errors add up to tens of steps."""
EXACT = frozenset(
    (
        *("container", "coding", "rate_hz", "bits", "channels", "frames", "duration_s", "riff_form", "extensible"),
        *("size_bytes", "effective_bits", "upsampled_from_hz", "broadcast_chunk", "loops", "adm_chunks"),
        *("nonfinite_samples", "dead_channels", "inverted_channels"),
    )
)
"""Figures that the plan knows, or that no conversion alters: which channels are dead or inverted stays so."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a figure may move, in its own unit.

    Where much of the sound lies in the treble, which converters and encoders take away, it may move farther.
    """

    rounding: float
    conversion: float
    encoding: float


REACHES: Mapping[str, Reach] = {
    "integrated_lufs": Reach(0.02, 0.3, 0.3),
    "momentary_max_lufs": Reach(0.02, 0.5, 1.0),
    "short_term_max_lufs": Reach(0.02, 0.3, 0.5),
    "loudness_range_lu": Reach(0.05, 0.5, 1.0),
    "programme_rms_dbfs": Reach(0.02, 0.3, 0.3),
    "noise_floor_dbfs": Reach(1.0, 3.0, 6.0),
}
"""Figure -> twice what steps were found to move it by in music and speech. Of any other nothing is known."""
TREBLE_HZ, TREBLE_SHARE = 12_000.0, 0.02
"""Music and speech have less than that share of their power above."""


def unsettled(spec: Spec, deliverable: Measurement, chain: Chain) -> tuple[str, ...]:
    """Spec keys of the requirements about which only the finished file can tell.

    Gain down to the ceiling is found by measuring what was made, so peaks are left to it.

    Parameters
    ----------
    deliverable : what the file is expected to measure
    """
    size = (SIZE_LIMIT,) if _size_is_close(spec, deliverable, chain) else ()
    if chain.same_samples:
        return size
    peaks = () if spec.conversions.gain == "down_to_ceiling" else _close_peaks(spec, deliverable, chain)
    return (*size, *peaks, *_close_figures(spec, deliverable, chain))


def album_unsettled(
    spec: Spec, expected_lufs: float | None, songs: Iterable[tuple[Measurement | None, Chain | None]]
) -> bool:
    """Whether only the finished files can tell if the album as one programme is as loud as a must wants it.

    Parameters
    ----------
    expected_lufs : of the whole album, with the gain that is planned
    songs : each master's figures and what is done to it
    """
    musts = [each for each in spec.requirements if each.rule == ALBUM_LOUDNESS and each.must]
    if expected_lufs is None:
        return False
    return any(
        _within_reach(requirement, ALBUM_LOUDNESS, expected_lufs, REACHES["integrated_lufs"], measured, chain)
        for requirement in musts
        for measured, chain in songs
        if measured and chain and not chain.same_samples
    )


def needed_figures(keys: tuple[str, ...]) -> frozenset[str]:
    """Names of the figures that answer these requirements."""
    asked = [rules()[key] for key in keys]
    return frozenset(name for rule in asked for name in (*rule.needs, *rule.aided, rule.at) if name in figures())


def inexact_figures(key: str) -> list[str]:
    """Figures that answer the requirement and can differ from what is expected of the file."""
    return [name for name in rules()[key].needs if name in figures() and name not in EXACT]


def _close_peaks(spec: Spec, deliverable: Measurement, chain: Chain) -> Iterator[str]:
    """Dither moves a peak by a few steps of the bit depth; an encoder by several decibels, which counts only against a
    must, for it takes a whole encoding to know.
    """
    encoded, reach = chain.step(StepKind.ENCODE) is not None, _dither_reach(chain)
    for each in spec.requirements:
        peak = deliverable.value(PEAK_LIMITS[each.rule]) if each.rule in PEAK_LIMITS else None
        if peak is None:
            continue
        apart = abs(10 ** (peak / 20) - 10 ** (each.limit / 20))
        if (each.must and peak > each.limit - CODER_DB) if encoded else apart <= reach:
            yield each.rule


def _close_figures(spec: Spec, deliverable: Measurement, chain: Chain) -> Iterator[str]:
    """Where an encoder raises peaks and gain takes them down again, by decibels, every level is open."""
    trimmed = spec.conversions.gain == "down_to_ceiling" and chain.step(StepKind.ENCODE) is not None
    for each in spec.requirements:
        if not each.must or each.rule in (*PEAK_LIMITS, SIZE_LIMIT):
            continue
        names = inexact_figures(each.rule)
        if (names and trimmed) or any(_is_close(each, name, deliverable, chain) for name in names):
            yield each.rule


def _is_close(requirement: Requirement, figure: str, deliverable: Measurement, chain: Chain) -> bool:
    value, reach = deliverable.value(figure), REACHES.get(figure)
    if value is None or reach is None:
        return reach is None
    return _within_reach(requirement, figure, value, reach, deliverable, chain)


def _within_reach(
    requirement: Requirement, figure: str, value: float, reach: Reach, sound: Measurement, chain: Chain
) -> bool:
    encoded, converted = chain.step(StepKind.ENCODE), chain.step(StepKind.RATE)
    if (encoded or converted) and _has_much_treble(sound):
        return True
    most = reach.encoding if encoded else reach.conversion if converted else reach.rounding
    return any(abs(value - bound.at) <= most for bound in requirement.bounds if bound.figure == figure)


def _has_much_treble(measured: Measurement) -> bool:
    bands = zip(measured.value("third_octave_hz") or (), measured.value("third_octave_db") or (), strict=True)
    powers = {hz: 10 ** (level_db / 10) for hz, level_db in bands}
    treble = sum(power for hz, power in powers.items() if hz > TREBLE_HZ)
    return not powers or treble > TREBLE_SHARE * sum(powers.values())


def _size_is_close(spec: Spec, deliverable: Measurement, chain: Chain) -> bool:
    """Whether a limit of the size lies where only the made file can tell: coded sound takes as much as it takes."""
    most_bytes = spec.limit(SIZE_LIMIT)
    if most_bytes is None or chain.step(StepKind.COPY) or not size_depends_on_sound(chain.target):
        return False
    expected_bytes = deliverable.value("size_bytes")
    return bool(expected_bytes / SIZE_APART < most_bytes < expected_bytes * SIZE_APART)


def _dither_reach(chain: Chain) -> float:
    """How far rounding and its noise can move a peak, full scale 1.0; nothing where samples are not rounded."""
    rounding = chain.step(StepKind.REQUANTISE)
    if rounding is None:
        return 0.0
    steps = FLAT_STEPS if rounding.settings["dither"] in FLAT else SHAPED_STEPS
    return steps * 2.0 ** (1 - int(rounding.settings["bits"]))
