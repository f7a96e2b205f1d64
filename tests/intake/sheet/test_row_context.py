"""Messages and questions while a sheet is read: each once, with the cell it is about."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.parsed import CellError, Choice
from delivery.intake.sheet.row_context import RowContext

GRID = Grid("copy.csv", (), remarks=("noticed when it was read",))
DOUBT = CellError("one of two", "Write which.", (Choice("the first", 1), Choice("the second", 2)))


class Person:
    """Gives these answers in turn, and remembers the questions."""

    def __init__(self, *answers: int | None) -> None:
        self.answers, self.asked = list(answers), list[tuple[str, tuple[str, ...]]]()

    def __call__(self, question: str, choices: Sequence[str]) -> int | None:
        self.asked.append((question, tuple(choices)))
        return self.answers.pop(0)


def faults(context: RowContext) -> list[tuple[str, str, str, str]]:
    return [(one.place, one.found, one.wanted, one.remedy) for one in context.faults]


def test_remarks_are_noted_once_after_those_of_the_file() -> None:
    context = RowContext(GRID)
    for text in ("a", "", "b", "a"):
        context.remark(text)
    assert context.remarks == ["noticed when it was read", "a", "b"]


def test_without_a_person_a_doubt_is_a_fault_of_its_cell() -> None:
    context = RowContext(GRID)
    assert context.choose("isrc", Cell("B7", "x", " x "), DOUBT) is None
    assert context.choose("no field", Cell("B8", "y", ""), DOUBT) is None
    assert faults(context) == [
        ("copy.csv B7 ISRC", "' x '", "one of two", "Write which."),
        ("copy.csv B8 no field", "''", "one of two", "Write which."),
    ]


def test_an_answer_is_taken_and_noted_and_asked_for_once() -> None:
    person = Person(1)
    context = RowContext(GRID, person)
    assert context.choose("isrc", Cell("B7", "x", "x"), DOUBT) == 2
    assert context.choose("isrc", Cell("B9", "x", "x"), DOUBT) == 2, "the same text in the same field"
    assert person.asked == [("copy.csv B7 ISRC is 'x'. What does it mean?", ("the first", "the second"))]
    assert context.remarks[1:] == [
        "B7: 'x' is read as answered: the second.",
        "B9: 'x' is read as answered: the second.",
    ]
    assert context.faults == []


def test_another_text_another_field_or_other_choices_are_another_question() -> None:
    person = Person(0, 0, 0, 0)
    context = RowContext(GRID, person)
    other = CellError("x", "y", (Choice("the third", 3),))
    found = [
        context.choose("isrc", Cell("B7", "x", "x"), DOUBT), context.choose("isrc", Cell("B7", "y", "y"), DOUBT),
        context.choose("upc", Cell("B7", "x", "x"), DOUBT), context.choose("isrc", Cell("B7", "x", "x"), other),
    ]  # fmt: skip
    assert (found, len(person.asked)) == ([1, 1, 1, 3], 4)


def test_no_answer_leaves_the_fault_and_is_not_asked_again() -> None:
    person = Person(None)
    context = RowContext(GRID, person)
    for place in ("B7", "B8"):
        assert context.choose("isrc", Cell(place, "x", "x"), DOUBT) is None
    assert (len(person.asked), len(context.faults)) == (1, 2)


def test_what_nobody_can_decide_is_not_asked() -> None:
    person = Person()
    context = RowContext(GRID, person)
    assert context.choose("isrc", Cell("B7", "x", "x"), CellError("a code", "Ask for it.")) is None
    assert (person.asked, len(context.faults)) == ([], 1)


def test_a_cell_that_is_read_again_repeats_no_fault() -> None:
    context = RowContext(GRID)
    cell = Cell("B7", "ZZOSL26", "ZZOSL26")
    assert [context.value("isrc", cell) for _ in range(2)] == [None, None]
    assert len(context.faults) == 1
    assert context.value("isrc", Cell("B8", "ZZOSL2600001", "ZZOSL2600001")) == "ZZOSL2600001"
    assert context.value("iswc", cell) is None
    assert len(context.faults) == 2, "as another field it is another cell"


@pytest.mark.parametrize("taken", [True, False])
def test_a_part_that_may_be_left_out_keeps_its_messages_until_it_is_taken(taken: bool) -> None:
    person = Person(0)
    context = RowContext(GRID, person)
    context.acts.add("Merrow & the Tide")
    context.choose("isrc", Cell("B7", "x", "x"), DOUBT)
    part = context.another()
    assert part.acts == {"Merrow & the Tide"}
    assert part.remarks == []
    assert part.choose("isrc", Cell("B9", "x", "x"), DOUBT) == 1, "answered already"
    part.fault("C3", "found", "wanted", "remedy")
    if taken:
        context.take(part)
    assert [place for place, *_ in faults(context)] == (["copy.csv C3"] if taken else [])
    assert ("B9: 'x' is read as answered: the first." in context.remarks) is taken
    assert len(person.asked) == 1
