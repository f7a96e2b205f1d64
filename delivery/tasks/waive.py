"""Waive a must that is not met, in a named person's responsibility; the sheet prints the waiver."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.intake import add_waiver
from delivery.model.release import Waiver
from delivery.pipeline.request import resolve_request
from delivery.rules import unknown_waivers


def waive(release_file: Path, waivers: Sequence[Waiver]) -> None:
    """Write *waivers* into *release_file* after checking that every rule exists.

    Raises
    ------
    Faulty : a rule is unknown or cannot be waived; the file is unchanged
    Unfinished : the file cannot be written
    """
    resolve_request(release_file, (), waivers=tuple(waivers))
    for waiver in waivers:
        add_waiver(release_file, waiver)


def can_waive(rule: str) -> bool:
    """True if *rule* can be waived: it is what a spec requires, and a file can hold the waived value."""
    return not unknown_waivers((Waiver(rule, "-", "-"),))
