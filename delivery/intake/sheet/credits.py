"""Composers, lyricists and the columns beside them, in the form of the release file. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.columns import OF_PERSON, PERSON, about_person
from delivery.intake.sheet.names import is_east_asian
from delivery.intake.sheet.parsed import CellError, Choice
from delivery.intake.sheet.people import merged, with_shares, writers_of
from delivery.intake.sheet.placeholders import is_absent, is_placeholder
from delivery.intake.sheet.shares import in_percent, read_shares
from delivery.model.shares import add_up

ROLES: Mapping[str, tuple[str, ...]] = {
    "composer": ("composer",),
    "lyricist": ("lyricist",),
    "writer": ("composer", "lyricist"),
}


class RowContext(Protocol):
    """The part of `row_context.RowContext` that is needed here."""

    def remark(self, text: str) -> None:
        """Note *text*."""

    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None:
        """Note a fault at *place*."""

    def value(self, name: str, cell: Cell) -> Any:
        """The value of *cell* as field *name*."""

    def choose(self, name: str, cell: Cell, refused: CellError) -> Any:
        """Ask which reading of *cell* is right."""


@dataclass(frozen=True, slots=True)
class Columned:
    """A cell with the field of its column."""

    field: str
    cell: Cell
    title: str = ""
    """Of the column."""


def read_persons(context: RowContext, columns: Sequence[Columned], instrumental: bool) -> dict[str, Any]:
    """`composers` and `lyricists` if only names are given, else `writers`; and `publishers` without a person."""
    persons = [column for column in columns if column.field in PERSON]
    names = [tuple(context.value(person.field, person.cell) or ()) for person in persons]
    details: list[list[dict[str, Any]]] = [[{} for _ in some] for some in names]
    publishers: list[str] = []
    for column, covered in _covered(columns, persons):
        if column.cell.empty or _is_absent(context, column):
            continue
        whose = [pair for at in covered for pair in zip(_bare(names[at]), details[at], strict=True)]
        if whose or column.field == "publisher":
            publishers += _read_beside(context, column, whose)
        else:
            _refuse_nobody(context, column, persons[covered[0]].cell if covered else column.cell)
    writers = []
    for person, some, columned in zip(persons, names, details, strict=True):
        roles = ("composer",) if person.field == "writer" and instrumental else ROLES[person.field]
        writers += writers_of(some, roles, columned)
    own_roles = any(own for some in names for _, _, own in with_shares(some))
    detailed = own_roles or any(len(writer) > 2 for writer in writers)
    for writer in writers:
        if writer["name"].isalpha() and not is_east_asian(writer["name"]):
            context.remark(f"{writer['name']!r} is one word; composers and lyricists are named by their legal names.")
    writers = merged(writers)
    _check_shares(context, writers, columns)
    found: dict[str, Any] = {"publishers": tuple(publishers)} if publishers else {}
    if detailed:
        return {**found, "writers": tuple(writers)} if writers else found
    for role in ("composer", "lyricist"):
        named = tuple(writer["name"] for writer in writers if role in writer["roles"])
        found |= {f"{role}s": named} if named else {}
    return found


def _covered(columns: Sequence[Columned], persons: Sequence[Columned]) -> list[tuple[Columned, list[int]]]:
    """Each column about persons with the name columns it refers to: those since the last column of its kind.

    'Composer | Share | Lyricist | Share' are two pairs; in 'Composer | Lyricist | Publisher' the last is about both. A
    header that names its persons ('Lyricist IPI') is about these; a column before all names is about the first.
    """
    columned: list[tuple[Columned, list[int]]] = []
    passed = 0
    since: dict[tuple[str, str], int] = {}
    for column in columns:
        if column.field in PERSON:
            passed += 1
        elif column.field in OF_PERSON:
            whose, _ = about_person(column.title)
            first = since.get((column.field, whose), 0)
            here = [at for at in range(first, passed) if whose in ("", persons[at].field)]
            columned.append((column, here if passed else [0][: len(persons)]))
            since[column.field, whose] = since[column.field, ""] = passed
    return columned


def _read_beside(context: RowContext, column: Columned, whose: Sequence[tuple[str, dict[str, Any]]]) -> list[str]:
    """Add the content of *column* to the details of its persons; publishers without a person are returned.

    Parameters
    ----------
    whose : names, and the details known of each; a name in two columns counts once if that fits
    """
    firsts = {name.casefold(): detail for name, detail in reversed(whose)}
    once = [detail for name, detail in whose if firsts[name.casefold()] is detail]
    found = _entries(context, column.field, column.cell, len(once), len(whose))
    if found is None:
        return []
    if len(found) not in (len(once), len(whose)):
        return [one for one in found if one is not None]
    key = "share_percent" if column.field == "share" else column.field
    for entry, detail in zip(found, once if len(found) == len(once) else [detail for _, detail in whose], strict=True):
        detail[key] = entry
    return []


def _is_absent(context: RowContext, column: Columned) -> bool:
    absent = is_absent(column.field, column.cell.text)
    context.remark(f"{column.cell.place}: {column.cell.text!r} counts as not supplied." if absent else "")
    return absent


def _refuse_nobody(context: RowContext, column: Columned, person: Cell) -> None:
    found = f"nobody, but {column.cell.text!r} in {column.cell.place}"
    context.fault(person.place, found, "the person's legal name", "Fill in the name.")


def _entries(context: RowContext, name: str, cell: Cell, once: int, mentions: int) -> Sequence[Any] | None:
    """One entry per person, None for a placeholder dash; or None if the fault has been reported."""
    if name == "share":
        return _shares(context, cell, once, mentions)
    parts = [part for part in re.split(r"\s*[;\n|]\s*|\s+/\s+", "\n".join(cell.lines)) if part]
    if len(parts) > 1 and any(map(is_placeholder, parts)):
        found = [_entry(context, name, Cell(cell.place, part, part)) for part in parts]
    else:
        found = context.value(name, cell)
    if found is None or name == "publisher" or len(found) in (once, mentions):
        return found
    wanted = f"one for each of {once} persons"
    remedy = "Separate them by ';' in the order of the names, with '-' for a person without one."
    for_all = len(found) == 1 and name == "society"
    choices = (Choice(f"{found[0]} for all {once} persons", tuple(found) * once),) if for_all else ()
    return context.choose(name, cell, CellError(wanted, remedy, choices))  # type: ignore[no-any-return]


def _entry(context: RowContext, name: str, cell: Cell) -> Any:
    return None if is_placeholder(cell.text) else next(iter(context.value(name, cell) or ()), None)


def _shares(context: RowContext, cell: Cell, once: int, mentions: int) -> Sequence[float] | None:
    try:
        return read_shares(cell, once)
    except CellError as refused:
        if mentions > once:
            try:
                return read_shares(cell, mentions)
            except CellError:
                pass
        return context.choose("share", cell, refused)  # type: ignore[no-any-return]


def _check_shares(context: RowContext, writers: Sequence[dict[str, Any]], columns: Sequence[Columned]) -> None:
    """Shares in percent from here on; a sum other than 100 becomes a fault."""
    stated = [writer for writer in writers if writer.get("share_percent") is not None]
    shares = in_percent([writer["share_percent"] for writer in stated])
    for writer, share in zip(stated, shares, strict=True):
        writer["share_percent"] = share
    if not shares or add_up(shares):
        return
    place = next((column.cell.place for column in columns if column.field == "share" and not column.cell.empty), "")
    place = place or next(column.cell.place for column in columns if column.field in PERSON and not column.cell.empty)
    sum_of = " + ".join(f"{share:g}" for share in shares)
    context.fault(
        f"{place} Shares",
        f"{sum_of} = {sum(shares):g} %",
        "100 % for all writers of the track",
        "Ask the publisher for the split.",
    )


def _bare(names: Sequence[str]) -> list[str]:
    return [name for name, _, _ in with_shares(names)]
