"""Every messy sheet of the corpus comes out as it must: repaired where proven, refused with its cell where not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.intake.sheet.columns import words_of
from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.rows import Copy, read_copy
from delivery.model.fields import FIELDS
from tests.intake.sheet.corpus import CORPUS, Mess


def read(mess: Mess, folder: Path) -> Copy:
    path = folder / "label copy.csv"  # the name says nothing: content decides
    path.write_bytes(mess.content)
    (grid,) = grids_in(path, {})
    return read_copy(grid, {})


USABLE = [mess for mess in CORPUS if not mess.refused]


def test_the_corpus_is_large_enough() -> None:
    assert len({mess.id for mess in CORPUS}) == len(CORPUS) >= 30


@pytest.mark.parametrize("mess", USABLE, ids=[mess.id for mess in USABLE])
def test_outcome_of_each_row(mess: Mess, tmp_path: Path) -> None:
    copy = read(mess, tmp_path)
    assert {name: [row[name] for row in copy.rows] for name in mess.rows} == mess.rows
    assert {name: copy.release.get(name) for name in mess.release} == mess.release
    for part in mess.remarks:
        assert any(part in remark for remark in copy.remarks), (part, copy.remarks)
    assert len(copy.faults) == len(mess.faults), [str(fault) for fault in copy.faults]
    for fault, parts in zip(copy.faults, mess.faults, strict=True):
        assert all(part in str(fault) for part in parts), str(fault)
        assert str(fault).startswith("label copy.csv ")
        assert fault.remedy


@pytest.mark.parametrize("mess", USABLE, ids=[mess.id for mess in USABLE])
def test_nothing_is_remarked_that_is_not_expected(mess: Mess, tmp_path: Path) -> None:
    """A remark too many costs the reader as much as one too few."""
    remarks = read(mess, tmp_path).remarks
    assert [remark for remark in remarks if not any(part in remark for part in mess.remarks)] == []
    assert all(remark.endswith(".") for remark in remarks)


@pytest.mark.parametrize("mess", [m for m in USABLE if m.faults], ids=[m.id for m in USABLE if m.faults])
def test_a_fault_names_its_cell_and_what_to_do(mess: Mess, tmp_path: Path) -> None:
    """Beside the cell stands what it is about: a heading of our own sheets, 'Shares', or nothing for a missing name."""
    copy = read(mess, tmp_path)
    titles = {column.title for column in FIELDS.values()} | {"Shares", ""}
    for fault in copy.faults:
        place = re.fullmatch(r"label copy\.csv(?:, sheet [^,]+,)? ([A-Z]+)([1-9][0-9]*) ?(.*)", fault.place)
        assert place, fault.place
        assert place[3] in titles
        cells = [cell.place for row in copy.grid.rows for cell in row]
        assert f"{place[1]}{place[2]}" in cells
        assert fault.found
        assert fault.wanted[:1] == fault.wanted[:1].lower() or fault.wanted.startswith("T ")
        assert fault.remedy.endswith((".", "?", '"')), fault.remedy


@pytest.mark.parametrize("mess", USABLE, ids=[mess.id for mess in USABLE])
def test_a_repair_is_always_reported(mess: Mess, tmp_path: Path) -> None:
    """A sheet without remarks has the values it shows."""
    copy = read(mess, tmp_path)
    restored = [row for row in (*copy.rows,) if row["duration_or"]] or str(copy.release.get("upc", "")).startswith("0")
    shown_so = mess.id == "zeros shown by the cell's format"
    assert not restored or shown_so or copy.remarks


@pytest.mark.parametrize("mess", [m for m in CORPUS if m.refused], ids=[m.id for m in CORPUS if m.refused])
def test_sheets_of_no_use_are_refused_whole(mess: Mess, tmp_path: Path) -> None:
    with pytest.raises(Unusable) as caught:
        read(mess, tmp_path)
    assert mess.refused in str(caught.value)
    assert "label copy.csv" in caught.value.place


def test_a_word_heads_one_field_only() -> None:
    seen: dict[str, str] = {}
    for column in FIELDS.values():
        for word in filter(None, map(words_of, (column.title, *column.headings))):
            assert seen.setdefault(word, column.id) == column.id, word
    assert len(seen) > 1000
