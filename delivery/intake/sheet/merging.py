"""Merge a revised sheet with a release file on disk: the merged text, with changes and kept values in sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.begin.tracks import lines_of
from delivery.intake.release.file import SCHEMA, release_of
from delivery.intake.sheet import merge_report as words
from delivery.intake.sheet.match import Matched
from delivery.intake.sheet.merge import plan_of
from delivery.intake.sheet.merge_text import merged_text
from delivery.intake.sheet.statements import RELEASE, Outcome, Plan, Stated, Verdict, file_key
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.yaml.coerce_scalars import coerced
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.source_locations import place_of
from delivery.intake.yaml.text import Document, document_of, text_of
from delivery.model.unconfirmed import ORDER
from delivery.regular import read_regular

SHEET, FILE = "sheet", "file"
"""Values of --conflicts."""

Choose = Callable[[str, str, str], bool | None]
"""Question, the sheet's value, the file's -> True for the sheet's, False for the file's, None: undecided."""


@dataclass(frozen=True, slots=True)
class Merged:
    """The merged release file, with sentences about changes and about values kept."""

    text: str
    changes: tuple[str, ...]
    kept: tuple[str, ...]


def merge_into(
    old: Path,
    sheet: Stated,
    last: Stated | None,
    alone: Stated,
    found: Matched,
    choose: Choose,
    left_out: Sequence[Unusable] = (),
) -> Merged:
    """The release file *old* merged with *sheet*; nothing is written.

    Parameters
    ----------
    left_out : faults of cells whose values are not in *sheet*

    Raises
    ------
    Faulty : the file has faults, before or after; a new track without a title; or undecided conflicts, all together
        with both values
    Unusable : it is written in a way that cannot be edited safely
    """
    text = current(text_of(old)).text
    document = document_of(text, old.name)
    release_of(document, old)
    schema = shipped_schema(SCHEMA)
    ours = coerced(document.data, schema, document.written, schema)
    titles = words.titles_of(ours, sheet)
    plan = plan_of(ours, sheet, last, alone, lambda one: choose(*words.conflict(one, titles)))
    if plan.conflicts():
        raise Faulty(tuple(_refused(one, ours, document, old.name, titles) for one in plan.conflicts()))
    if untitled := _untitled(plan, found, left_out):
        raise Faulty(untitled)
    merged = merged_text(text, plan, _new_tracks(plan, sheet, ours, found), old.name)
    release_of(document_of(merged, old.name), old)
    mark = "\ufeff" if read_regular(old, 3).startswith(b"\xef\xbb\xbf") else ""
    return Merged(mark + merged, tuple(words.changes(plan, titles)), tuple(words.kept(plan, titles)))


def _untitled(plan: Plan, found: Matched, left_out: Sequence[Unusable]) -> tuple[Unusable, ...]:
    """Faults of the title cells of new tracks: unlike a known track, such a track has no earlier title to keep."""
    rows = (row for row, master in found.pairs if master.name in plan.added and not row["title"])
    ends = tuple(f" {row.places['title']} Title" for row in rows)
    return tuple(fault for fault in left_out if fault.place.endswith(ends))


def _new_tracks(plan: Plan, sheet: Stated, ours: Mapping[str, Any], found: Matched) -> dict[str, list[str]]:
    """Lines of the tracks that are new, by file."""
    taken = {one.key: one.now for one in plan.taken() if one.where == RELEASE}
    artist = str(taken.get("artist") or ours.get("artist") or "")
    by_sheet = not any(one.key == ORDER and one.verdict is Verdict.KEPT for one in plan.outcomes)
    lines = {}
    for _, master in found.pairs:
        if master.name in plan.added:
            values = sheet.tracks[master.name]
            place = (values.get("disc"), values.get("number")) if by_sheet else (None, None)
            stated = {key: data for key, data in values.items() if key not in ("disc", "number")}
            lines[master.name] = list(lines_of(master, place, artist, stated, str(values["title"])))
    return lines


def _refused(one: Outcome, ours: Mapping[str, Any], document: Document, name: str, titles: words.Titles) -> Unusable:
    what, sheet, file = words.conflict(one, titles)
    at = [file_key(str(track["file"])) for track in ours["tracks"]]
    pointer = f"tracks/{at.index(file_key(one.where))}/{one.key}" if one.where else one.key
    return Unusable(
        place_of(name, document.lines, pointer),
        f"{what}: {file} here and {sheet} on the sheet, both changed since the last import",
        "one of them",
        f"Correct one to match the other, or decide all such cases with --conflicts {SHEET} or --conflicts {FILE}.",
    )
