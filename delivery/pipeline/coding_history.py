"""The coding history a converted file carries: the master's own lines, then what was done to it here (EBU R 98)."""

from __future__ import annotations

from delivery import __version__
from delivery.chain.plan import COPIED
from delivery.errors import DeliveryError
from delivery.model.chain import Chain
from delivery.model.figure import Measurement
from delivery.model.part import Source
from delivery.tags.bext import history_line


def coding_history(source: Source, chain: Chain) -> str:
    """One line for each process, oldest first; empty where samples ship as they came, for nothing was done to them.

    A master that carries a history keeps it; of any other, one line says what it was.
    """
    if chain.identical or chain.target.container != "wav" or source.measurement is None:
        return ""
    target = chain.target
    done = "; ".join(step.says for step in chain.steps)
    floating = "floating point; " if target.coding == "float" else ""
    ours = history_line(target.rate_hz, target.bits, target.channels, f"{floating}delivery {__version__}; {done}")
    return "\n".join([*(_carried(source) or [_master_line(source.measurement)]), ours])


def _carried(source: Source) -> list[str]:
    """The master's own lines; none where it has none, or where nobody can read them."""
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
