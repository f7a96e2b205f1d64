"""A grid becomes release values and track rows, with all remarks and faults. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.above import outside_table
from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.columns import PERSON
from delivery.intake.sheet.credits import Columned, read_persons
from delivery.intake.sheet.ditto import Tracks, resolved
from delivery.intake.sheet.header import no_header
from delivery.intake.sheet.headings import Heading, sort_rows
from delivery.intake.sheet.isni import agreed, identities_in
from delivery.intake.sheet.of_release import release_artists, release_columns
from delivery.intake.sheet.order import in_order
from delivery.intake.sheet.parsed import Ask
from delivery.intake.sheet.positions import OnSide
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.row_context import RowContext
from delivery.intake.sheet.tables import Table, join_tables, settled_columns, tables_in
from delivery.intake.sheet.times import other_length_s
from delivery.model.fields import FIELDS, fields_kept
from delivery.model.fields.row import Kept

LISTED = {field.id: field.role for field in fields_kept(Kept.ARTIST)}
CREDITS = {field.id: field.role for field in fields_kept(Kept.CREDIT)}
FEATURING = re.compile(r"\s*[(\[]?\b(?:feat\.?|ft\.?|featuring)\s+(?P<guest>[^)\]]+)[)\]]?\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Copy:
    """A sheet, read."""

    grid: Grid
    release: Mapping[str, Any]
    rows: tuple[Row, ...]
    remarks: tuple[str, ...]
    faults: tuple[Unusable, ...]


def read_copy(grid: Grid, known: Mapping[str, str], ask: Ask | None = None) -> Copy:
    """Read everything in the sheet.

    Parameters
    ----------
    known : a client's own headers, normalised -> field id
    ask : asks a person about ambiguous cells; None: no questions are possible, so they are faults

    Raises
    ------
    Unusable : no row names the columns, or no track is below it
    """
    tables = tables_in(grid, known)
    if not tables:
        raise no_header(grid)
    context = RowContext(grid, ask)
    first = tables[0]
    above = outside_table(context, grid, range(first.header.first), known)
    context.acts |= {str(above["album_artist"])} if "album_artist" in above else set()
    context.acts |= {text for table in tables for text in release_artists(table.grid, table.header)}
    rows, release = _read_table(context, first, known, above)
    for table in tables[1:]:
        if not table.names_titles:
            context.remark(f"{table.begins}; it names no titles and is not read.")
            continue
        beside = context.another()
        more, also = _read_table(beside, table, known, above)
        rows = join_tables(context, beside, rows, more, table)
        release = {**also, **release}
    if not rows and not context.faults:
        raise Unusable(
            grid.name, "a header and no track below it", "one row for each track", "Is this the right sheet?"
        )
    release = {**_of_release(above), **release}
    if identities := agreed(context, [(row.places["isni"], row["isni"]) for row in rows if row["isni"]]):
        release["isni"] = identities
    return Copy(grid, release, in_order(context, rows), tuple(context.remarks), tuple(context.faults))


def _of_release(above: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in above.items() if FIELDS[name].of_release}


def _read_table(
    context: RowContext, table: Table, known: Mapping[str, str], above: Mapping[str, Any]
) -> tuple[tuple[Row, ...], dict[str, Any]]:
    """Tracks, and values about the release from columns and lines below the table."""
    header = settled_columns(context, table.grid, table.header)
    shared = {name: value for name, value in above.items() if not FIELDS[name].of_release}
    if shared:
        context.remark(f"Given once above the table, for every track: {', '.join(sorted(shared))}.")
    below = sort_rows(context, table.grid, header, known)
    tracks = Tracks(table.grid, header, tuple(below.tracks))
    rows = tuple(
        _under(heading, _row(context, tracks, index, shared, above.get("album_artist")))
        for index, heading in below.tracks.items()
    )
    footer = outside_table(context, table.grid, below.others, known, of_release=True)
    return rows, {**footer, **release_columns(context, table.grid, header, tracks.rows)}


def _under(heading: Heading, row: Row) -> Row:
    """Fill in a row's missing values from the heading above it."""
    where = {"disc": row["disc"] or heading.disc, "side": row["side"] or heading.side}
    return Row(row.row, {**row.values, **{key: value for key, value in where.items() if value}}, row.places)


def _row(context: RowContext, tracks: Tracks, index: int, shared: Mapping[str, Any], album_artist: Any) -> Row:
    cells: dict[str, list[Cell]] = {}
    ordered: list[Columned] = []
    for column, name in sorted(tracks.header.fields.items()):
        cell = tracks.grid.cell(index, column)
        if not FIELDS[name].of_release:
            cell = resolved(context, tracks, index, column)
        cells.setdefault(name, []).append(cell)
        ordered.append(Columned(name, cell, tracks.header.titles[column]))
    values: dict[str, Any] = {}
    for name, some in cells.items():
        if not FIELDS[name].of_release and name not in (*PERSON, "share", "ipi", "isni", "society", "publisher"):
            parsed = [value for cell in some if (value := context.value(name, cell)) is not None]
            if parsed:
                values[name] = (
                    tuple(item for value in parsed for item in value) if isinstance(parsed[0], tuple) else parsed[0]
                )
    for name in ("composer", "lyricist", "writer", "publisher"):
        if name in shared and all(cell.empty for cell in cells.get(name, ())):
            values |= {f"{role}s": shared[name] for role in (("composer", "lyricist") if name == "writer" else (name,))}
    values = {**{name: value for name, value in shared.items() if name not in (*PERSON, "publisher")}, **values}
    if values.get("language") == "zxx":
        values["instrumental"] = values.pop("language") == "zxx"
    values |= read_persons(context, ordered, bool(values.get("instrumental")))
    if identities := identities_in(context, [(one.field, one.cell) for one in ordered], str(album_artist or "")):
        values["isni"] = identities
    _gather(context, values, cells)
    _place_on_side(context, values, cells)
    if "title" not in values and not any(
        fault.place.endswith(f"{cells['title'][0].place} Title") for fault in context.faults
    ):
        context.fault(f"{cells['title'][0].place} Title", "nothing", "the title of the track", "Fill it in.")
    places = {
        name: next((cell.place for cell in some if not cell.empty), some[0].place) for name, some in cells.items()
    }
    return Row(index + 1, values, places)


def _place_on_side(context: RowContext, values: dict[str, Any], cells: Mapping[str, Sequence[Cell]]) -> None:
    """'A1' is side A and number 1; a column with another side contradicts it."""
    place = values.get("number")
    if not isinstance(place, OnSide):
        return
    del values["number"]
    side = values.setdefault("side", place.side)
    if side != place.side:
        found = f"{cells['number'][0].text!r}, but side {side} in {cells['side'][0].place}"
        context.fault(f"{cells['number'][0].place} Track no.", found, "one side for a track", "Correct one of them.")
    if place.number:
        values["number"] = place.number


def _gather(context: RowContext, values: dict[str, Any], cells: Mapping[str, Sequence[Cell]]) -> None:
    """Artists and credits in the form of the release file; a clock time keeps its other meaning for the matching."""
    artists = []
    roles = list(LISTED.values())
    for name, role in LISTED.items():
        for person in values.pop(name, ()):
            guest = FEATURING.search(person) if role == "main" else None
            if guest:
                place = cells["artist"][0].place
                context.remark(f"{place}: {person!r} is read as a main artist and a featured one.")
                guests = context.value("featured", Cell(place, guest["guest"], guest["guest"].strip())) or ()
                artists += [{"name": person[: guest.start()].strip(), "role": "main"}]
                artists += [{"name": one, "role": "featured"} for one in guests]
            else:
                artists.append({"name": person, "role": role})
    if artists:
        values["artists"] = tuple(sorted(artists, key=lambda artist: roles.index(artist["role"])))
    worked = [{"name": name, "role": role} for key, role in CREDITS.items() for name in values.pop(key, ())]
    worked += values.pop("other_credits", ())
    if worked:
        values["credits"] = tuple(worked)
    if other_s := next(filter(None, map(other_length_s, cells.get("duration", ()))), None):
        values["duration_or"] = other_s
