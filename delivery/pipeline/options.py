"""Options of a check or a build."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from delivery.pipeline.sources import Progress, quiet

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from delivery.ledger.cache import MeasurementCache
    from delivery.model.reference import ReferenceComparison
    from delivery.pipeline.earlier import Earlier
    from delivery.pipeline.engine import Engine


@dataclass(frozen=True, slots=True)
class Options:
    """Options of a check or build."""

    workers: int = 2
    cache: MeasurementCache | None = None
    replace: bool = False
    zip: bool = False
    page: str = "A4"
    sheet: str = "whole"
    """Form of the PDF sheet: 'whole', or 'summary' without a page for each track."""
    progress: Progress = quiet
    sign: Ed25519PrivateKey | None = None
    """Key that seals the package; None: no seal."""
    again: bool = False
    """Build although nothing has changed since the last delivery."""
    earlier: tuple[Earlier, ...] = ()
    """Earlier deliveries besides the packages in the folder built into; a check has no others."""
    engine: Engine | None = None
    """Where masters are measured, rate conversions tried and songs made; None: here, by ``workers``."""
    beside: ReferenceComparison | None = None
    """The release and a reference playlist, for a page of the PDF sheet; None: no such page."""


def width_of(options: Options) -> int:
    """How many calls at a time keep the engine, or this machine, at work."""
    return options.engine.width if options.engine else options.workers
