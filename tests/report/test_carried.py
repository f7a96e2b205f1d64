"""Changes of the masters' tags and chunks are reported once: on the sheet, the terminal and in the data document."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

from jsonschema import Draft202012Validator
from rich.console import Console

from delivery.model.carried import Item, Passage, Replaced
from delivery.model.part import Delivery
from delivery.report.data import document as data_json
from delivery.report.html import sheet as sheet_html
from delivery.report.text import full
from delivery.report.view.make import View, view_of
from tests import samples

SCHEMA = json.loads((Path(__file__).parents[2] / "specs" / "output.schema.json").read_text(encoding="utf-8"))
CODE = Item("label_copy", "ID3 TSRC", "QZABC2400001", "isrc")
CODE_TOO = Item("label_copy", "axml", "QZABC2400001", "isrc")
COMMENT = Item("comments", "INFO ICMT", "take 3")
CUES = Item("cue_points", "chunk cue", "2 points")
BEXT = Item("bext", "bext Description", "bounce 3")
SOFTWARE = Item("encoder", "INFO ISFT", "Some Editor")


def delivery(*passages: Passage) -> Delivery:
    """One track; a passage for each spec in turn."""
    whole = samples.delivery(1)
    parts = tuple(replace(part, passage=passage) for part, passage in zip(whole.parts, passages, strict=True))
    return replace(whole, parts=parts)


def view(of: Delivery) -> View:
    return view_of(of, samples.FIGURES)


EVERYWHERE = Passage(removed=(CODE, CODE_TOO, COMMENT, SOFTWARE))
ONE_KEEPS = Passage(
    kept=(CUES,), removed=(CODE, CODE_TOO, COMMENT), replaced=(Replaced(BEXT, "Low Water, Long Shadow"),)
)


def test_what_holds_for_all_files_is_one_row_and_the_rest_names_its_specs() -> None:
    rows = view(delivery(EVERYWHERE, ONE_KEEPS, EVERYWHERE)).carried
    cd = samples.CD.id
    assert [(row.what, row.text, row.specs) for row in rows] == [
        ("Removed from the master", "ISRC 'QZABC2400001' (ID3 TSRC, axml); comments 'take 3' (INFO ICMT)", ()),
        ("Replaced in the master's tags", "bext Description 'bounce 3' by 'Low Water, Long Shadow'", (cd,)),
        ("Kept from the master", "chunk cue 2 points", (cd,)),
    ]


def test_a_master_that_carries_nothing_is_not_mentioned() -> None:
    assert view(samples.delivery(1)).carried == ()
    assert view(delivery(*[Passage(removed=(SOFTWARE,))] * 3)).carried == ()


def test_files_that_were_refused_are_not_mentioned() -> None:
    refused = delivery(EVERYWHERE, ONE_KEEPS, EVERYWHERE)
    parts = tuple(replace(part, shipped=None) for part in refused.parts)
    assert view(replace(refused, parts=parts, built=True)).carried == ()


def test_sheet_and_terminal_print_it_once() -> None:
    shown = view(delivery(EVERYWHERE, ONE_KEEPS, EVERYWHERE))
    console = Console(file=io.StringIO(), width=160)
    for part in full.build_summary(shown):
        console.print(part)
    output = console.file.getvalue()  # type: ignore[attr-defined]
    assert output.count("QZABC2400001") == 1
    assert "bext Description, by label copy" in output
    assert sheet_html.render(shown).decode().count("QZABC2400001") == 1
    assert [(done.title, done.headline) for done in shown.tracks[0].done[3:]] == [
        ("Every file", "Removed from the master"),
        ("CD-rate files", "Replaced in the master's tags"),
        ("CD-rate files", "Kept from the master"),
    ]


def test_the_data_document_has_all_of_it() -> None:
    document = json.loads(data_json.render(view(delivery(EVERYWHERE, ONE_KEEPS, EVERYWHERE))))
    Draft202012Validator(SCHEMA).validate(document)
    assert [len(part["from_master"]["removed"]) for part in document["parts"]] == [4, 3, 4]
    assert document["parts"][1]["from_master"]["replaced"] == [
        {"kind": "bext", "field": "", "place": "bext Description", "text": "bounce 3", "now": "Low Water, Long Shadow"}
    ]


def test_an_identical_file_is_reported_as_the_master() -> None:
    whole = samples.delivery(1)
    (source,), part = whole.sources, whole.parts[0]
    assert part.shipped
    same = replace(part, shipped=replace(part.shipped, sha256=source.sha256))
    headline = view(replace(whole, parts=(same, *whole.parts[1:]))).tracks[0].done[0].headline
    assert headline.startswith("the master itself, byte for byte: its own SHA-256")
