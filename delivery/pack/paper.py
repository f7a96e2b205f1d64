"""Definition of a paper: a text delivered with one spec's files, made from the files shipped."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from delivery.model.part import Delivery, Part, Shipped
from delivery.model.registry import modules, register
from delivery.model.release import Release
from delivery.model.spec import Spec


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper of a spec's folder."""

    id: str
    """Name under ``papers`` in a spec; also the name of its module."""
    file_name: str
    sentence: str
    """One sentence for `explain`."""
    render: Callable[[Release, Spec, Sequence[Part]], bytes]
    """Pure: the spec's parts, in any order -> the paper's bytes. Parts not shipped are left out."""


@dataclass(frozen=True, slots=True)
class CarrierPaper:
    """A paper about discs or sides; there may be one file for each of them."""

    id: str
    sentence: str
    render: Callable[[Delivery, Spec], Mapping[str, bytes]]
    """Pure: the shipped images -> file name and bytes of each paper."""


def papers() -> dict[str, Paper]:
    """Every paper by id; a file in ``pack/papers`` is a paper."""
    from delivery.pack import papers as room

    found = (module.PAPER for module in modules(room))
    return register((paper for paper in found if isinstance(paper, Paper)), lambda paper: paper.id)


def carrier_papers() -> dict[str, CarrierPaper]:
    """Every paper about discs or sides by id, in the same folder."""
    from delivery.pack import papers as room

    found = (module.PAPER for module in modules(room))
    return register((paper for paper in found if isinstance(paper, CarrierPaper)), lambda paper: paper.id)


def shipped(parts: Sequence[Part]) -> tuple[tuple[Part, Shipped], ...]:
    """The parts that were written, by track."""
    found = [(part, part.shipped) for part in parts if part.shipped is not None]
    return tuple(sorted(found, key=lambda pair: pair[0].track))
