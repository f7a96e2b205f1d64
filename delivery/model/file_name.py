"""FileName: what one file is called now and will be called, before anything is made."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FileName:
    spec: str
    what: str
    """'3' for the third track of the release, 'side A' for a disc or side."""
    now: str
    """Name of the master; empty for a disc or side, which is joined from several."""
    name: str
    """As it will be called; empty when nothing can be planned."""
    remarks: tuple[str, ...] = ()
    """What happened to the texts on the way into the name."""
    wrong: tuple[str, ...] = ()
    """What the name, read back, says and the file is not; or why there is none."""
