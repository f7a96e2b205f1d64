"""From audio to figures: one pass over blocks feeds every meter; one module for each meter.

``measure`` runs all meters. Every class with ``gives`` in a module here is registered as a meter.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from delivery.model.figure import Figure, Measurement, Reading, Subject
from delivery.model.registry import modules, register

if TYPE_CHECKING:
    from delivery.audio.blocks import Integers
    from delivery.audio.facts import SoundFacts
    from delivery.meters.meter import Array, Meter

__all__ = [
    "figures",
    "figures_by_subject",
    "identify",
    "measure",
    "measure_blocks",
    "measure_by",
    "measure_only",
    "member_of",
    "meters_version",
    "sources_digest",
]

IDENTITY = tuple(f"delivery.meters.{name}" for name in ("adm", "audio_hash", "chunks", "container"))
"""Modules of the meters that identify a file: its header facts and the hash of its audio."""
COUNTED = ("audio_hash", "frames", "duration_s")
"""Their figures that come from the audio."""


def measure(path: str | Path, only: Collection[str] = (), also: Collection[type[Meter]] = ()) -> Measurement:
    """Measure every figure of one file, in one pass, at any length.

    Parameters
    ----------
    only : names of figures; then only the meters that give them run, and those that these depend on
    also : meters that are not registered, in the same pass

    Raises
    ------
    Unreadable : the file cannot be opened, or its audio ends before the stated length
    """
    return _walk(Path(path), [*(_giving(frozenset(only)) if only else _members()), *also])


def measure_by(path: Path, meters: Collection[type[Meter]]) -> Measurement:
    """Only the figures of these meters, registered or not. Raises as ``measure``."""
    return _walk(path, meters)


def identify(path: Path, sound: Measurement | None = None) -> Measurement:
    """Only header facts and audio hash: enough to identify a file. Raises as ``measure``.

    Parameters
    ----------
    sound : figures of a file whose audio is proven to be the same; then the audio is not read
    """
    members = [member for member in _members() if member.__module__ in IDENTITY]
    if sound is None:
        return _walk(path, members, as_stored=True)
    return _walk(path, members, unread=True).with_readings({name: sound[name] for name in COUNTED})


def measure_only(path: Path, names: Collection[str]) -> Measurement:
    """These figures of one file, and those that the same meters give. Raises as ``measure``."""
    return _walk(path, _giving(frozenset(names)), named=True)


def measure_blocks(sound: SoundFacts, blocks: Iterable[Array], only: Collection[str] = ()) -> Measurement:
    """Measure every figure of audio in memory, as (frames, channels) float64 blocks of any length.

    Parameters
    ----------
    only : names of figures; then only the meters that give them run, and those that these depend on
    """
    return _read_out(sound, blocks, _giving(frozenset(only)) if only else _members(), named=bool(only))


@cache
def _giving(names: frozenset[str]) -> tuple[Any, ...]:
    """The meters that give these figures, and the inputs of derived ones."""
    wanted, before = set(names), 0
    while len(wanted) > before:
        before = len(wanted)
        chosen = [member for member in _members() if any(figure.name in wanted for figure in member.gives)]
        wanted.update(name for member in chosen for name in getattr(member, "needs", ()))
    return tuple(chosen)


@cache
def figures() -> Mapping[str, Figure]:
    """Every figure the meters give, by name."""
    declared = (_with_subject(figure, member) for member in _members() for figure in member.gives)
    return register(declared, key=lambda figure: figure.name)


@cache
def figures_by_subject() -> Mapping[str, Figure]:
    """Every figure by name, in print order: by subject, meter, and the meter's own order."""
    declared = [figures()[figure.name] for member in _members() for figure in member.gives]
    order = list(Subject)
    return {figure.name: figure for figure in sorted(declared, key=lambda figure: order.index(figure.subject))}


@cache
def _members_by_figure() -> Mapping[str, Any]:
    return {figure.name: member for member in _members() for figure in member.gives}


def member_of(figure: str) -> type:
    """The class of the meter that gives *figure*."""
    return _members_by_figure()[figure]  # type: ignore[no-any-return]


def _with_subject(figure: Figure, member: Any) -> Figure:
    own = figure.subject is not Subject.OTHER
    return figure if own else replace(figure, subject=getattr(member, "subject", Subject.OTHER))


@cache
def meters_version() -> str:
    """SHA-256 of the source text of everything that affects a reading; a cache of readings is valid for one version
    only.

    It covers the meters, their arithmetic, the file readers and the channel weights.
    """
    return sources_digest("meters", "dsp", "audio", "model")


def sources_digest(*packages: str) -> str:
    """SHA-256 of the source text of these packages of the program."""
    digest = hashlib.sha256()
    for package in packages:
        for name, source in _sources(package):
            digest.update(f"{name} {len(source)}\n".encode())
            digest.update(source)
    return digest.hexdigest()


def _sources(package: str) -> Iterator[tuple[str, bytes]]:
    """Name and bytes of every source file below *package*, in order of their names."""
    top = Path(__file__).parents[1]
    for folder, inner, names in os.walk(top / package):
        inner.sort()
        for name in sorted(names):
            if name.endswith(".py"):
                path = Path(folder, name)
                yield path.relative_to(top).as_posix(), path.read_bytes()


@cache
def _members() -> tuple[Any, ...]:
    """Meters and derived meters, by module and class name."""
    return tuple(
        value
        for module in modules(sys.modules[__name__])
        for _, value in sorted(vars(module).items())
        if isinstance(value, type) and value.__module__ == module.__name__ and isinstance(_gives(value), tuple)
    )


def _gives(member: type) -> object:
    return vars(member).get("gives")


def _walk(
    path: Path, members: Iterable[Any], *, named: bool = False, as_stored: bool = False, unread: bool = False
) -> Measurement:
    from delivery.audio.blocks import open_sound, stored
    from delivery.audio.facts import METERED_FRAMES, refused_by_system

    try:
        with open_sound(path, count=False) as sound:
            read = stored(sound, METERED_FRAMES) if as_stored else sound.blocks(METERED_FRAMES)
            return _read_out(sound.facts, () if unread else read, members, named=named)
    except OSError as problem:  # some meters read the file's chunks themselves
        raise refused_by_system(path, problem) from problem


def _read_out(
    sound: SoundFacts, blocks: Iterable[Array | Integers], members: Iterable[Any], *, named: bool = False
) -> Measurement:
    """Meters that run on request do so where figures are *named*."""
    from delivery.meters.meter import LOW_RATE, all_missing

    chosen = list(members)
    unasked = [member for member in chosen if getattr(member, "on_request", "") and not named]
    running = [member for member in chosen if hasattr(member, "update") and member not in unasked]
    too_low = [member for member in running if sound.rate_hz < getattr(member, "least_rate_hz", 0)]
    shared, meters = _made([member for member in running if member not in too_low], sound)
    broken = _feed(sound, blocks, [*shared, *meters])
    readings: dict[str, Reading] = {}
    for member in unasked:
        readings |= _named(member, all_missing(member.gives, broken or member.on_request))
    for member in too_low:
        readings |= _named(member, all_missing(member.gives, LOW_RATE.format(rate_hz=member.least_rate_hz)))
    for meter in meters:
        unable = broken and not getattr(meter, "bears_nonfinite", False)
        answers = [Reading.missing(broken)] * len(meter.gives) if unable else meter.result()
        readings.update(_named(meter, answers))
    for member in chosen:
        if hasattr(member, "derive"):
            readings.update(_derived(member, readings))
    return Measurement(dict(sorted(readings.items())))


def _made(members: Iterable[Any], sound: SoundFacts) -> tuple[list[Any], list[Any]]:
    """What several meters read, once for all of them, and the meters."""
    shared: dict[type, Any] = {}
    meters: list[Any] = []
    for member in members:
        kind = getattr(member, "shares", None)
        if kind and kind not in shared:
            shared[kind] = kind(sound, shared=True)
        meters.append(member(sound, shared[kind]) if kind else member(sound))
    return list(shared.values()), meters


def _feed(sound: SoundFacts, blocks: Iterable[Array | Integers], meters: list[Any]) -> str:
    """Feed every block to every meter; returns the reason, if any, why most of them had to stop."""
    broken = ""
    for block in blocks:
        if not broken and not sound.integers and not _finite(block):
            broken = "the file has samples that are not numbers"
        for meter in meters:
            if not broken or getattr(meter, "bears_nonfinite", False):
                meter.update(block)
    return broken


def _finite(block: Array | Integers) -> bool:
    import numpy as np

    return bool(np.isfinite(block).all())


def _named(member: Any, answers: Iterable[Reading]) -> dict[str, Reading]:
    return {figure.name: reading for figure, reading in zip(member.gives, answers, strict=True)}


def _derived(member: Any, readings: Mapping[str, Reading]) -> dict[str, Reading]:
    absent = next((readings[name] for name in member.needs if not readings[name].exists), None)
    answers = [absent] * len(member.gives) if absent else member.derive(readings)
    return _named(member, answers)
