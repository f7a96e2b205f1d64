"""How much space a package needs: what is said when its disk is full."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.chain.prediction import size_bytes
from delivery.disk import disk_of, free_bytes, mb
from delivery.errors import NoSpace
from delivery.model.part import Delivery

if TYPE_CHECKING:
    from delivery.pipeline.images import ImageTask
    from delivery.pipeline.make_part import Task

PAPERS_BYTES = 5 * 10**6
"""Sheets, data and papers of a usual album."""


@contextmanager
def needing(size: int, into: Path, what: str = "the whole package") -> Iterator[None]:
    """State what is needed in all where the disk of *into* is full; another disk's message stays."""
    free = free_bytes(into)
    try:
        yield
    except NoSpace as full:
        if full.disk != str(disk_of(into)):
            raise
        before = f" ({mb(free)} at the beginning)" if free is not None else ""
        wanted = f"about {mb(size)} for {what}{before}"
        raise full.needing(wanted) from full


def package_bytes(
    planned: Delivery, songs: Sequence[Task], joined: Sequence[ImageTask], covers: Mapping[str, bytes]
) -> int:
    """Expected size of the package: audio by its form and length, and the covers in it."""
    durations_s = {
        each.track.position: (each.measurement.value("duration_s") or 0.0) if each.measurement else 0.0
        for each in planned.sources
    }
    sizes = [
        size_bytes(task.part.chain.target, round(durations_s[task.part.track] * task.part.chain.target.rate_hz))
        + (len(covers.get(task.spec.id, b"")) if task.spec.embed_artwork else 0)
        for task in songs
        if task.part.chain
    ]
    sizes += [size_bytes(task.image.target, task.image.programme.length) for task in joined]
    return sum(sizes) + max(sizes, default=0) + PAPERS_BYTES  # the largest twice: tags are written into a copy
