"""The nouns of a trial: material, detectors, and what of the planted was found."""

from __future__ import annotations

import sys
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from delivery.model.registry import modules, register

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Material:
    """Clean sound: nothing was planted in it, and no fault in it is known."""

    kind: str
    """What it is in plain words: 'drums', 'tracker music'. Rows of the tables; never a title."""
    name: str
    """Tells pieces of a kind apart, and seeds what is planted."""
    rate_hz: int
    sound: Array
    """(frames, channels), full scale 1.0."""
    seed: int = 0

    @property
    def minutes(self) -> float:
        return len(self.sound) / self.rate_hz / 60

    def rng(self, *samples_16: str) -> np.random.Generator:
        """Chance that is the same in every run, and another for every piece and purpose."""
        return np.random.default_rng(zlib.crc32("/".join((self.kind, self.name, *samples_16)).encode()))


@dataclass(frozen=True)
class Score:
    """Of one piece."""

    planted: int = 0
    hit: int = 0
    """Found where it was planted, under whatever name."""
    named: int = 0
    """Found, and called what it is."""


@runtime_checkable
class Detector(Protocol):
    """What a module here holds, by these names."""

    id: ClassVar[str]
    planted: ClassVar[str]
    """What is planted, in words; '{}' stands for the strength."""
    strengths: ClassVar[tuple[str, ...]]
    """In words, each a row of the table; strongest first."""
    per_minute: ClassVar[bool]
    """True: false alarms are places, counted per minute. False: a file is suspected or not, counted in percent."""

    def plant(self, material: Material, strength: str) -> Score | None:
        """Plant faults of that strength and look for them; None where this material cannot hold them."""

    def alarms(self, material: Material) -> int | str | None:
        """False alarms in clean material; the detector's word where it declines to list them; None: not for it."""


def detectors() -> dict[str, Detector]:
    """Every detector on trial, by id."""
    package = sys.modules[__package__]
    found = (value for module in modules(package) for value in vars(module).values() if _on_trial(value, module))
    return register((made() for made in found), key=lambda detector: detector.id)


def _on_trial(value: object, module: object) -> bool:
    own = isinstance(value, type) and value.__module__ == getattr(module, "__name__", "")
    return own and value is not Detector and all(hasattr(value, name) for name in ("id", "strengths", "plant"))


def loud_spots(
    material: Material, rng: np.random.Generator, count: int, *, apart_s: float = 1.5, edge_s: float = 0.5,
    least_dbfs: float = -36.0,
) -> list[int]:  # fmt: skip
    """Frames to plant at, in order: apart, not at the edges, and where the sound (20 ms, rms) is loud enough."""
    rate_hz, frames = material.rate_hz, len(material.sound)
    half, chosen = rate_hz // 100, list[int]()
    for _ in range(60 * count):
        at = int(rng.integers(round(edge_s * rate_hz), max(frames - round(edge_s * rate_hz), 1 + edge_s * rate_hz)))
        near = material.sound[max(at - half, 0) : at + half]
        loud = len(near) and np.mean(near**2) > 10 ** (least_dbfs / 10)
        if loud and all(abs(at - other) >= apart_s * rate_hz for other in chosen):
            chosen.append(at)
        if len(chosen) == count:
            break
    return sorted(chosen)


def found_near(places_s: Iterable[float], planted: Iterable[int], rate_hz: int, within_s: float) -> int:
    """How many of *planted* (frames) have a place near them."""
    places = list(places_s)
    return sum(any(abs(place - at / rate_hz) <= within_s for place in places) for at in planted)
