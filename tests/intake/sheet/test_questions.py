"""A cell with several readings gives one question, with its place; where no question is possible, a fault."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from delivery.intake.sheet.read import csv_grid
from delivery.intake.sheet.rows import Copy, read_copy
from tests.intake.sheet.corpus import csv


class Person:
    """Chooses by a piece of the choice's text, and remembers the questions."""

    def __init__(self, wanted: str) -> None:
        self.wanted = wanted
        self.requested: list[tuple[str, list[str]]] = []

    def __call__(self, question: str, choices: Sequence[str]) -> int | None:
        self.requested.append((question, list(choices)))
        return next((at for at, choice in enumerate(choices) if self.wanted in choice), None)


def read(person: Person, *rows: tuple[str, ...], head: tuple[str, ...]) -> Copy:
    return read_copy(csv_grid(csv(*rows, head=head), "copy.csv", {}), {}, person)


COMPOSERS = ("No", "Title", "Composer")


def test_one_person_or_two_is_one_question_for_the_whole_sheet() -> None:
    person = Person("2 names")
    copy = read(person, ("1", "Low Water", "Ilse & Tam Varrick"), ("2", "Buoy", "Ilse & Tam Varrick"), head=COMPOSERS)
    assert person.requested == [
        (
            "copy.csv C2 Composers is 'Ilse & Tam Varrick'. What does it mean?",
            ["2 names: Ilse; Tam Varrick", "one person: Ilse & Tam Varrick"],
        )
    ]
    assert [row["composers"] for row in copy.rows] == [("Ilse", "Tam Varrick")] * 2
    assert copy.faults == ()
    assert any("read as answered: 2 names" in remark for remark in copy.remarks)


def test_the_other_answer_is_as_good() -> None:
    copy = read(Person("one person"), ("1", "Low Water", "A/B"), head=COMPOSERS)
    assert copy.rows[0]["composers"] == ("A/B",)


def test_no_answer_leaves_a_fault_with_its_cell() -> None:
    copy = read(Person("neither"), ("1", "Low Water", "A/B"), head=COMPOSERS)
    assert [str(fault)[:22] for fault in copy.faults] == ["copy.csv C2 Composers:"]


@pytest.mark.parametrize(
    ("head", "text", "answer", "field", "value"),
    [
        ("Artist", "Low Lantern & Ada Quay feat. Bo", "2 names", "artists",
         ({"name": "Low Lantern", "role": "main"}, {"name": "Ada Quay", "role": "main"},
          {"name": "Bo", "role": "featured"})),
        ("Artist", "None", "the name is", "artists", ({"name": "None", "role": "main"},)),
        ("Artist", "None", "there is none", "artists", None),
        ("Language", "none", "an instrumental", "instrumental", True),
        ("Composer", "Ilse Merrow; TBC", "without", "composers", ("Ilse Merrow",)),
        ("Recording country", "NA", "Namibia", "recording_country", "NA"),
        ("Preview start", "00:45:00", "0 min 45 s", "preview_start", 45.0),
        ("Preview start", "00:45:00", "45 min", "preview_start", 2700.0),
    ],
)  # fmt: skip
def test_answers_become_values(head: str, text: str, answer: str, field: str, value: object) -> None:
    copy = read(Person(answer), ("1", "Low Water", text), head=("No", "Title", head))
    assert copy.faults == ()
    assert copy.rows[0][field] == value


def test_a_title_that_may_be_ditto() -> None:
    rows = (("1", "Low Water"), ("2", "Same"))
    literal = read(Person("'Same' itself"), *rows, head=("No", "Title"))
    repeated = read(Person("as in B2"), *rows, head=("No", "Title"))
    assert [row["title"] for row in literal.rows] == ["Low Water", "Same"]
    assert [row["title"] for row in repeated.rows] == ["Low Water", "Low Water"]


def test_one_share_and_one_society_for_all() -> None:
    head = ("No", "Title", "Composer", "Share", "Society")
    copy = read(Person("each"), ("1", "Low Water", "Ilse Merrow; Tam Varrick", "50", ""), head=head)
    assert [writer["share_percent"] for writer in copy.rows[0]["writers"]] == [50.0, 50.0]
    copy = read(Person("for all 2"), ("1", "Low Water", "Ilse Merrow; Tam Varrick", "", "SALT"), head=head)
    assert [writer["society"] for writer in copy.rows[0]["writers"]] == ["SALT", "SALT"]
