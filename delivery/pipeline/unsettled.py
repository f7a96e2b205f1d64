"""Which requirements only the finished file can answer, because rate conversion, dither or an encoder decides. Pure.

A master's figures predict those of its files up to the change made by each step. If a limit lies within that reach, a
trial file is made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from delivery.chain.prediction import size_depends_on_sound
from delivery.meters import figures
from delivery.model.album import ALBUM_LOUDNESS
from delivery.model.chain import Chain, StepKind
from delivery.model.figure import Measurement
from delivery.model.spec import Requirement, Spec
from delivery.rules import rules

PEAK_LIMITS: Mapping[str, str] = {"true_peak_max_dbtp": "true_peak_dbtp", "sample_peak_max_dbfs": "sample_peak_dbfs"}
"""Spec key -> the figure it limits."""
SIZE_LIMIT = "size_max_bytes"
SIZE_APART = 4.0
"""How many times larger or smaller than predicted a coded file may be."""
CODER_DB = 6.0
"""More than encoders were found to add to a peak (README, --after-codec)."""
FLAT = ("none", "rpdf", "tpdf")
FLAT_STEPS, SHAPED_STEPS = 4, 64
"""Steps of the bit depth by which a peak may move: flat dither of two steps with its rounding, between samples too; the
steepest noise-shaping curve, whose errors add up to tens of steps."""
EXACT = frozenset(
    (
        *("container", "coding", "rate_hz", "bits", "channels", "frames", "duration_s", "riff_form", "extensible"),
        *("size_bytes", "effective_bits", "upsampled_from_hz", "broadcast_chunk", "loops", "adm_chunks"),
        *("nonfinite_samples", "dead_channels", "inverted_channels"),
    )
)
"""Figures known from the plan or unchanged by any conversion: a dead or inverted channel stays so."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a figure may move, in its own unit.

    Audio with much treble, which converters and encoders remove, may move farther.
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
"""Figure -> twice the change that steps were found to cause in music and speech. Any other figure is unknown."""
TREBLE_HZ, TREBLE_SHARE = 12_000.0, 0.02
"""Music and speech have less than this share of their power above."""


def unsettled(spec: Spec, deliverable: Measurement, chain: Chain) -> tuple[str, ...]:
    """Spec keys of the requirements that only the finished file can answer.

    Peaks are left out: gain down to the ceiling is found by measuring the file made.

    Parameters
    ----------
    deliverable : with the predicted figures of the file
    """
    size = (SIZE_LIMIT,) if _size_is_close(spec, deliverable, chain) else ()
    if chain.same_samples:
        return size
    peaks = () if spec.conversions.gain == "down_to_ceiling" else _close_peaks(spec, deliverable, chain)
    return (*size, *peaks, *_close_figures(spec, deliverable, chain))


def album_unsettled(
    spec: Spec, expected_lufs: float | None, songs: Iterable[tuple[Measurement | None, Chain | None]]
) -> bool:
    """True if only the finished files can answer whether the album's loudness meets a must.

    Parameters
    ----------
    expected_lufs : of the whole album, with the planned gain
    songs : each master's figures and chain
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
    required = [rules()[key] for key in keys]
    return frozenset(name for rule in required for name in (*rule.needs, *rule.aided, rule.at) if name in figures())


def inexact_figures(key: str) -> list[str]:
    """Figures that answer the requirement and may differ from the prediction."""
    return [name for name in rules()[key].needs if name in figures() and name not in EXACT]


def _close_peaks(spec: Spec, deliverable: Measurement, chain: Chain) -> Iterator[str]:
    """Keys of peak limits that are close. Dither moves a peak by a few steps; an encoder by decibels, considered only
    for a must, because it takes a whole encode to find out."""
    encoded, reach = chain.step(StepKind.ENCODE) is not None, _dither_reach(chain)
    for each in spec.requirements:
        peak = deliverable.value(PEAK_LIMITS[each.rule]) if each.rule in PEAK_LIMITS else None
        if peak is None:
            continue
        apart = abs(10 ** (peak / 20) - 10 ** (each.limit / 20))
        if (each.must and peak > each.limit - CODER_DB) if encoded else apart <= reach:
            yield each.rule


def _close_figures(spec: Spec, deliverable: Measurement, chain: Chain) -> Iterator[str]:
    """Keys of other limits that are close. If an encoder raises peaks and gain lowers them again, any level is
    possible."""
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
    """True if the file size can be known only from the made file: the size of coded audio depends on the content."""
    most_bytes = spec.limit(SIZE_LIMIT)
    if most_bytes is None or chain.step(StepKind.COPY) or not size_depends_on_sound(chain.target):
        return False
    expected_bytes = deliverable.value("size_bytes")
    return bool(expected_bytes / SIZE_APART < most_bytes < expected_bytes * SIZE_APART)


def _dither_reach(chain: Chain) -> float:
    """How far rounding and its dither can move a peak, full scale 1.0; 0 if samples are not rounded."""
    rounding = chain.step(StepKind.REQUANTISE)
    if rounding is None:
        return 0.0
    steps = FLAT_STEPS if rounding.settings["dither"] in FLAT else SHAPED_STEPS
    return steps * 2.0 ** (1 - int(rounding.settings["bits"]))
