"""Import a client's sheet with a folder of masters: the text of a release file, and remarks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from delivery.absolute import absolute
from delivery.errors import Faulty, Unusable
from delivery.intake.begin.first_file import release_and_remarks
from delivery.intake.begin.masters import Master, copies_left_out, masters_in, unopened
from delivery.intake.begin.tracks import stated_places
from delivery.intake.sheet import previous_import
from delivery.intake.sheet.cells import Grid
from delivery.intake.sheet.header import find_header, no_header
from delivery.intake.sheet.mapping import known_headers, stated_headers
from delivery.intake.sheet.match import Matched, match
from delivery.intake.sheet.merging import SHEET, Choose, merge_into
from delivery.intake.sheet.parsed import Ask
from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.rows import Copy, read_copy
from delivery.intake.sheet.statements import RELEASE, Stated
from delivery.intake.sheet.write import release_keys, spoken_of, spoken_of_release, track_keys, unread_of
from delivery.intake.yaml.text import document_of

LENGTH_SLACK_S = 1.0


@dataclass(frozen=True, slots=True)
class Imported:
    """The release file made or changed from a sheet."""

    text: str
    """Of the release file."""
    stated_keys: Mapping[str, Any]
    """Values of the sheet, for comparison at the next import."""
    remarks: tuple[str, ...]
    changes: tuple[str, ...] | None
    """Changes to the existing release file; None if there was none."""
    kept: tuple[str, ...] = ()
    """Values kept from that file although the sheet differs."""


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
    stated: Mapping[str, str] = MappingProxyType({}),
    prefer: str = "",
) -> Imported:
    """Read *sheet*, match each row with a master in *folder*, and make the text of a release file.

    Parameters
    ----------
    worksheet : sheet of a workbook; empty: the one with tracks
    columns : 'HEADER=FIELD' for unknown headers
    leave_out : cells with faults and rows without a file are left out, as comments in a first release file; else they
        refuse the sheet
    ask : asks a person about ambiguities and conflicts; None: no questions are possible
    old : a release file into which the sheet is merged
    specs : specs to deliver to, if neither sheet nor old file has any
    stated : keys of a first release file that the sheet lacks
    prefer : SHEET or FILE decides every conflict; empty: ask, or refuse

    Raises
    ------
    Unusable : the sheet or the folder cannot be used, or the sheet has another value for a key that is *stated*
    Faulty : cells with faults, rows without a file, undecided conflicts; all of a kind together
    """
    copy = _copy(sheet, worksheet, {**known_headers(absolute(sheet).parent), **_stated_columns(columns)}, ask)
    masters, left_out = masters_in(folder)
    before = previous_import.last_stated(folder)
    known = {str(track["file"]): track for track in before["tracks"]} if before else {}
    known |= {name: {} for name in before.get("spare", ())} if before else {}
    found = match(copy.rows, masters, copy.grid.name, ask, known)
    comments_on_copies, lost = copies_left_out(masters, left_out)
    remarks = (*copy.remarks, *found.remarks, *lost, *unopened(masters), *_lengths(found), *_spare(found))
    if old is not None and specs:
        remarks += ("--spec applies to a first release file: deliver_to of this one is unchanged.",)
    if old is not None and stated:
        options = ", ".join(f"--{key}" for key in stated)
        remarks += (f"{options}: for a first release file alone; nothing of this one is changed by it.",)
    if not found.pairs or ((found.faults or copy.faults) and not leave_out):
        raise Faulty((*copy.faults, *found.faults) or (_nothing_left(sheet),), remarks)
    release = release_keys(copy)
    stated_keys = previous_import.as_stated(release, found.pairs, found.spare)
    faults = tuple(f"Left out: {fault}" for fault in (*copy.faults, *found.faults))
    if old is not None:
        decide = _decider(prefer, ask)
        of_sheet, alone = _stated(copy, found, stated_keys), _alone(folder, masters)
        try:
            merged = merge_into(old, of_sheet, _last(before), alone, found, decide, copy.faults)
        except Faulty as fault:
            raise Faulty(fault.faults, (*remarks, *fault.remarks)) from fault
        return Imported(merged.text, stated_keys, (*remarks, *faults), merged.changes, merged.kept)
    release = _with_stated(release, stated, sheet)
    tracks = {master.name: track_keys(row, str(release.get("artist", ""))) for row, master in found.pairs}
    comments = [
        *comments_on_copies,
        *(f"not on the label copy: {master.name}" for master in found.spare),
        *(f"left out of the label copy: {fault}" for fault in (*copy.faults, *found.faults)),
    ]
    text, proposed = release_and_remarks(
        folder, [master for _, master in found.pairs], comments, release, tracks, specs
    )
    return Imported(text, stated_keys, (*remarks, *proposed, *faults), None)


def _stated(copy: Copy, found: Matched, stated_keys: Mapping[str, Any]) -> Stated:
    """Values of the sheet, without the keys of unreadable cells."""
    whole = _last(stated_keys)
    assert whole
    unread = {master.name: unread_of(row.row, copy.faults) for row, master in found.pairs}
    tracks = {
        name: {key: data for key, data in values.items() if key not in unread[name]}
        for name, values in whole.tracks.items()
    }
    columns_of = {master.name: spoken_of(row) - unread[master.name] for row, master in found.pairs}
    nothing_read = {key for row in copy.rows for key in unread_of(row.row, copy.faults)}
    release = spoken_of_release(copy) - nothing_read
    artist = str(whole.release.get("artist", ""))
    without_file = tuple(track_keys(row, artist) for row in found.without_file)
    return Stated(whole.release, tracks, {RELEASE: release, **columns_of}, without_file)


def _with_stated(release: Mapping[str, Any], stated: Mapping[str, str], sheet: Path) -> dict[str, Any]:
    """The sheet's values and the stated ones. Raises Unusable where they differ."""
    for key, text in stated.items():
        if release.get(key, text) != text:
            found = f"{text!r}, and {release[key]!r} in {sheet.name}"
            raise Unusable(f"--{key}", found, "one of the two", "Leave the option out, or correct the sheet.")
    return {**stated, **release}


def _nothing_left(sheet: Path) -> Unusable:
    return Unusable(sheet.name, "no row with a file", "at least one", "Put the masters into the folder.")


def _last(stated_keys: Mapping[str, Any] | None) -> Stated | None:
    """The previous import, with discs and numbers only where a release file would have them."""
    if stated_keys is None:
        return None
    places = stated_places(stated_keys["tracks"])
    tracks = {
        str(track["file"]): _placed({key: data for key, data in track.items() if key != "file"}, place)
        for track, place in zip(stated_keys["tracks"], places, strict=True)
    }
    return Stated(stated_keys["release"], tracks)


def _placed(values: Mapping[str, Any], place: tuple[int | None, int | None]) -> dict[str, Any]:
    stated = {key: data for key, data in zip(("disc", "number"), place, strict=True) if data is not None}
    return {**{key: data for key, data in values.items() if key not in ("disc", "number")}, **stated}


def _alone(folder: Path, masters: Sequence[Master]) -> Stated:
    """Values that a release file from the masters alone would have: none of them typed by a person."""
    data = document_of(release_and_remarks(folder, masters)[0], "release.yaml").data
    return Stated(data, {str(track["file"]): track for track in data["tracks"]})


def _decider(prefer: str, ask: Ask | None) -> Choose:
    if prefer:
        return lambda _question, _sheet, _file: prefer == SHEET
    if ask is None:
        return lambda _question, _sheet, _file: None

    def answered(question: str, sheet: str, file: str) -> bool | None:
        answer = ask(f"{question}: both have changed. Which is right?", (f"sheet: {sheet}", f"release file: {file}"))
        return None if answer is None else answer == 0

    return answered


def _stated_columns(columns: Sequence[str]) -> dict[str, str]:
    return {words: name for words, (_, name) in stated_headers(columns).items()}


def _copy(sheet: Path, worksheet: str, known: Mapping[str, str], ask: Ask | None) -> Copy:
    grids = grids_in(sheet, known)
    if worksheet:
        grids = tuple(grid for grid in grids if grid.sheet.casefold() == worksheet.casefold())
        if not grids:
            raise Unusable(
                sheet.name,
                f"no sheet called {worksheet!r}",
                "the name of a sheet in it",
                "Check the tabs of the workbook.",
            )
    copies, empty = _readable(grids, known, ask if len(grids) == 1 else None)
    if len(copies) > 1:
        names = ", ".join(copy.grid.sheet for copy in copies)
        raise Unusable(sheet.name, f"{len(copies)} sheets with tracks ({names})", "one", "Name it with --worksheet.")
    if not copies:
        raise empty or no_header(max(grids, key=lambda grid: len(grid.rows)))
    return copies[0]


def _readable(grids: Sequence[Grid], known: Mapping[str, str], ask: Ask | None) -> tuple[list[Copy], Unusable | None]:
    """Sheets with a header and tracks; and why a sheet with a header has none."""
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
    """Remarks where sheet and master disagree about the length: possibly an older mix."""
    remarks = []
    for row, master in found.pairs:
        if not (row["duration"] and master.facts):
            continue
        length_s = master.facts.duration_s
        stated_s = min((row["duration"], row["duration_or"] or row["duration"]), key=lambda s: abs(s - length_s))
        if abs(length_s - stated_s) > LENGTH_SLACK_S:
            here = f"{row.description} lasts {_clock(stated_s)} in the sheet"
            remarks.append(f"{here}, {master.name} {_clock(length_s)}: the right master?")
    return remarks


def _spare(found: Matched) -> list[str]:
    names = [master.name for master in found.spare]
    if not names:
        return []
    return [f"{', '.join(names)} {'is' if len(names) == 1 else 'are'} in no row of the sheet."]


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds, 1), 60)
    return f"{int(minutes)}:{rest:04.1f}"
