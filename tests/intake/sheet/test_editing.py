"""Cells typed on the desk's page: read as a client's sheet is, written so that every other byte stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import DeliveryError
from delivery.intake.release.file import release_of
from delivery.intake.sheet.editing import EDITABLE, Cells, CellText, with_cells, with_key, with_order
from delivery.intake.yaml.text import document_of
from delivery.model.part import Delivery, Source
from delivery.model.release import Release, Studio
from delivery.report.view.label_copy import label_copy
from delivery.report.view.make import view_of

TEXT = """\
title: Harbour  # working title
artist: Merrow
label: Ostrelune
to_confirm: [title, tracks]
tracks:
  - file: 01 Low Water.wav
    title: Low Water   # as sung
    isrc: ZZOSL2600001
    to_confirm: [title]
    writers:
      - {name: Ilse Merrow, share_percent: 100}
  - {file: "02 Lamps.wav", title: "Lamps"}
waivers:
  - {rule: isrc, track: 2, by: I, why: none yet}
"""


def release(text: str) -> Release:
    return release_of(document_of(text, "release.yaml"), Path("/m/release.yaml"))


def check(text: str) -> Release:
    return release(text)


def exported(text: str) -> Cells:
    found = release(text)
    sources = tuple(Source(track, None) for track in found.tracks)
    copy = label_copy(view_of(Delivery(found, Studio(), (), sources, ()), {}))
    return Cells(copy.release, copy.columns, copy.rows)


def typed(*cells: tuple[int | None, str, str], text: str = TEXT) -> tuple[str, list[tuple[str, str]]]:
    """The new text, and field and reason of each cell that was not taken."""
    new, refused = with_cells(text, "release.yaml", exported(text), [CellText(*cell) for cell in cells], check)
    return new, [(one.cell.field, one.why) for one in refused]


def test_one_cell_changes_one_value_and_keeps_the_comment_beside_it() -> None:
    new, refused = typed((2, "title", "Lanterns"))
    assert (new, refused) == (TEXT.replace('"Lamps"}', '"Lanterns"}'), [])
    new, refused = typed((None, "label", "Ostrelune Records"))
    assert (new, refused) == (TEXT.replace("label: Ostrelune", 'label: "Ostrelune Records"'), [])


def test_a_value_that_was_to_be_confirmed_is_settled_by_typing_it() -> None:
    new, _ = typed((1, "title", "High Water"))
    first = release(new).tracks[0]
    assert (first.title, first.to_confirm, release(new).to_confirm) == ("High Water", (), ("title", "tracks"))
    assert "# as sung" in new
    new, _ = typed((None, "album", "Harbour Arithmetic"))
    assert release(new).to_confirm == ("tracks",)
    assert release(new).tracks[0].to_confirm == ("title",)


def test_several_cells_of_several_rows() -> None:
    new, refused = typed((1, "isrc", "zz-osl-26-00009"), (2, "composer", "Ada; Bo"), (None, "upc", "036000291452"))
    found = release(new)
    assert refused == []
    assert (found.tracks[0].isrc, found.tracks[1].composers, found.upc) == (
        "ZZOSL2600009",
        ("Ada", "Bo"),
        "036000291452",
    )


def test_of_two_texts_for_one_cell_the_later_one_counts() -> None:
    new, _ = typed((2, "title", "First"), (2, "title", "Second"))
    assert release(new).tracks[1].title == "Second"


def test_an_emptied_cell_takes_its_value_away() -> None:
    new, refused = typed((1, "isrc", ""))
    assert (release(new).tracks[0].isrc, refused) == ("", [])
    assert release(new).tracks[0].title == "Low Water"


def test_a_cell_that_cannot_be_read_is_refused_and_the_others_are_written() -> None:
    new, refused = typed((2, "isrc", "ZZOSL26"), (2, "title", "Lanterns"), (1, "bpm", "fast"))
    assert new == TEXT.replace('"Lamps"}', '"Lanterns"}')
    assert [field for field, _ in refused] == ["isrc", "bpm"]
    reasons = dict(refused)
    assert reasons["isrc"].startswith("12 letters and digits. It has 7 characters")
    assert reasons["bpm"] == "Beats a minute, such as 92. Write the number."


def test_a_cell_that_the_release_file_cannot_hold_is_refused_with_the_reason() -> None:
    new, refused = typed((1, "title", ""))
    assert new == TEXT
    ((field, why),) = refused
    assert field == "title"
    assert why[0].isupper()
    assert "release.yaml" not in why, "it is shown beside the cell"


def test_of_several_cells_only_the_one_that_cannot_be_held_is_left_out() -> None:
    """An ISRC used for two tracks is refused when the release file is read, not when the cell is."""

    def no_second_lamps(text: str) -> object:
        if "Lanterns" in text:
            raise DeliveryError("no lanterns")
        return release(text)

    cells = [CellText(1, "title", "High Water"), CellText(2, "title", "Lanterns"), CellText(None, "label", "Tide")]
    new, refused = with_cells(TEXT, "release.yaml", exported(TEXT), cells, no_second_lamps)
    assert [(one.cell.track, one.cell.field, one.why) for one in refused] == [(2, "title", "no lanterns")]
    found = release(new)
    assert ([track.title for track in found.tracks], found.label) == (["High Water", "Lamps"], "Tide")


def test_columns_that_belong_to_a_person_or_place_a_track_are_not_edited() -> None:
    assert {"title", "isrc", "composer", "label", "album", "bpm"} <= set(EDITABLE)
    assert not {"disc", "number", "file", "isni", "writer", "share", "ipi", "society", "duration"} & set(EDITABLE)


def test_one_key_of_the_release() -> None:
    new = with_key(TEXT, "release.yaml", "deliver_to", ["cd-master", "store"])
    assert release(new).deliver_to == ("cd-master", "store")
    assert release(with_key(new, "release.yaml", "deliver_to", None)).deliver_to == ()
    settled = with_key(TEXT, "release.yaml", "title", "Harbour Arithmetic")
    assert (release(settled).title, release(settled).to_confirm) == ("Harbour Arithmetic", ("tracks",))


def test_another_order_takes_waivers_with_it_and_is_no_longer_a_guess() -> None:
    new = with_order(TEXT, "release.yaml", (2, 1))
    found = release(new)
    assert [track.title for track in found.tracks] == ["Lamps", "Low Water"]
    assert found.waivers[0].track == 1
    assert found.to_confirm == ("title",)
    assert "# as sung" in new
    again = with_order(new, "release.yaml", (2, 1))
    assert [track.title for track in release(again).tracks] == ["Low Water", "Lamps"]


@pytest.mark.parametrize("order", [(1,), (1, 1), (1, 2, 3), (0, 1), (2, 3)])
def test_an_order_that_does_not_name_every_track_once(order: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match=str(order[0])):
        with_order(TEXT, "release.yaml", order)
