"""The sheet of a release, still open: what is filled in and what is missing, and beside it what to settle."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from delivery.desk.state import OpenRelease
from delivery.model.fields import FIELDS
from delivery.model.finding import Instrument
from delivery.model.release import Track
from delivery.model.unconfirmed import unconfirmed
from delivery.report.view import words
from delivery.report.view.elements import Verdict
from delivery.report.view.finding_rows import Notice
from delivery.report.view.groups import Item, groups_of
from delivery.report.view.questions import RELEASE_COLUMNS, RULE_COLUMNS, TRACK_COLUMNS, mail, questions_of
from delivery.report.view.track_page import TrackPage
from delivery.tasks.edit import EDITABLE

FIRST_COLUMNS = ("title", "version", "artist", "isrc")
"""Shown at first; the others on request."""
FIRST_FACTS = ("label", "catalogue_number", "upc", "release_date", "genre", "p_line", "c_line", "client")
HEADLINE = ("album", "album_version", "album_artist")
FIGURES = ("Loudness", "True peak")
"""Rows of a track's figures that its line shows."""
MOST_PLACES = 12


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell that can be edited."""

    id: str
    """'c-3-isrc'; 'c-0-upc' of the release."""
    field: str
    label: str
    text: str
    hint: str
    guess: bool = False
    """Taken from a file or folder name and not yet confirmed."""


@dataclass(frozen=True, slots=True)
class Line:
    """One track of the table."""

    position: int
    number: str
    title: str
    cells: tuple[Cell, ...]
    length: str
    figures: tuple[str, ...]
    state: Verdict | None
    file: str


@dataclass(frozen=True, slots=True)
class Place:
    """A time to listen at, or a cell to fill in."""

    position: int
    text: str
    at_s: float = 0.0
    cell: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """One line beside the sheet."""

    id: str
    item: Item
    reasons: tuple[Notice, ...]
    places: tuple[Place, ...] = ()
    more_places: int = 0
    cells: tuple[Place, ...] = ()
    waive: tuple[str, ...] = ()
    """'RULE' or 'RULE:TRACK', one for each track; empty: it cannot be waived."""
    accept: tuple[str, ...] = ()
    confirm: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """The label copy, as cells."""

    lines: tuple[Line, ...]
    heads: tuple[str, ...]
    facts: tuple[Cell, ...]
    headline: dict[str, Cell]
    """Title, version and artist of the release."""


@dataclass(frozen=True, slots=True)
class Notes:
    """What is printed beside the sheet, in the groups of `check`."""

    settle: tuple[Note, ...] = ()
    questions: tuple[Note, ...] = ()
    remarks: tuple[Note, ...] = ()
    remark_count: int = 0
    mail: str = ""
    """The questions as a message to the client."""


def sheet_of(one: OpenRelease, *, everything: bool) -> Sheet:
    """The label copy of *one*, which has a release without faults; *everything*: in all columns."""
    release, copy = one.text.release, one.text.copy
    assert release is not None
    assert copy is not None
    used = [name for name in EDITABLE if not FIELDS[name].of_release and FIELDS[name].title in copy.columns]
    columns = [name for name in used if everything or name in FIRST_COLUMNS]
    guesses = {(found.track, found.key) for found in unconfirmed(release)}
    texts = dict(copy.release)

    def of_release(name: str) -> Cell:
        column = FIELDS[name]
        return Cell(
            f"c-0-{name}", name, column.title, texts[column.title], column.meaning, (None, column.key) in guesses
        )

    facts = [name for name in EDITABLE if FIELDS[name].of_release and name not in HEADLINE]
    shown = [name for name in facts if everything or name in FIRST_FACTS]
    lines = []
    for row, each in zip(copy.rows, release.tracks, strict=True):
        cells = dict(zip(copy.columns, row, strict=True))
        lines.append(_line(one, each, [_cell(each, name, cells, guesses) for name in columns]))
    return Sheet(
        tuple(lines),
        tuple(FIELDS[name].title for name in columns),
        tuple(map(of_release, shown)),
        {name: of_release(name) for name in HEADLINE},
    )


def _cell(each: Track, name: str, cells: dict[str, str], guesses: set[tuple[int | None, str]]) -> Cell:
    column = FIELDS[name]
    label = f"{column.title}, track {each.position}"
    guess = (each.position, column.key) in guesses
    return Cell(f"c-{each.position}-{name}", name, label, cells[column.title], column.meaning, guess)


def _line(one: OpenRelease, each: Track, cells: list[Cell]) -> Line:
    found = track_page_of(one, each.position)
    number = words.numbers(one.text.release)[each.position] if one.text.release else str(each.position)
    if found is None:
        return Line(each.position, number, each.title, tuple(cells), "", ("",) * len(FIGURES), None, each.file.name)
    figures = {row.label: row.cells[0] for row in found.figures.rows} if found.figures else {}
    length = next((order.length for order in one.view.order if order.number == found.number), "") if one.view else ""
    shown = tuple(figures.get(label, "") for label in FIGURES)
    return Line(each.position, number, each.title, tuple(cells), length, shown, found.verdict, each.file.name)


def track_page_of(one: OpenRelease, position: int) -> TrackPage | None:
    """The track as checked; None where another file is at this position now."""
    if one.view is None or one.text.release is None:
        return None
    now = {each.position: each.file for each in one.text.release.tracks}.get(position)
    then = {each.position: each.file for each in one.view.delivery.release.tracks}.get(position)
    return next((each for each in one.view.tracks if each.position == position and now == then), None)


def notes_of(one: OpenRelease) -> Notes:
    """What the last check found, in groups; empty before the first."""
    if one.view is None:
        return Notes()
    groups = groups_of(one.view.notices, one.view.remarks)
    asked = questions_of(one.view)
    return Notes(
        _named("settle", groups.to_settle),
        _named("question", groups.questions),
        _named("remark", groups.remarks),
        groups.remark_count,
        mail(one.view, asked, "the attached sheet") if asked.questions else "",
    )


def _named(group: str, items: Sequence[Item]) -> tuple[Note, ...]:
    """The notes of a group, each named by its rule and its text: a name stays when others are settled."""
    names: dict[str, int] = {}
    notes = []
    for item in items:
        rule = item.notices[0].rule if item.notices else ""
        name = f"{group}-{rule or hashlib.sha256(item.text.encode()).hexdigest()[:8]}"
        names[name] = names.get(name, 0) + 1
        notes.append(_note(f"{name}-{names[name]}" if names[name] > 1 else name, item))
    return tuple(notes)


def _note(id: str, item: Item) -> Note:
    places = [
        Place(notice.position, words.at(at_s), at_s)
        for notice in item.notices
        if notice.position
        for at_s in notice.at_s
    ]
    cells = list(dict.fromkeys(cell for notice in item.notices for cell in _cells_of(notice)))
    rule = item.notices[0].rule if item.notices else ""
    settles = any(notice.refuses for notice in item.notices)
    instruments = {notice.instrument for notice in item.notices}
    tracks = [notice.position for notice in item.notices if notice.position]
    about = tuple(f"{rule}:{position}" for position in dict.fromkeys(tracks)) or ((rule,) if rule else ())
    return Note(
        id,
        item,
        item.notices,
        tuple(places[:MOST_PLACES]),
        max(0, len(places) - MOST_PLACES),
        tuple(cells),
        waive=about if settles and Instrument.WAIVE in instruments else (),
        accept=about if not settles and tracks and Instrument.ACCEPT in instruments else (),
        confirm=rule == "to_confirm",
    )


def _cells_of(notice: Notice) -> Iterator[Place]:
    """The cell that a notice is about, if it is one of label copy."""
    missing = (TRACK_COLUMNS if notice.position else RELEASE_COLUMNS).get(notice.wanted, "")
    name = missing if notice.found == words.NOT_SUPPLIED else RULE_COLUMNS.get(notice.rule, "")
    if name in EDITABLE:
        at = 0 if FIELDS[name].of_release else notice.position or 0
        if at or FIELDS[name].of_release:
            yield Place(at, FIELDS[name].title, cell=f"c-{at}-{name}")
