"""Coding history of a converted file: the master's own lines, then the processing applied here (EBU R 98)."""

from __future__ import annotations

from delivery import __version__
from delivery.chain.plan import COPIED
from delivery.errors import DeliveryError
from delivery.model.chain import Chain
from delivery.model.figure import Measurement
from delivery.model.part import Source
from delivery.tags.bext import history_line


def coding_history(source: Source, chain: Chain) -> str:
    """One line for each process, oldest first; empty if the samples are unchanged.

    A history in the master is kept; without one, a line describes the master's form.
    """
    if chain.identical or chain.target.container != "wav" or source.measurement is None:
        return ""
    target = chain.target
    done = "; ".join(step.sentence for step in chain.steps)
    floating = "floating point; " if target.coding == "float" else ""
    ours = history_line(target.rate_hz, target.bits, target.channels, f"{floating}delivery {__version__}; {done}")
    return "\n".join([*(_carried(source) or [_master_line(source.measurement)]), ours])


def _carried(source: Source) -> list[str]:
    """Coding history in the master; empty if it has none or it cannot be read."""
    if source.measurement is None or source.measurement.value("container") != "wav":
        return []
    from delivery.tags.riff import read_bext

    try:
        return list(read_bext(source.track.file).coding_history)
    except DeliveryError:
        return []


def _master_line(measurement: Measurement) -> str:
    coding = measurement.value("coding")
    note = {"pcm": "master", "float": "master; floating point"}.get(coding, f"master; decoded from {coding}")
    channels = 1 if measurement.value(COPIED) else measurement.value("channels")
    return history_line(measurement.value("rate_hz"), measurement.value("bits"), channels, note)
