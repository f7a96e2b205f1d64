"""Spec files with faults are refused with file, line and the nearest word."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.intake.spec_checks import NAME_FIELDS
from delivery.pack.names import FIELDS, template_faults
from tests.intake.spec_shelf import FRAME, Shelf


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path)


REFUSED = {
    "unknown key": (
        "asks:\n  true_peak_max_dpbt: {must: -1}\n",
        "one.yaml:6 asks true_peak_max_dpbt: found the unknown key",
        "Did you mean 'true_peak_max_dbtp'?",
    ),
    "unknown frame key": (
        "basedon: x\nasks: {}\n",
        "one.yaml:5 basedon: found the unknown key",
        "Did you mean 'based_on'?",
    ),
    "unit in the number": (
        "asks:\n  true_peak_max_dbtp: {must: -1 dBTP}\n",
        "one.yaml:6 asks true_peak_max_dbtp must: found '-1 dBTP', wanted a number",
        "no unit",
    ),
    "kilohertz for hertz": (
        "asks:\n  rate_hz: {must: [44.1]}\n",
        "one.yaml:6 asks rate_hz must 1: found the number 44.1, wanted a whole number",
        "",
    ),
    "too small a rate": (
        "asks:\n  rate_hz: {must: [48]}\n",
        "one.yaml:6 asks rate_hz must 1: found the number 48, wanted at least 8000",
        "",
    ),
    "bare limit": (
        "asks:\n  true_peak_max_dbtp: -1\n",
        "one.yaml:6 asks true_peak_max_dbtp: found the number -1, wanted",
        "should",
    ),
    "neither must nor should": ("asks:\n  tail_s: {source: S}\n", "one.yaml:6 asks tail_s: found no '", ""),
    "both must and should": (
        "asks:\n  bits: {must: [16], should: [24]}\n",
        "one.yaml:6 asks bits: found",
        "not two at once",
    ),
    "a must of a sign": (
        "asks:\n  not_upsampled:\n    must: true\n",
        "one.yaml:7 asks not_upsampled must: found a must, wanted a should",
        "a sign can be wrong",
    ),
    "a flag that is false": (
        "asks:\n  not_cut: {must: false}\n",
        "one.yaml:6 asks not_cut must: found the bare word false, wanted ",
        "",
    ),
    "window upside down": (
        "asks:\n  tail_s: {must: {at_least: 3, at_most: 1}}\n",
        "one.yaml:6 asks tail_s must: found at_least 3 and at_most 1",
        "swap them?",
    ),
    "target outside": (
        "asks:\n  integrated_lufs:\n    must:\n      at_most: -23\n      target: -14\n",
        "one.yaml:9 asks integrated_lufs must target: found the target -14",
        "",
    ),
    "flag in a window": (
        "asks:\n  tail_s: {must: {at_least: true, at_most: 0}}\n",
        "one.yaml:6 asks tail_s must at_least: found the bare word true",
        "",
    ),
    "empty window": ("asks:\n  tail_s: {must: {}}\n", "one.yaml:6 asks tail_s must: found", ""),
    "unknown container": (
        "asks:\n  container: {must: [wave]}\n",
        "one.yaml:6 asks container must 1: found 'wave', wanted one of",
        "Did you mean wav?",
    ),
    "unknown field to supply": (
        "asks:\n  track_fields: {must: [composer]}\n",
        "one.yaml:6 asks track_fields must 1: found 'composer'",
        "composers",
    ),
    "unknown dither": (
        "asks: {}\nconvert: {dither: tdpf}\n",
        "one.yaml:6 convert dither: found 'tdpf'",
        "Did you mean tpdf?",
    ),
    "unknown paper": (
        "asks: {}\npapers: [tracklist]\n",
        "one.yaml:6 papers 1: found 'tracklist'",
        "Did you mean track_list?",
    ),
    "unknown name field": (
        "asks: {}\nname: '{titel}'\n",
        "one.yaml:6 name: found the field {titel}",
        "Did you mean {title}?",
    ),
    "open brace": ("asks: {}\nname: '{title'\n", "one.yaml:6 name: found '{title'", "Close every brace"),
    "width for a text": ("asks: {}\nname: '{title:02}'\n", "one.yaml:6 name: found {title:02}", "take a width"),
    "no such day": (
        "asks:\n  bits: {must: [16], checked: 2026-02-30}\n",
        "one.yaml:6 asks bits checked: found '2026-02-30'",
        "no such day",
    ),
    "gain without a target": (
        "asks:\n  integrated_lufs: {must: {at_most: -9}}\nconvert: {gain: to_target}\n",
        "one.yaml:7 convert gain: found gain to_target",
        "Add the target",
    ),
    "gain without a ceiling": (
        "asks: {}\nconvert: {gain: down_to_ceiling}\n",
        "one.yaml:6 convert gain: found gain down_to_ceiling",
        "true_peak_max_dbtp",
    ),
    "encoding without a rate": (
        "asks:\n  coding: {must: [mp3]}\n",
        "one.yaml:6 asks coding: found mp3 without a bit rate",
        "",
    ),
    "quality for a coding that has none": (
        "asks:\n  coding: {must: [aac]}\nencode: {vbr_quality: 0}\n",
        "one.yaml:7 encode vbr_quality: found vbr_quality for aac",
        "Only MP3",
    ),
    "quality and bit rate": (
        "asks:\n  coding: {must: [mp3]}\nencode: {vbr_quality: 0, bitrate_kbps: 320}\n",
        "one.yaml:7 encode: found bitrate_kbps and vbr_quality, wanted one of them",
        "",
    ),
    "sizes that exclude each other": (
        "asks:\n  artwork_min_px: {must: 3000}\n  artwork_max_px: {must: 1400}\n",
        "one.yaml:6 asks artwork_min_px: found at least 3000 px and at most 1400 px",
        "",
    ),
    "itself as parent": ("based_on: one\n", "one.yaml:5 based_on: found a circle: one -> one", ""),
    "missing parent": (
        "based_on: store-mastr-24\n",
        "one.yaml:5 based_on: found the parent 'store-mastr-24'",
        "Did you mean 'store-master-24'?",
    ),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_fault_is_one_clear_message(fault: str, shelf: Shelf) -> None:
    """File, line, what was found, what is wanted, what to do; and nothing but the fault that is there."""
    body, begins, contains = REFUSED[fault]
    shelf.put(one=FRAME + body)
    (told,) = shelf.faults("one")
    assert told.startswith(begins)
    assert contains in told
    assert "\n" not in told


def test_all_faults_come_together_in_file_order(shelf: Shelf) -> None:
    shelf.put(
        one=FRAME
        + "asks:\n  tail_s: {must: {at_least: 3, at_most: 1}}\n  bitz: {must: [16]}\nname: '{x}'\nconvert: {rate: up}\n"
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("one")] == [f"one.yaml:{line}" for line in (6, 7, 8, 9)]


def test_no_source_anywhere_is_refused(shelf: Shelf) -> None:
    shelf.put(
        one="title: T\nabout: A\nchecked: 2026-11-25\n"
        "asks:\n  bits: {must: [16]}\n  rate_hz: {must: [44100], source: S}\n"
    )
    (told,) = shelf.faults("one")
    assert told.startswith("one.yaml:5 asks bits: found no source")


@pytest.mark.parametrize("missing", ["title", "about", "checked"])
def test_what_every_spec_must_say(missing: str, shelf: Shelf) -> None:
    shelf.put(one="".join(line + "\n" for line in FRAME.splitlines() if not line.startswith(missing)) + "asks: {}\n")
    (told,) = shelf.faults("one")
    assert f"found no '{missing}'" in told


def test_circle_is_drawn(shelf: Shelf) -> None:
    shelf.put(a=FRAME + "based_on: b\n", b=FRAME + "based_on: c\n", c=FRAME + "based_on: b\n")
    (told,) = shelf.faults("a")
    assert told.startswith("c.yaml:5 based_on: found a circle: b -> c -> b")


def test_faults_of_a_parent_name_the_parents_file(shelf: Shelf) -> None:
    shelf.put(
        child=FRAME + "based_on: parent\nasks:\n  tail_s: {must: 3}\n", parent=FRAME + "asks:\n  bits: {must: 16}\n"
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("child")] == ["child.yaml:7", "parent.yaml:6"]


def test_ask_that_lost_its_partner_to_the_child_is_told_where_it_stands(shelf: Shelf) -> None:
    shelf.put(
        parent=FRAME + "asks:\n  true_peak_max_dbtp: {must: -1}\nconvert: {gain: down_to_ceiling}\n",
        child=FRAME + "based_on: parent\nasks:\n  true_peak_max_dbtp: ~\n",
    )
    (told,) = shelf.faults("child")
    assert told.startswith("parent.yaml:7 convert gain: found gain down_to_ceiling")


def test_unknown_name_names_the_nearest(shelf: Shelf) -> None:
    with pytest.raises(
        Unusable, match=r"store-mastre-24: found no spec of this name.*Did you mean 'store-master-24'\?"
    ):
        shelf.load("store-mastre-24")
    with pytest.raises(Unusable, match="There are: archive-bwf, "):
        shelf.load("zzz")


def test_missing_path_is_told(shelf: Shelf) -> None:
    with pytest.raises(Unusable, match="found no such file, wanted a spec file"):
        shelf.load("specs/none.yaml")


def test_name_that_is_no_folder_name_is_refused(shelf: Shelf) -> None:
    (shelf.folder / "my spec!.yaml").write_text(FRAME + "asks: {}\n", encoding="utf-8")
    (told,) = shelf.faults("my spec!")
    assert told.startswith("my spec!.yaml: found the file name 'my spec!'")


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "just words\n", "title: [\n", "asks: 3\n", "title: T\ntitle: T\n"])
def test_text_that_is_no_spec_is_refused_without_a_traceback(text: str, shelf: Shelf) -> None:
    shelf.put(one=text)
    assert all(fault.startswith("one.yaml") for fault in shelf.faults("one"))


# --- agreement with other rooms -----------------------------------------------------------------------------------


def test_name_fields_are_those_the_packing_room_fills() -> None:
    """The rooms may not import each other, so each has its list."""
    assert set(NAME_FIELDS) == set(FIELDS)


@pytest.mark.parametrize(
    "template",
    [
        "{disc_track} {title}",
        "{track:02}",
        "{title:02}",
        "{titel}",
        "{title",
        "{track:2}",
        "{track:002}",
        "{{}} {isrc}",
        "{title!r}",
        "{}",
    ],
)
def test_template_is_judged_as_the_packing_room_judges_it(template: str, shelf: Shelf) -> None:
    shelf.put(one=FRAME + f"asks: {{}}\nname: {json.dumps(template)}\n")
    if template_faults(template):
        assert shelf.faults("one")
    else:
        assert shelf.load("one").name_template == template
