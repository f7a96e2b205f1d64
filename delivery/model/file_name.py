"""Current and future name of one file, before anything is made."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FileName:
    """A file by its name alone."""

    spec: str
    what: str
    """'3' for the third track of the release, 'side A' for a disc or side."""
    now: str
    """Name of the master; empty for a disc or side, which is joined from several."""
    name: str
    """Future name; empty if nothing can be planned."""
    remarks: tuple[str, ...] = ()
    """Changes of texts in the name."""
    wrong: tuple[str, ...] = ()
    """Disagreements between the name, read back, and the file; or why there is no name."""
