"""The order of the rows of a sheet, sides counted through, and values that only one row may have."""

from __future__ import annotations

from typing import Any

from delivery.intake.sheet.cells import Grid
from delivery.intake.sheet.order import in_order
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.row_context import RowContext


def row(at: int, /, **values: Any) -> Row:
    """A row of the sheet with its cells in columns A (number), B (side), C (ISRC) and D (file)."""
    places = {"number": f"A{at}", "side": f"B{at}", "isrc": f"C{at}", "file": f"D{at}"}
    return Row(at, values, {name: place for name, place in places.items() if name in values})


def ordered(*rows: Row) -> tuple[list[tuple[Any, ...]], list[str], list[str]]:
    """Disc, side and number of each row; remarks; faults."""
    context = RowContext(Grid("copy.csv", ()))
    found = in_order(context, rows)
    faults = [f"{one.place}: {one.found}; {one.wanted}; {one.remedy}" for one in context.faults]
    return [(one["disc"], one["side"], one["number"]) for one in found], context.remarks, faults


def test_rows_are_put_in_the_order_of_their_numbers() -> None:
    found, remarks, faults = ordered(row(2, number=2), row(3, number=1))
    assert found == [(None, None, 1), (None, None, 2)]
    assert remarks == ["The rows are not in the order of their numbers; the numbers are used."]
    assert faults == []
    assert ordered(row(2, number=1), row(3, number=2))[1] == []
    discs, remarks, _ = ordered(row(2, number=1, disc=2), row(3, number=2))
    assert (discs, len(remarks)) == ([(None, None, 2), (2, None, 1)], 1), "no disc is the first"


def test_rows_stay_where_one_has_no_number() -> None:
    found, remarks, _ = ordered(row(2, number=2), row(3), row(4, number=1))
    assert [number for *_, number in found] == [2, None, 1]
    assert remarks == []


def test_a_number_twice_on_a_disc_is_a_fault_that_names_both_cells() -> None:
    _, _, faults = ordered(row(2, number=1), row(3, number=1), row(4, number=1, disc=2))
    assert faults == [
        "copy.csv A3 Track no.: number 1, which A2 has already; each number once on its disc; Correct one of them."
    ]
    assert ordered(row(2, number=1, disc=1), row(3, number=1))[2] == [
        "copy.csv A3 Track no.: number 1, which A2 has already; each number once on its disc; Correct one of them."
    ]


def test_codes_and_files_belong_to_one_row() -> None:
    _, _, faults = ordered(
        row(2, isrc="ZZOSL2600001", file="A.wav"), row(3, isrc="ZZOSL2600001", file="a.WAV"), row(4), row(5)
    )
    ask = "Ask which of them is right."
    assert faults == [
        f"copy.csv C3 ISRC: 'ZZOSL2600001', which C2 has already; a code of its own for each track; {ask}",
        f"copy.csv D3 File: 'a.WAV', which D2 has already; a file of its own for each track; {ask}",
    ]


def test_a_side_goes_on_until_the_next_one_is_stated() -> None:
    found, _, faults = ordered(
        row(2, number=1, side="A"), row(3, number=2), row(4, number=3, side="B"), row(5, number=4),
        row(6, number=1, disc=2),
    )  # fmt: skip
    assert [side for _, side, _ in found] == ["A", "A", "B", "B", None], "another disc begins without a side"
    assert faults == []


def test_a_side_that_comes_back_is_a_fault() -> None:
    _, _, faults = ordered(row(2, number=1, side="A"), row(3, number=2, side="B"), row(4, number=3, side="A"))
    assert faults == [
        "copy.csv B4 Side: side A again, after side B; all tracks of a side together; Correct the side or the number."
    ]


def test_sides_lettered_again_on_the_second_record_become_c_and_d() -> None:
    found, remarks, faults = ordered(
        row(2, number=1, side="A", disc=1), row(3, number=2, side="B", disc=1),
        row(4, number=1, side="A", disc=2), row(5, number=2, side="B", disc=2),
    )  # fmt: skip
    assert [side for _, side, _ in found] == ["A", "B", "C", "D"]
    assert remarks == ["Sides are lettered through all discs: A of disc 2 is C, B of disc 2 is D."]
    assert faults == []


def test_numbers_that_restart_on_each_side_are_counted_through_the_disc() -> None:
    found, remarks, faults = ordered(
        row(2, number=1, side="A"), row(3, number=2, side="A"), row(4, number=1, side="B"), row(5, number=2, side="B"),
        row(6, number=1, side="C", disc=2),
    )  # fmt: skip
    assert [number for *_, number in found] == [1, 2, 3, 4, 1]
    assert remarks == ["Numbers restart on each side; they are numbered across sides: B1 is 3, C1 is 1."]
    assert faults == []


def test_numbers_are_unchanged_where_a_row_has_no_side_or_no_number() -> None:
    for rows in (
        (row(2, number=1), row(3, number=1, side="B")),
        (row(2, number=1, side="A"), row(3, side="B"), row(4, number=1, side="B")),
    ):
        assert not [remark for remark in ordered(*rows)[1] if "restart" in remark]
    doubled = ordered(row(2, number=1, side="A"), row(3, number=1, side="A"), row(4, number=1, side="B"))
    assert not [remark for remark in doubled[1] if "restart" in remark]
    assert len(doubled[2]) == 2
