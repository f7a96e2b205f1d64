"""What is known of one file: from the ledger if its bytes were audited before, else measured and kept there."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import DeliveryError, Unfinished, Unreadable
from delivery.ledger.cache import MeasurementCache
from delivery.ledger.file_state import SETTLED_NS, Times, file_sha256, stamp
from delivery.model.audit import AuditItem
from delivery.model.figure import Measurement
from delivery.pipeline.audit_file import audit_version, audited
from delivery.pipeline.engine import Engine
from delivery.pipeline.remote import at_hand, is_address, name_of, shown, state_of
from delivery.pipeline.sources import unexpected


@dataclass(frozen=True, slots=True)
class Taken:
    """A file's measurement, or why there is none."""

    item: AuditItem
    measurement: Measurement | None = None
    sha256: str = ""
    problem: str = ""
    was_known: bool = False


def take(item: AuditItem, cache: MeasurementCache | None, engine: Engine) -> Taken:
    """Never raises for what is wrong with the file; only the machine's own faults stop an audit.

    Raises
    ------
    Unfinished : the disk or the cluster fails
    """
    try:
        return _taken(item, cache, engine)
    except Unfinished:
        raise
    except DeliveryError as error:
        return Taken(item, problem=str(error))
    except Exception as error:  # noqa: BLE001 - one bad file never stops the rest
        return Taken(item, problem=unexpected(Path(name_of(item.location)), error))


def _taken(item: AuditItem, cache: MeasurementCache | None, engine: Engine) -> Taken:
    before, begun_ns = _state(item.location), time.time_ns()
    sha256 = cache.known_at(_place(item.location), before) if cache and before else None
    if cache and sha256 is None and engine.is_local and not is_address(item.location):
        sha256 = cache.sha256(Path(item.location))  # renamed or moved: known by its bytes
    known = cache.audited(sha256, audit_version()) if cache and sha256 else None
    if known is not None and sha256:
        return Taken(item, known, sha256, was_known=True)
    sha256, measured = engine.run(hashed_and_audited, item.location, sha256 or "")
    if _state(item.location) != before:
        name = name_of(item.location)
        raise Unreadable(name, "another file than a moment ago", "an unchanged file", "Wait for the copy to end.")
    if cache:
        cache.keep_audited(sha256, audit_version(), measured)
        if before and _has_settled(item.location, before, begun_ns):
            cache.note_at(_place(item.location), before, sha256)
    return Taken(item, measured, sha256)


def _state(location: str) -> Times | None:
    return state_of(location) if is_address(location) else stamp(Path(location))


def _has_settled(location: str, seen: Times, begun_ns: int) -> bool:
    """True if a change during reading would show in the size or times; `state_of` checks addresses."""
    return is_address(location) or begun_ns - max(seen[1:]) > SETTLED_NS


def _place(location: str) -> bytes:
    return shown(location).encode() if is_address(location) else os.fsencode(location)


def hashed_and_audited(location: str, sha256: str = "") -> tuple[str, Measurement]:
    """SHA-256 and what `audited` returns, for a worker that shares nothing with the caller.

    Parameters
    ----------
    sha256 : of the file's bytes, if it is known
    """
    with at_hand(location) as path:
        return sha256 or file_sha256(path), audited(str(path))
