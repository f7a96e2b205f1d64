"""Remarks on joins where songs continue without a gap: a step in level, or masters of different rates."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from delivery.chain.joined import continues_by, looks_around
from delivery.model.album import Cut, Join
from delivery.model.part import Delivery, Part, Source
from delivery.model.spec import Spec
from delivery.pipeline.judge_part import gain_db
from delivery.report.view import words


def with_joins(judged: Delivery) -> Delivery:
    """Add remarks on joins, from the final gains."""
    return replace(judged, remarks=(*judged.remarks, *_at_joins(judged)))


def _at_joins(delivery: Delivery) -> tuple[str, ...]:
    """A sentence for each join of song files at which level or conversion is not continuous, with its specs.

    For a check from the plan, for a build from the files made. Discs and sides take no gain, and a rule of their own
    compares their masters.
    """
    titles: dict[str, list[str]] = {}
    for spec in delivery.specs:
        if spec.carrier is None:
            for remark in _of_spec(delivery.for_spec(spec.id), spec, words.numbers(delivery.release)):
                titles.setdefault(remark, []).append(spec.title)
    return tuple(f"{remark} [{', '.join(specs)}]" for remark, specs in titles.items())


def _of_spec(own: Delivery, spec: Spec, numbers: dict[int | None, str]) -> Iterator[str]:
    parts = {part.track: part for part in own.of_spec(spec.id)}
    for join in own.joins:
        before, after = parts[join.before], parts[join.after]
        named = numbers[join.before], numbers[join.after]
        if continues_by(join):
            yield from _level(before, after, named)
        yield from _apart(own, join, (before, after), named)


def _level(before: Part, after: Part, named: tuple[str, str]) -> Iterator[str]:
    first_db, second_db = (round(gain_db(part), 2) for part in (before, after))
    if first_db != second_db:
        yield (
            f"tracks {named[0]} and {named[1]} continue without a gap, and the level steps by "
            f"{second_db - first_db:+.2f} dB there (gain {first_db:+.2f} and {second_db:+.2f} dB). gain_scope: album "
            "gives both the same gain."
        )


def _apart(own: Delivery, join: Join, parts: tuple[Part, Part], named: tuple[str, str]) -> Iterator[str]:
    """Joins between masters of different form, which cannot be converted as one stream."""
    forms = [_form(own.source(position)) for position in (join.before, join.after)]
    converted = any(looks_around(step) for part in parts if part.chain for step in part.chain.steps)
    unsure = join.gap_s is None and join.cut is Cut.UNKNOWN
    if "" in forms or forms[0] == forms[1] or not converted or not (continues_by(join) or unsure):
        return
    if join.after in parts[0].lenders or join.before in parts[1].lenders:
        yield (
            f"tracks {named[0]} and {named[1]} continue without a gap, and their masters differ ({forms[0]} and "
            f"{forms[1]}): each is converted beside the other, and the two meet to within half a sample of time. "
            "Renders at one sample rate are converted in one piece, exactly."
        )
        return
    continue_ = "no gap is stated, and both have sound at the cut" if unsure else "they continue without a gap"
    yield (
        f"tracks {named[0]} and {named[1]} are converted separately, because their masters differ ({forms[0]} and "
        f"{forms[1]}); {continue_}, so the join may click. Renders at one sample rate are converted in one piece"
        f"{'; state gap_before_s where there is a gap.' if unsure else '.'}"
    )


def _form(source: Source) -> str:
    """'44.1 kHz', '48 kHz, 1 channel'; empty where the master could not be measured."""
    if source.measurement is None:
        return ""
    channels = source.measurement.value("channels")
    remark = words.kilohertz(source.measurement.value("rate_hz"))
    return remark if channels == 2 else f"{remark}, {words.counted(channels, 'channel')}"
