"""Waiving: a must that is not met passes, in somebody's name, and is printed on the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.intake import add_waiver
from delivery.model.release import Waiver
from delivery.pipeline.request import resolve_request


def waive(release_file: Path, waivers: Sequence[Waiver]) -> None:
    """Write *waivers* into *release_file*, after checking that every rule they name exists.

    Raises
    ------
    Faulty : a rule is unknown or cannot be waived; the file is as it was
    Unfinished : the file cannot be written
    """
    resolve_request(release_file, (), waivers=tuple(waivers))
    for waiver in waivers:
        add_waiver(release_file, waiver)
