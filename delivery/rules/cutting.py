"""What a cutting room states about a record: treble, side level, phase, and the motion of the stylus."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from delivery.model.finding import NotMet, Weight
from delivery.rules.integrity import one_channel
from delivery.rules.limits import LONGEST_S, LOWEST_DBFS, number
from delivery.rules.rule import rule
from delivery.rules.stereo import hertz
from delivery.rules.words import DBFS, SECONDS, Unit, at_most, listed

OCTAVES_HZ = (31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16_000)
CM_S, G = Unit("cm/s", 0), Unit("g", 0)
DIRECTIONS = ("lateral", "vertical")
SOURCE = "common practice at cutting rooms, no source: the limit is the room's own"
CURVE = "recording curve: IEC 60098, from memory; the limit is the cutting system's own"
ASK = "ask the cutting engineer; a softer take of that"

treble_wanted = at_most(DBFS)


def up_to(name: str, unit: Unit, **bounds: float) -> dict[str, Any]:
    """JSON Schema of a limit for every octave up to one."""
    return {
        "type": "object",
        "description": f"up_to_hz, the highest octave it holds for, and the limit ({name}) in {unit.name}",
        "properties": {
            "up_to_hz": {"enum": list(OCTAVES_HZ), "description": "Hz"},
            name: number(unit, **bounds),
        },
        "required": ["up_to_hz", name],
        "additionalProperties": False,
    }


def motion(unit: Unit) -> dict[str, Any]:
    """JSON Schema of limits for both directions, at the level that the cutting room states."""
    largest = number(unit, minimum=0)
    return {
        "type": "object",
        "description": "the level of 1 kHz that cuts 7.07 cm/s (reference_dbfs); the highest lateral, vertical or both",
        "properties": {"reference_dbfs": number(DBFS, minimum=LOWEST_DBFS, maximum=0)}
        | dict.fromkeys(DIRECTIONS, largest),
        "required": ["reference_dbfs"],
        "anyOf": [{"required": [direction]} for direction in DIRECTIONS],
        "additionalProperties": False,
    }


def side_wanted(limit: Mapping[str, float]) -> str:
    """The highest side level, as the requirement states it."""
    return f"at most {DBFS.exact(limit['at_most_dbfs'])} in octaves up to {hertz(limit['up_to_hz'])}"


def phase_wanted(limit: Mapping[str, float]) -> str:
    """The longest time out of phase, as the requirement states it."""
    return f"at most {SECONDS.exact(limit['at_most_s'])} out of phase in octaves up to {hertz(limit['up_to_hz'])}"


def velocity_wanted(limit: Mapping[str, float]) -> str:
    """The highest velocities, as the requirement states them."""
    return _motion_wanted(limit, CM_S)


def acceleration_wanted(limit: Mapping[str, float]) -> str:
    """The highest accelerations, as the requirement states them."""
    return _motion_wanted(limit, G)


def _motion_wanted(limit: Mapping[str, float], unit: Unit) -> str:
    each = (f"{unit.exact(limit[direction])} {direction}" for direction in DIRECTIONS if direction in limit)
    return f"at most {listed(each)} if 1 kHz at {DBFS.exact(limit['reference_dbfs'])} cuts 7.07 cm/s"


@rule(
    id="treble_peak_max_dbfs",
    limit=number(DBFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("treble_peak_dbfs",),
    weight=Weight.FACT,
    source=f"5 to 16 kHz, what 99 of 100 windows stay under; {SOURCE}",
    sentence="from 5 to 16 kHz the level at peaks is {limit}",
    value_text=DBFS,
    limit_text=treble_wanted,
)
def treble_peak(treble_peak_dbfs: float, limit: float) -> Iterator[NotMet]:
    """The treble is not louder at its peaks than the cutting head and the inner grooves bear."""
    if treble_peak_dbfs > limit:
        yield NotMet(DBFS.beside(treble_peak_dbfs, limit), treble_wanted(limit), ASK)


@rule(
    id="side_level_max",
    limit=up_to("at_most_dbfs", DBFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("side_hz", "side_max_dbfs", "side_max_starts_s"),
    weight=Weight.FACT,
    source=f"highest level of left less right in any stretch of time, by octave; {SOURCE}",
    sentence="the side level is {limit}",
    limit_text=side_wanted,
    aside=one_channel,
)
def side_level(
    side_hz: Sequence[float],
    side_max_dbfs: Sequence[float],
    side_max_starts_s: Sequence[float],
    limit: Mapping[str, float],
) -> Iterator[NotMet]:
    """The side, which moves the stylus up and down, is not louder than the cutting room states, octave by octave."""
    rows = zip(side_hz, side_max_dbfs, side_max_starts_s, strict=True)
    over = [row for row in rows if row[0] <= limit["up_to_hz"] and row[1] > limit["at_most_dbfs"]]
    if over:
        hz, dbfs, at_s = max(over, key=lambda row: row[1])
        found = f"{DBFS.beside(dbfs, limit['at_most_dbfs'])} at {hertz(hz)}{_also(over)}"
        yield NotMet(found, side_wanted(limit), "ask the cutting engineer; less width there", at_s=(at_s,))


@rule(
    id="out_of_phase_max",
    limit=up_to("at_most_s", SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("side_hz", "out_of_phase_s"),
    weight=Weight.FACT,
    source=f"time with a correlation below zero, by octave; {SOURCE}",
    sentence="left and right are {limit}",
    limit_text=phase_wanted,
    aside=one_channel,
)
def out_of_phase(
    side_hz: Sequence[float], out_of_phase_s: Sequence[float], limit: Mapping[str, float]
) -> Iterator[NotMet]:
    """Left and right are not out of phase for longer than the cutting room states, octave by octave."""
    rows = zip(side_hz, out_of_phase_s, strict=True)
    over = [row for row in rows if row[0] <= limit["up_to_hz"] and row[1] > limit["at_most_s"]]
    if over:
        hz, time_s = max(over, key=lambda row: row[1])
        found = f"{SECONDS.beside(time_s, limit['at_most_s'])} at {hertz(hz)}{_also(over)}"
        yield NotMet(found, phase_wanted(limit), "ask the cutting engineer; less out of phase there")


def _also(over: Sequence[tuple[float, ...]]) -> str:
    return f" (too much at {listed(hertz(row[0]) for row in over)})" if len(over) > 1 else ""


@rule(
    id="stylus_velocity_max",
    limit=motion(CM_S),
    needs=("cutting_reference_dbfs", "lateral_velocity_peak_cm_s", "vertical_velocity_peak_cm_s"),
    weight=Weight.FACT,
    source=CURVE,
    sentence="the stylus moves at {limit}",
    limit_text=velocity_wanted,
)
def stylus_velocity(
    cutting_reference_dbfs: float, lateral: float, vertical: float, limit: Mapping[str, float]
) -> Iterator[NotMet]:
    """The stylus does not move faster than the cutting room states, if the record is cut at its reference level."""
    yield from _over((lateral, vertical), cutting_reference_dbfs, limit, CM_S)


@rule(
    id="stylus_acceleration_max",
    limit=motion(G),
    needs=("cutting_reference_dbfs", "lateral_acceleration_peak_g", "vertical_acceleration_peak_g"),
    weight=Weight.FACT,
    source=CURVE,
    sentence="the stylus is accelerated by {limit}",
    limit_text=acceleration_wanted,
)
def stylus_acceleration(
    cutting_reference_dbfs: float, lateral: float, vertical: float, limit: Mapping[str, float]
) -> Iterator[NotMet]:
    """The stylus is not accelerated harder than the cutting room states, if the record is cut at its level."""
    yield from _over((lateral, vertical), cutting_reference_dbfs, limit, G)


def _over(
    peaks: tuple[float, float], reference_dbfs: float, limit: Mapping[str, float], unit: Unit
) -> Iterator[NotMet]:
    """Peaks are in proportion to the level that is cut."""
    factor = 10 ** ((reference_dbfs - limit["reference_dbfs"]) / 20)
    found = [
        f"{unit.beside(factor * peak, limit[direction])} {direction}"
        for direction, peak in zip(DIRECTIONS, peaks, strict=True)
        if direction in limit and factor * peak > limit[direction]
    ]
    if found:
        yield NotMet(listed(found), _motion_wanted(limit, unit), "ask the cutting engineer; a lower cut")
