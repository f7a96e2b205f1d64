"""Velocity and acceleration of a cutting stylus, for specs that require them: they take a pass of their own."""

from __future__ import annotations

import functools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from delivery.ledger.cache import MeasurementCache
from delivery.meters import measure_only, meters_version
from delivery.model.figure import Measurement
from delivery.model.source import Source
from delivery.model.spec import Spec
from delivery.pipeline.sources import Progress, side_by_side
from delivery.rules import rules


@functools.cache
def names() -> frozenset[str]:
    """Figures of the meter that runs on request."""
    from delivery.meters.cutting import Cutting

    return frozenset(figure.name for figure in Cutting.gives)


def required(specs: Collection[Spec]) -> bool:
    """True if a requirement needs any of these figures."""
    return any(names() & set(rules()[each.rule].needs) for spec in specs for each in spec.requirements)


def of_sources(
    sources: Sequence[Source],
    specs: Collection[Spec],
    cache: MeasurementCache | None,
    workers: int,
    progress: Progress,
) -> tuple[Source, ...]:
    """The *sources*, with these figures where a spec requires them."""
    if not required(specs):
        return tuple(sources)
    return tuple(side_by_side(lambda source: _of_source(source, cache), sources, workers, "cutting", progress))


def _of_source(source: Source, cache: MeasurementCache | None) -> Source:
    """A mono master copied to both channels moves the stylus as it does alone."""
    if source.measurement is None:
        return source
    version = f"{meters_version()}, cutting"
    found = cache.get(source.sha256, version) if cache else None
    if found is None:
        found = _only_these(source.track.file)
        if cache:
            cache.put(source.sha256, version, found)
    doubled = source.doubled.with_readings(found) if source.doubled else None
    return replace(source, measurement=source.measurement.with_readings(found), doubled=doubled)


def of_file(file: Path, measurement: Measurement, spec: Spec) -> Measurement:
    """The *measurement* of a written file, with these figures if *spec* requires them."""
    return measurement.with_readings(_only_these(file)) if required([spec]) else measurement


def complete(measurement: Measurement, spec: Spec) -> bool:
    """False if *spec* requires these figures and *measurement* was made without them."""
    return not required([spec]) or measurement.value("cutting_reference_dbfs") is not None


def of_promised(file: Path, promised: Mapping[str, Any]) -> Mapping[str, Any]:
    """Values of these figures, if any is among those *promised*."""
    if all(promised.get(name) is None for name in names()):
        return {}
    return {name: reading.value for name, reading in _only_these(file).items()}


def _only_these(file: Path) -> Measurement:
    found = measure_only(file, names())
    return Measurement({name: found[name] for name in sorted(names())})
