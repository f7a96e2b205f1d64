"""A client's sheet and a folder of masters become the text of a release file, and a list of what had to be said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.masters import masters_in
from delivery.intake.sheet import last
from delivery.intake.sheet.cells import Grid
from delivery.intake.sheet.header import find_header, no_header
from delivery.intake.sheet.mapping import known_headers, told_headers
from delivery.intake.sheet.match import Matched, match
from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.refused import Ask
from delivery.intake.sheet.rows import Copy, read_copy
from delivery.intake.sheet.write import kept, order_changed, release_keys, track_keys
from delivery.intake.start import release_and_remarks
from delivery.intake.yaml_text import read_document

LENGTH_SLACK_S = 1.0


@dataclass(frozen=True, slots=True)
class Imported:
    text: str
    """Of the release file."""
    said: Mapping[str, Any]
    """What the sheet said, to be compared with next time."""
    remarks: tuple[str, ...]
    changes: tuple[str, ...] | None
    """Since the last import; None when this is the first."""


def import_sheet(
    folder: Path,
    sheet: Path,
    *,
    worksheet: str = "",
    columns: Sequence[str] = (),
    leave_out: bool = False,
    ask: Ask | None = None,
    old: Path | None = None,
    specs: Sequence[str] = (),
) -> Imported:
    """Read *sheet*, find the file of each row among the masters in *folder*, and write a release file of both.

    Parameters
    ----------
    worksheet : which sheet of a workbook; empty: the one that has tracks
    columns : 'HEADER=FIELD' for headers that no table knows
    leave_out : cells with faults are left out, and stand as comments in the release file; else they refuse the sheet
    ask : how to ask a person about ambiguities; None: nobody is there
    old : a release file to be replaced; what the sheet does not speak of is kept from it
    specs : to deliver to, where neither sheet nor old file says so

    Raises
    ------
    Unusable : the sheet, or the folder, cannot be used at all
    Faulty : cells with faults, rows without a file; all of them together
    """
    copy = _copy(sheet, worksheet, {**known_headers(sheet.absolute().parent), **_told(columns)}, ask)
    masters, left_out = masters_in(folder)
    before = last.last_said(folder)
    known = {str(track.get("file")): track for track in before["tracks"]} if before else {}
    found = match(copy.rows, masters, copy.grid.name, ask, known)
    if found.faults or (copy.faults and not leave_out):
        raise Faulty((*copy.faults, *found.faults))
    release = release_keys(copy)
    artist = str(release.get("artist", ""))
    tracks: dict[str, dict[str, Any]] = {master.name: track_keys(row, artist) for row, master in found.pairs}
    remarks = [*copy.remarks, *found.remarks, *_lengths(found), *_spare(found)]
    if old is not None:
        data = read_document(old).data
        release, tracks = kept(data, release, tracks, before)
        if order_changed(data, list(tracks)) and any(release.get(key) for key in ("waivers", "intended", "qc_log")):
            remarks.append("The order of the tracks is different: look at the positions that waivers and log name.")
    comments = [
        *(f"left out, because lossless files stand beside it: {name}" for name in left_out),
        *(f"not on the label copy: {master.name}" for master in found.spare),
        *(f"left out of the label copy: {fault}" for fault in copy.faults),
    ]
    said = last.as_said(copy.release, found.pairs)
    masters = [master for _, master in found.pairs]
    text, proposed = release_and_remarks(folder, masters, comments, release, tracks, specs)
    return Imported(
        text,
        said,
        (*remarks, *proposed, *(f"Left out: {fault}" for fault in copy.faults)),
        None if before is None else tuple(last.changes(before, said)),
    )


def _told(columns: Sequence[str]) -> dict[str, str]:
    return {words: name for words, (_, name) in told_headers(columns).items()}


def _copy(sheet: Path, worksheet: str, known: Mapping[str, str], ask: Ask | None) -> Copy:
    grids = grids_in(sheet, known)
    if worksheet:
        grids = tuple(grid for grid in grids if grid.sheet.casefold() == worksheet.casefold())
        if not grids:
            raise Unusable(
                sheet.name, f"no sheet called {worksheet!r}", "the name of a sheet in it", "Look at its tabs."
            )
    copies, empty = _readable(grids, known, ask if len(grids) == 1 else None)
    if len(copies) > 1:
        names = ", ".join(copy.grid.sheet for copy in copies)
        raise Unusable(sheet.name, f"{len(copies)} sheets with tracks ({names})", "one", "Name it with --worksheet.")
    if not copies:
        raise empty or no_header(max(grids, key=lambda grid: len(grid.rows)))
    return copies[0]


def _readable(grids: Sequence[Grid], known: Mapping[str, str], ask: Ask | None) -> tuple[list[Copy], Unusable | None]:
    """Sheets with a header and tracks; and why one with a header has none."""
    copies: list[Copy] = []
    empty: Unusable | None = None
    for grid in grids:
        if find_header(grid, known) is None:
            continue
        try:
            copies.append(read_copy(grid, known, ask))
        except Unusable as fault:
            empty = empty or fault
    return copies, empty


def _lengths(found: Matched) -> list[str]:
    """Where the sheet and the master disagree about the length: an older mix, perhaps."""
    remarks = []
    for row, master in found.pairs:
        if not (row["duration"] and master.facts):
            continue
        length_s = master.facts.duration_s
        meant_s = min((row["duration"], row["duration_or"] or row["duration"]), key=lambda s: abs(s - length_s))
        if abs(length_s - meant_s) > LENGTH_SLACK_S:
            here = f"{row.says} lasts {_clock(meant_s)} in the sheet"
            remarks.append(f"{here}, {master.name} {_clock(length_s)}: the right master?")
    return remarks


def _spare(found: Matched) -> list[str]:
    return [f"{master.name} is on no row of the sheet: left out." for master in found.spare]


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds, 1), 60)
    return f"{int(minutes)}:{rest:04.1f}"
