"""Edit cells of a release's label copy: a typed text is read as the same cell of a client's sheet would be.

The edited row is the row that `report.label_copy` exports, with the new texts in it; it is read back, and only the keys
of the edited columns are taken. Text goes into the release file as an import's does: every other byte is unchanged.
Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from delivery.errors import DeliveryError
from delivery.intake.sheet.cells import place_of, text_grid
from delivery.intake.sheet.merge_text import merged_text
from delivery.intake.sheet.rows import read_copy
from delivery.intake.sheet.statements import PEOPLE, RELEASE, Outcome, Plan, Verdict, file_key
from delivery.intake.sheet.write import RELEASE_KEYS, track_keys
from delivery.intake.yaml.text import document_of
from delivery.model.fields import FIELDS
from delivery.model.fields.row import NOT_IN_FILE
from delivery.model.unconfirmed import ORDER

FIXED = ("disc", "number", "file", "isni", "writer", "share", "ipi", "society")
"""Columns that are not edited cell by cell: order and files, and what belongs to a person rather than to a track."""
EDITABLE = tuple(field.id for field in FIELDS.values() if field.id not in FIXED and field.key != NOT_IN_FILE)


@dataclass(frozen=True, slots=True)
class CellText:
    """A text typed into a cell."""

    track: int | None
    """Position of the track; None: the release."""
    field: str
    """Id of the column."""
    text: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why the text of a cell was not taken."""

    cell: CellText
    why: str


@dataclass(frozen=True, slots=True)
class Cells:
    """The label copy as it is exported: headings and texts, the release's own and a row for each track."""

    release: Sequence[tuple[str, str]]
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]


def with_cells(
    text: str, name: str, exported: Cells, typed: Sequence[CellText], check: Callable[[str], object]
) -> tuple[str, tuple[Refusal, ...]]:
    """*text*, a release file, with the *typed* cells, and those that could not be taken.

    Parameters
    ----------
    name : of the file, for messages
    check : reads the new text as a release; raises DeliveryError if it cannot be one

    Raises
    ------
    Unusable : the file is written in a way that cannot be edited safely
    """
    data = document_of(text, name).data
    latest = {(one.track, one.field): one for one in typed}
    groups: dict[int | None, list[CellText]] = {}
    for one in latest.values():
        groups.setdefault(one.track, []).append(one)
    refused: list[Refusal] = []
    outcomes: list[tuple[list[CellText], list[Outcome]]] = []
    for track, cells in groups.items():
        found, faults = _read(data, exported, track, cells)
        refused += faults
        outcomes.append(([one for one in cells if one not in [fault.cell for fault in faults]], found))
    try:
        changed = _written(text, name, data, [one for _, found in outcomes for one in found])
        check(changed)
    except DeliveryError as fault:
        if len(latest) - len(refused) == 1:
            cell = next(cells[0] for cells, _ in outcomes if cells)
            return text, (*refused, Refusal(cell, _brief(fault)))
        changed = text  # the cells one by one, to find the one that the others do not permit
        for one in (cell for cells, _ in outcomes for cell in cells):
            changed, more = with_cells(changed, name, exported, [one], check)
            refused += more
    return changed, tuple(refused)


def with_key(text: str, name: str, key: str, value: Any) -> str:
    """*text* with one key of the release replaced, such as `deliver_to`.

    Raises
    ------
    Unusable : the file is written in a way that cannot be edited safely
    """
    data = document_of(text, name).data
    return merged_text(text, _plan(data, [Outcome(RELEASE, key, Verdict.TAKEN, None, None, None, value)]), {}, name)


def with_order(text: str, name: str, order: Sequence[int]) -> str:
    """*text* with its tracks in a new order; waivers, acceptances and notes follow their tracks.

    Parameters
    ----------
    order : the present positions, in the new order

    Raises
    ------
    Unusable : the file is written in a way that cannot be edited safely
    ValueError : *order* does not name every position once
    """
    data = document_of(text, name).data
    if sorted(order) != list(range(1, len(data["tracks"]) + 1)):
        raise ValueError(order)
    keys = [file_key(str(track["file"])) for track in data["tracks"]]
    marks = ((RELEASE, ORDER),) if ORDER in (data.get("to_confirm") or ()) else ()
    return merged_text(text, Plan((), tuple(keys[at - 1] for at in order), {}, (), (), (), marks), {}, name)


def _written(text: str, name: str, data: Mapping[str, Any], outcomes: Sequence[Outcome]) -> str:
    return merged_text(text, _plan(data, outcomes), {}, name) if outcomes else text


def _plan(data: Mapping[str, Any], outcomes: Sequence[Outcome]) -> Plan:
    """A plan that changes these values, keeps the order, and confirms what it changes."""
    tracks = {str(track["file"]): track for track in data["tracks"]}
    settled = {(one.where, key) for one in outcomes for key in (one.key, *one.also)}
    groups = {RELEASE: data, **tracks}
    confirmed = tuple(
        (where, key)
        for where, group in groups.items()
        for key in group.get("to_confirm") or ()
        if (where, key) in settled
    )
    return Plan(tuple(outcomes), tuple(map(file_key, tracks)), {}, (), (), (), confirmed)


def _read(
    data: Mapping[str, Any], exported: Cells, track: int | None, typed: Sequence[CellText]
) -> tuple[list[Outcome], list[Refusal]]:
    """What the typed cells of one row change, and those that cannot be read."""
    release = dict(exported.release)
    row = list(exported.rows[(track or 1) - 1])
    for one in typed:
        if track is None:
            release[FIELDS[one.field].title] = one.text
        else:
            row[list(exported.columns).index(FIELDS[one.field].title)] = one.text
    columns = [*release, *exported.columns]
    copy = read_copy(text_grid("label copy", [columns, [*release.values(), *row]]), {})
    refused = [
        Refusal(one, f"{fault.wanted[0].upper()}{fault.wanted[1:]}. {fault.remedy}")
        for one in typed
        for fault in copy.faults
        if fault.place.startswith(f"label copy {place_of(1, columns.index(FIELDS[one.field].title))} ")
    ]
    bad = {refusal.cell.field for refusal in refused}
    where, values = RELEASE, {RELEASE_KEYS[key]: value for key, value in copy.release.items() if key in RELEASE_KEYS}
    if track is not None:
        where = str(data["tracks"][track - 1]["file"])
        values = track_keys(copy.rows[0], str(data.get("artist") or "")) if copy.rows else {}
    fields = [FIELDS[one.field] for one in typed if one.field not in bad]
    keys = dict.fromkeys(key for field in fields for key in _keys_of(field.key, field.about))
    return [Outcome(where, key, Verdict.TAKEN, None, None, None, values.get(key)) for key in keys], refused


def _keys_of(key: str, about: Sequence[str]) -> Iterator[str]:
    """Keys that a column fills; writers name composers and lyricists too, so the three change together."""
    yield from dict.fromkeys((key, *about, *(PEOPLE if key in PEOPLE else ())))


def _brief(fault: DeliveryError) -> str:
    """The first fault without its place: the message is shown beside the cell."""
    first = (getattr(fault, "faults", None) or (fault,))[0]
    wanted, remedy = getattr(first, "wanted", ""), getattr(first, "remedy", "")
    return f"{wanted[0].upper()}{wanted[1:]}. {remedy}" if wanted else str(fault)
