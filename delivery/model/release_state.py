"""Where one release is: one line in a list of many."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from delivery.model.finding import Result


@dataclass(frozen=True, slots=True)
class ReleaseState:
    """What a check of one release came to; nothing of its figures is kept, so a thousand of them take little memory."""

    path: Path
    """The release file, or a folder of sound files without one."""
    title: str
    """'Merrow & the Glass Tide: Harbour Arithmetic', or the folder's name."""
    result: Result
    to_settle: tuple[str, ...] = ()
    """A sentence for each cause that keeps a file from being ready."""
    questions: int = 0
    """For the client."""
    remarks: int = 0
    problem: str = ""
    """Why it could not be checked at all."""
    parts: int = 0
    """Deliverables planned."""
    seconds: float = 0.0
    """Length of its masters together."""
    package: Path | None = None
    """Built, or there already because nothing has changed; None after a check, and where all was refused."""
    address: str = ""
    """Of another machine, where the release file was fetched from; empty: it is on this machine."""
    unchanged: bool = False
    """Nothing has changed since the last delivery, so nothing was built."""
    notes: tuple[str, ...] = ()
    """Sentences about the files it names, and about its codes in earlier deliveries."""


@dataclass(frozen=True, slots=True)
class Row:
    """One release on the board."""

    state: ReleaseState
    since: str
    """When it came into this state: ISO 8601, to the second, in local time."""
    writing: bool = False
    """Something in it is still being written."""
    gone: bool = False
    """It is no longer there."""
