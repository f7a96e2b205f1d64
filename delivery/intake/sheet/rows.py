"""A grid becomes release values and track rows, with everything that had to be said or refused on the way. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.cells import Cell, Grid, clean
from delivery.intake.sheet.columns import PERSON, field_of
from delivery.intake.sheet.header import Header, find_header, no_header, repeats
from delivery.intake.sheet.identities import agreed, identities_in
from delivery.intake.sheet.persons import read_persons
from delivery.intake.sheet.values import read
from delivery.model.label_copy import COLUMNS

TOTALS = re.compile(
    r"(?:grand |running )?(?:totals?|total (?:running |playing |album )?(?:time|length|duration)|sum|summe|gesamt"
    r"|gesamt(?:zeit|spielzeit|dauer|laufzeit)|totale|totaal|duree totale|durée totale|duración total|合計)\s*:?.*",
    re.IGNORECASE,
)
SECTION = re.compile(r"(?:cd|disc|disk|disque|disco|lp|vinyl)\s*(?:no\.?\s*)?([1-9][0-9]?)\b.*", re.IGNORECASE)
SIDE = re.compile(r"(?:side|seite|face|lado|lato)\s+[A-Z]\b.*", re.IGNORECASE)
DITTO = frozenset(
    ('"', "''", "“", "”", "″", "〃", "ditto", "dto.", "dto", "s.o.", "same", "same as above", "idem", "id.")
)
NOT_YET = frozenset(
    ("tbc", "tba", "tbd", "t.b.c.", "t.b.a.", "n/a", "na", "n.a.", "?", "??", "???", "xxx", "to follow", "to come",
     "follows", "folgt", "to be confirmed", "to be announced", "pending", "unknown", "missing", "--", "…", "...")
)  # fmt: skip
FREE = frozenset(
    ("title", "version", "artist", "album", "album_artist", "samples", "explicit", "language", "instrumental")
)
"""Fields in which such words may be meant."""
BLOCK = {"title": "album", "artist": "album_artist", "version": "album_version", "language": "release_language",
         "title_language": "release_language"}  # fmt: skip
"""What a label above the table means for the release."""
NEVER_SHARED = frozenset(
    ("number", "disc", "isrc", "iswc", "duration", "file", "gap_before", "preview_start", "ipi", "isni", "share")
)
LISTED = {"featured": "featured", "remixer": "remixer", "artist": "main"}
CREDITS = {"producer": "producer", "mixer": "mixer", "mastering_engineer": "mastering engineer"}
FEATURING = re.compile(r"\s*[(\[]?\b(?:feat\.?|ft\.?|featuring)\s+(?P<guest>[^)\]]+)[)\]]?\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Row:
    row: int
    """As the spreadsheet counts."""
    values: Mapping[str, Any]
    places: Mapping[str, str] = field(default_factory=dict)
    """Field -> 'D7'."""

    def __getitem__(self, key: str) -> Any:
        return self.values.get(key)

    @property
    def says(self) -> str:
        return f"row {self.row} ({self['title']!r})"


@dataclass(frozen=True, slots=True)
class Copy:
    """A sheet, read."""

    grid: Grid
    release: Mapping[str, Any]
    rows: tuple[Row, ...]
    remarks: tuple[str, ...]
    faults: tuple[Unusable, ...]


class Desk:
    """Where remarks and faults are laid down while a sheet is read."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.remarks: list[str] = list(grid.remarks)
        self.faults: list[Unusable] = []

    def remark(self, text: str) -> None:
        if text and text not in self.remarks:
            self.remarks.append(text)

    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None:
        self.faults.append(Unusable(f"{self.grid.name} {place}", found, wanted, remedy))

    def value(self, name: str, cell: Cell) -> Any:
        """The value of *cell* as field *name*; None when there is none, which is then said or refused."""
        if name not in FREE and clean(cell.text).casefold() in NOT_YET:
            self.remark(f"{cell.place}: {cell.text!r} counts as not supplied.")
            return None
        told = read(name, cell)
        self.remark(told.remark and f"{told.remark}.")
        if told.refused:
            title = COLUMNS[name].title if name in COLUMNS else name
            self.fault(f"{cell.place} {title}", repr(cell.shown or cell.text), told.refused.wanted, told.refused.remedy)
        return told.value


def read_copy(grid: Grid, known: Mapping[str, str]) -> Copy:
    """Everything the sheet says.

    Parameters
    ----------
    known : a client's own headers, in small words -> field id

    Raises
    ------
    Unusable : no row names the columns, or no track stands below it
    """
    header = find_header(grid, known)
    if header is None:
        raise no_header(grid)
    desk = Desk(grid)
    for title in header.unread:
        desk.remark(f"The column {title!r} is not read; --column '{title}=FIELD' says what it holds.")
    above = dict(_above(desk, header, known))
    rows = tuple(_rows(desk, header, known, above))
    if not rows and not desk.faults:
        raise Unusable(
            grid.name, "a header and no track below it", "one row for each track", "Is this the right sheet?"
        )
    release = {**{key: value for key, value in above.items() if _of_release(key)}, **_release(desk, header)}
    if identities := agreed(desk, [(row.places["isni"], row["isni"]) for row in rows if row["isni"]]):
        release["isni"] = identities
    _refuse_doubles(desk, rows)
    return Copy(grid, release, _in_order(desk, rows), tuple(desk.remarks), tuple(desk.faults))


def _of_release(name: str) -> bool:
    return COLUMNS[name].of_release


def _above(desk: Desk, header: Header, known: Mapping[str, str]) -> Iterator[tuple[str, Any]]:
    """'Label: Ostrelune' or 'Label' | 'Ostrelune' in the rows above the table."""
    for row in range(header.first):
        cells = [cell for cell in desk.grid.rows[row] if not cell.empty]
        for at, cell in enumerate(cells):
            head, colon, rest = cell.text.partition(":")
            name = field_of(head if colon else cell.text, known)
            name = BLOCK.get(name, name)
            if not name or name in NEVER_SHARED:
                continue
            value_cell = (
                Cell(cell.place, rest.strip(), rest.strip()) if rest.strip() else next(iter(cells[at + 1 :]), None)
            )
            if value_cell is None or field_of(value_cell.text, known):
                continue
            value = desk.value(name, value_cell)
            if value is not None:
                yield name, value
            break


def _rows(desk: Desk, header: Header, known: Mapping[str, str], above: Mapping[str, Any]) -> Iterator[Row]:
    disc: int | None = None
    shared = {name: value for name, value in above.items() if not _of_release(name)}
    if shared:
        desk.remark(f"Said once above the table, for every track: {', '.join(sorted(shared))}.")
    for index in range(header.last + 1, len(desk.grid.rows)):
        cells = desk.grid.rows[index]
        filled = [cell for cell in cells if not cell.empty]
        if not filled:
            continue
        section = SECTION.fullmatch(filled[0].text) if len({cell.text for cell in filled}) == 1 else None
        if section:
            disc = int(section[1])
        elif why := _no_track(desk, header, known, index, filled):
            desk.remark(f"Row {index + 1} {why}: left out.")
        else:
            row = _row(desk, header, index, shared, above.get("album_artist"))
            yield row if row["disc"] or disc is None else Row(row.row, {**row.values, "disc": disc}, row.places)


def _no_track(desk: Desk, header: Header, known: Mapping[str, str], index: int, filled: Sequence[Cell]) -> str:
    """Why a row is no track; empty when it is one."""
    if repeats(desk.grid.rows[index], header, known):
        return "is the header again"
    cells = {name: desk.grid.cell(index, column) for column, name in header.fields.items()}
    numbered = any(character.isdecimal() for character in cells["number"].text) if "number" in cells else False
    coded = "isrc" in cells and not cells["isrc"].empty
    if TOTALS.fullmatch(filled[0].text) and not numbered and not coded:
        return f"is a sum ({filled[0].text!r})"
    if SIDE.fullmatch(filled[0].text) and len(filled) == 1:
        return f"is a heading ({filled[0].text!r})"
    if cells["title"].empty and not numbered and not coded:
        return f"has neither title nor number ({filled[0].text[:60]!r})"
    return ""


def _row(desk: Desk, header: Header, index: int, shared: Mapping[str, Any], album_artist: Any) -> Row:
    cells: dict[str, list[Cell]] = {}
    ordered: list[tuple[str, Cell]] = []
    for column, name in sorted(header.fields.items()):
        cell = _not_ditto(desk, header, index, column)
        cells.setdefault(name, []).append(cell)
        ordered.append((name, cell))
    values: dict[str, Any] = {}
    for name, some in cells.items():
        if not COLUMNS[name].of_release and name not in (*PERSON, "share", "ipi", "isni", "society", "publisher"):
            told = [value for cell in some if (value := desk.value(name, cell)) is not None]
            if told:
                values[name] = (
                    tuple(item for value in told for item in value) if isinstance(told[0], tuple) else told[0]
                )
    for name in ("composer", "lyricist", "writer", "publisher"):
        if name in shared and all(cell.empty for cell in cells.get(name, ())):
            values[f"{name}s" if name != "writer" else "composers"] = shared[name]
    values = {**{name: value for name, value in shared.items() if name not in (*PERSON, "publisher")}, **values}
    if values.get("language") == "zxx":
        values["instrumental"] = values.pop("language") == "zxx"
    values |= read_persons(desk, ordered, bool(values.get("instrumental")))
    if identities := identities_in(desk, ordered, str(album_artist or "")):
        values["isni"] = identities
    _gather(desk, values, cells)
    if "title" not in values and not any(
        fault.place.endswith(f"{cells['title'][0].place} Title") for fault in desk.faults
    ):
        desk.fault(f"{cells['title'][0].place} Title", "nothing", "the title of the track", "Fill it in.")
    places = {
        name: next((cell.place for cell in some if not cell.empty), some[0].place) for name, some in cells.items()
    }
    return Row(index + 1, values, places)


def _not_ditto(desk: Desk, header: Header, index: int, column: int) -> Cell:
    """A ditto mark means the cell above."""
    cell = desk.grid.cell(index, column)
    at = index
    while desk.grid.cell(at, column).text.casefold() in DITTO and at > header.last + 1:
        at -= 1
    if at != index:
        above = desk.grid.cell(at, column)
        desk.remark(f"{cell.place}: {cell.text!r} repeats {above.place}.")
        return Cell(cell.place, above.value, above.shown)
    return cell


def _gather(desk: Desk, values: dict[str, Any], cells: Mapping[str, Sequence[Cell]]) -> None:
    """Artists and credits as the release file has them; a clock time keeps its other meaning for the matching."""
    artists = []
    for name, role in LISTED.items():
        for person in values.pop(name, ()):
            guest = FEATURING.search(person) if role == "main" else None
            if guest:
                desk.remark(f"{cells['artist'][0].place}: {person!r} is read as a main artist and a featured one.")
                artists += [{"name": person[: guest.start()].strip(), "role": "main"}]
                artists += [{"name": guest["guest"].strip(), "role": "featured"}]
            else:
                artists.append({"name": person, "role": role})
    order = ("main", "featured", "remixer")
    if artists:
        values["artists"] = tuple(sorted(artists, key=lambda artist: order.index(artist["role"])))
    worked = [{"name": name, "role": role} for key, role in CREDITS.items() for name in values.pop(key, ())]
    worked += values.pop("other_credits", ())
    if worked:
        values["credits"] = tuple(worked)
    if "duration" in values and any(
        f"{cell.place}: the clock time" in remark for cell in cells["duration"] for remark in desk.remarks
    ):
        values["duration_or"] = values["duration"] * 60


def _release(desk: Desk, header: Header) -> dict[str, Any]:
    """Columns that tell of the release say the same in every row, or the sheet holds several releases."""
    told: dict[str, Any] = {}
    for column, name in header.fields.items():
        if not COLUMNS[name].of_release:
            continue
        found: dict[Any, Cell] = {}
        for index in range(header.last + 1, len(desk.grid.rows)):
            cell = desk.grid.cell(index, column)
            if cell.empty or cell.text.casefold() in DITTO or TOTALS.fullmatch(desk.grid.cell(index, 0).text):
                continue
            before = len(desk.faults)
            value = desk.value(name, cell)
            if len(desk.faults) > before and any(cell.shown == other.shown for other in found.values()):
                desk.faults.pop()
            found.setdefault(value, cell)
        values = {value: cell for value, cell in found.items() if value is not None}
        if len(values) > 1:
            one, other, *_ = values.values()
            quoted = f"{one.text!r} in {one.place} and {other.text!r}"
            desk.fault(
                f"{other.place} {COLUMNS[name].title}",
                quoted,
                "one for the whole release",
                "Several releases in one sheet? Part them.",
            )
        elif values:
            told[name] = next(iter(values))
    return told


def _refuse_doubles(desk: Desk, rows: Sequence[Row]) -> None:
    for name, what in (("isrc", "a code of its own for each track"), ("file", "a file of its own for each track")):
        seen: dict[str, Row] = {}
        for row in rows:
            if not row[name]:
                continue
            before = seen.setdefault(str(row[name]).casefold(), row)
            if before is not row:
                found = f"{row[name]!r}, which {before.places[name]} has already"
                desk.fault(f"{row.places[name]} {COLUMNS[name].title}", found, what, "Ask which of them is right.")
    places: dict[tuple[int, int], Row] = {}
    for row in rows:
        if row["number"]:
            before = places.setdefault((row["disc"] or 1, row["number"]), row)
            if before is not row:
                found = f"number {row['number']}, which {before.places['number']} has already"
                desk.fault(
                    f"{row.places['number']} Track no.", found, "each number once on its disc", "Correct one of them."
                )


def _in_order(desk: Desk, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """By number where every row has one."""
    if not all(row["number"] for row in rows):
        return rows
    ordered = tuple(sorted(rows, key=lambda row: (row["disc"] or 1, row["number"])))
    if ordered != rows:
        desk.remark("The rows do not stand in the order of their numbers; the numbers count.")
    return ordered
