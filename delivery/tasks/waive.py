"""Waive a must that is not met, in a named person's responsibility; the sheet prints the waiver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from delivery.intake import add_waiver
from delivery.model.release import Waiver
from delivery.pipeline.request import resolve_request

ONE_REVISION = frozenset({"approved"})
"""Rules whose waiver holds for the present revision only: the next one may differ from what was approved elsewhere."""


def waive(release_file: Path, waivers: Sequence[Waiver]) -> tuple[Waiver, ...]:
    """Write *waivers* into *release_file* after checking that every rule exists; as they were written.

    Raises
    ------
    Faulty : a rule is unknown or cannot be waived; the file is unchanged
    Unfinished : the file cannot be written
    """
    if not waivers:
        return ()
    revision = resolve_request(release_file, (), waivers=tuple(waivers)).release.revision
    written = tuple(replace(each, revision=revision) if each.rule in ONE_REVISION else each for each in waivers)
    for waiver in written:
        add_waiver(release_file, waiver)
    return written
