"""Spec files: found, inherited, and refused with file and line."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from delivery.errors import Faulty, Unusable
from delivery.intake import is_stale, load_spec, spec_names
from delivery.intake.spec_checks import NAME_FIELDS
from delivery.model.spec import Conversions
from delivery.pack.names import FIELDS, template_faults

FRAME = "title: T\nabout: A\nchecked: 2026-11-25\nsource: common practice, no source\n"


@pytest.fixture
def shelf(tmp_path: Path) -> Any:
    """Write spec files by name, and load one of them."""

    class Shelf:
        folder = tmp_path

        def put(self, **texts: str) -> None:
            for name, text in texts.items():
                (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")

        def load(self, name: str) -> Any:
            return load_spec(name, (tmp_path,))

        def faults(self, name: str) -> list[str]:
            with pytest.raises(Faulty) as caught:
                self.load(name)
            return [str(fault) for fault in caught.value.faults]

    return Shelf()


# --- what comes along ---------------------------------------------------------------------------------------------


def test_specs_that_come_along() -> None:
    """Named for purpose or standard; the parent that is nothing else is not offered."""
    assert [name for name, _ in spec_names()] == [
        "archive-bwf",
        "broadcast-a85",
        "broadcast-r128",
        "cd-rate-16",
        "listening-aac-256",
        "listening-mp3-320",
        "store-master-24",
        "store-master-hires",
        "sync-48-24",
        "vinyl-premaster",
    ]
    assert load_spec("store-base").id == "store-base"


@pytest.mark.parametrize("name", [name for name, _ in spec_names()])
def test_every_limit_is_sourced_and_dated(name: str) -> None:
    spec = load_spec(name)
    assert spec.requirements
    assert list(spec.requirements) == sorted(spec.requirements, key=lambda one: one.asks)
    for one in spec.requirements:
        assert one.source
        assert one.checked == date(2026, 11, 25)
        file, line = one.place.split(":")
        assert f"  {one.asks}:" in (Path("specs") / file).read_text(encoding="utf-8").splitlines()[int(line) - 1]


@pytest.mark.parametrize("name", [name for name, _ in spec_names()])
def test_level_is_no_must_without_a_standard(name: str) -> None:
    """A loud commercial master is not refused by anybody's habit: peaks and loudness fail a file only by a document."""
    about_level = ("true_peak", "sample_peak", "integrated", "momentary", "short_term", "loudness", "clip", "dc_")
    for one in load_spec(name).requirements:
        if one.must and one.asks.startswith(about_level):
            assert "common practice" not in one.source


def test_figures_of_the_standards() -> None:
    """EBU R 128 v5: -23.0 LUFS, 0.2 LU, -1 dBTP. ATSC A/85:2013: -24 LKFS, 2 dB, -2 dBTP. IEC 60908: 44.1 kHz, 16 bit,
    2 channels, 74 minutes (333 000 frames of 1/75 s). All read second-hand."""
    r128, a85, disc = load_spec("broadcast-r128"), load_spec("broadcast-a85"), load_spec("cd-rate-16")
    assert r128.limit("integrated_lufs") == {"at_least": -23.2, "at_most": -22.8, "target": -23.0}
    assert a85.limit("integrated_lufs") == {"at_least": -26.0, "at_most": -22.0, "target": -24.0}
    assert (r128.limit("true_peak_max_dbtp"), a85.limit("true_peak_max_dbtp")) == (-1.0, -2.0)
    assert r128.conversions.gain == a85.conversions.gain == "to_target"
    assert (disc.limit("rate_hz"), disc.limit("bits"), disc.limit("channels")) == ((44100,), (16,), (2,))
    assert disc.limit("total_duration_max_s") == 333_000 / 75


@pytest.mark.parametrize("name", ["vinyl-premaster", "archive-bwf"])
def test_specs_that_touch_no_sample(name: str) -> None:
    steps = load_spec(name).conversions
    assert (steps.rate, steps.depth, steps.gain) == ("never", "never", "never")


def test_gain_is_ordered_by_broadcast_alone() -> None:
    orders = {name for name, _ in spec_names() if load_spec(name).conversions.gain != "never"}
    assert orders == {"broadcast-a85", "broadcast-r128"}


def test_listening_copies_are_reference_only() -> None:
    reference = {name for name, _ in spec_names() if load_spec(name).reference_only}
    assert reference == {"listening-aac-256", "listening-mp3-320"}
    assert load_spec("listening-aac-256").bitrate_kbps == 256


# --- inheritance --------------------------------------------------------------------------------------------------


def test_child_overrides_adds_and_lifts_by_key(shelf: Any) -> None:
    shelf.put(
        grand=FRAME
        + "asks:\n  rate_hz: {must: [44100]}\n  bits: {must: [24], source: G}\nconvert: {rate: lower, gain: never}\n",
        parent=FRAME
        + "based_on: grand\nasks:\n  bits: {should: [16], checked: 2026-01-02}\n  not_cut: {should: true}\n",
        child=FRAME
        + "based_on: parent\nasks:\n  not_cut: ~\n  tail_s: {must: {at_most: 3}, note: N}\nconvert: {depth: lower}\n",
    )
    spec = shelf.load("child")
    told = {
        one.asks: (one.limit, one.must, one.source, str(one.checked), one.spec, one.place, one.note)
        for one in spec.requirements
    }
    habit = "common practice, no source"
    assert told == {
        "bits": ((16,), False, habit, "2026-01-02", "parent", "parent.yaml:7", ""),
        "rate_hz": ((44100,), True, habit, "2026-11-25", "grand", "grand.yaml:6", ""),
        "tail_s": ({"at_most": 3}, True, habit, "2026-11-25", "child", "child.yaml:8", "N"),
    }
    assert spec.lineage == ("parent", "grand")
    assert spec.conversions == Conversions(rate="lower", depth="lower")


def test_frame_is_inherited_too(shelf: Any) -> None:
    shelf.put(
        parent=FRAME + 'name: "{title}"\nembed_tags: false\npapers: [track_list]\nencode: {bitrate_kbps: 320}\n'
        "purpose: reference_only\ndual_mono: true\ngood_for_months: 3\nedition: '2'\nasks: {}\n",
        child=FRAME + "based_on: parent\nembed_artwork: true\n",
        release=FRAME + "based_on: parent\npurpose: release\n",
    )
    spec = shelf.load("child")
    assert (spec.name_template, spec.embed_tags, spec.embed_artwork, spec.papers) == (
        "{title}",
        False,
        True,
        ("track_list",),
    )
    assert (spec.bitrate_kbps, spec.dual_mono, spec.good_for_months, spec.reference_only) == (320, True, 3, True)
    assert spec.edition == ""  # the parent's document is not the child's
    assert not shelf.load("release").reference_only


def test_nearest_folder_wins_and_a_path_works_too(shelf: Any) -> None:
    shelf.put(**{"cd-rate-16": FRAME.replace("title: T", "title: Mine") + "asks: {}\n"})
    assert shelf.load("cd-rate-16").title == "Mine"
    assert load_spec("cd-rate-16").title != "Mine"
    assert load_spec(str(shelf.folder / "cd-rate-16.yaml")).title == "Mine"
    assert load_spec("cd-rate-16.yaml", (shelf.folder,)).title == "Mine"


def test_a_parent_is_looked_for_beside_the_child_first(shelf: Any) -> None:
    shelf.put(parent=FRAME + "asks:\n  bits: {must: [16]}\n", child=FRAME + "based_on: parent\n")
    assert load_spec(str(shelf.folder / "child.yaml")).limit("bits") == (16,)


def test_other_yaml_files_in_the_folder_are_no_specs(shelf: Any) -> None:
    shelf.put(release="title: T\ntracks: []\nasks: {}\n", studio="engineer: E\n", shopping="- tea\n")
    shelf.put(mine=FRAME + "asks: {}\n", broken="asks: [\n")
    names = [name for name, _ in spec_names((shelf.folder,))]
    assert {"mine", "broken"} <= set(names)
    assert not {"release", "studio", "shopping"} & set(names)
    assert names == sorted(names)


def test_window_of_one_value_and_equal_sizes_are_no_faults(shelf: Any) -> None:
    exactly = "{at_least: 30, at_most: 30}"
    shelf.put(
        one=FRAME
        + f"asks:\n  duration_s: {{must: {exactly}}}\n"
        + "  artwork_min_px: {must: 3000}\n  artwork_max_px: {must: 3000}\n"
    )
    assert shelf.load("one").limit("duration_s") == {"at_least": 30, "at_most": 30}


# --- digest and age -----------------------------------------------------------------------------------------------


def test_digest_follows_meaning_not_layout(shelf: Any) -> None:
    text = FRAME + "asks:\n  rate_hz: {must: [44100]}\n"
    shelf.put(one=text)
    before = shelf.load("one").digest
    shelf.put(one="# a remark\n\n" + text.replace("{must: [44100]}", "\n    must:\n      - 44100"))
    assert shelf.load("one").digest == before
    for changed in (
        text.replace("44100", "48000"),
        text.replace("must", "should"),
        text.replace("A\n", "B\n"),
        text + "dual_mono: true\n",
    ):
        shelf.put(one=changed)
        assert shelf.load("one").digest != before
    assert len(before) == 64


def test_digest_is_the_same_in_another_process() -> None:
    """No hash seed, clock or order of a folder gets in."""
    script = "from delivery.intake import load_spec; print(load_spec('store-master-hires').digest)"
    told = {
        subprocess.run(
            [sys.executable, "-c", script], capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": seed}
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert told == {load_spec("store-master-hires").digest}


def test_spec_goes_stale_after_its_own_term(shelf: Any) -> None:
    shelf.put(one=FRAME.replace("2026-11-25", "2026-08-31") + "good_for_months: 6\nasks: {}\n")
    spec = shelf.load("one")
    assert is_stale(spec, date(2027, 2, 28)) is None  # 31 February: the month's end
    assert is_stale(spec, date(2026, 8, 1)) is None
    told = is_stale(spec, date(2027, 3, 1))
    assert told is not None
    assert "one was last checked on 2026-08-31 and is good for 6 months" in told


def test_term_over_the_turn_of_the_year(shelf: Any) -> None:
    shelf.put(one=FRAME + "asks: {}\n")  # twelve months unless it says otherwise
    spec = shelf.load("one")
    assert is_stale(spec, date(2027, 11, 25)) is None
    assert is_stale(spec, date(2027, 11, 26))


# --- refusals -----------------------------------------------------------------------------------------------------

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
def test_fault_is_one_clear_message(fault: str, shelf: Any) -> None:
    """File, line, what was found, what is wanted, what to do; and nothing but the fault that is there."""
    body, begins, contains = REFUSED[fault]
    shelf.put(one=FRAME + body)
    (told,) = shelf.faults("one")
    assert told.startswith(begins)
    assert contains in told
    assert "\n" not in told


def test_all_faults_come_together_in_file_order(shelf: Any) -> None:
    shelf.put(
        one=FRAME
        + "asks:\n  tail_s: {must: {at_least: 3, at_most: 1}}\n  bitz: {must: [16]}\nname: '{x}'\nconvert: {rate: up}\n"
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("one")] == [f"one.yaml:{line}" for line in (6, 7, 8, 9)]


def test_no_source_anywhere_is_refused(shelf: Any) -> None:
    shelf.put(
        one="title: T\nabout: A\nchecked: 2026-11-25\n"
        "asks:\n  bits: {must: [16]}\n  rate_hz: {must: [44100], source: S}\n"
    )
    (told,) = shelf.faults("one")
    assert told.startswith("one.yaml:5 asks bits: found no source")


@pytest.mark.parametrize("missing", ["title", "about", "checked"])
def test_what_every_spec_must_say(missing: str, shelf: Any) -> None:
    shelf.put(one="".join(line + "\n" for line in FRAME.splitlines() if not line.startswith(missing)) + "asks: {}\n")
    (told,) = shelf.faults("one")
    assert f"found no '{missing}'" in told


def test_circle_is_drawn(shelf: Any) -> None:
    shelf.put(a=FRAME + "based_on: b\n", b=FRAME + "based_on: c\n", c=FRAME + "based_on: b\n")
    (told,) = shelf.faults("a")
    assert told.startswith("c.yaml:5 based_on: found a circle: b -> c -> b")


def test_faults_of_a_parent_name_the_parents_file(shelf: Any) -> None:
    shelf.put(
        child=FRAME + "based_on: parent\nasks:\n  tail_s: {must: 3}\n", parent=FRAME + "asks:\n  bits: {must: 16}\n"
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("child")] == ["child.yaml:7", "parent.yaml:6"]


def test_ask_that_lost_its_partner_to_the_child_is_told_where_it_stands(shelf: Any) -> None:
    shelf.put(
        parent=FRAME + "asks:\n  true_peak_max_dbtp: {must: -1}\nconvert: {gain: down_to_ceiling}\n",
        child=FRAME + "based_on: parent\nasks:\n  true_peak_max_dbtp: ~\n",
    )
    (told,) = shelf.faults("child")
    assert told.startswith("parent.yaml:7 convert gain: found gain down_to_ceiling")


def test_unknown_name_names_the_nearest(shelf: Any) -> None:
    with pytest.raises(
        Unusable, match=r"store-mastre-24: found no spec of this name.*Did you mean 'store-master-24'\?"
    ):
        shelf.load("store-mastre-24")
    with pytest.raises(Unusable, match="There are: archive-bwf, "):
        shelf.load("zzz")


def test_missing_path_is_told(shelf: Any) -> None:
    with pytest.raises(Unusable, match="found no such file, wanted a spec file"):
        shelf.load("specs/none.yaml")


def test_name_that_is_no_folder_name_is_refused(shelf: Any) -> None:
    (shelf.folder / "my spec!.yaml").write_text(FRAME + "asks: {}\n", encoding="utf-8")
    (told,) = shelf.faults("my spec!")
    assert told.startswith("my spec!.yaml: found the file name 'my spec!'")


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "just words\n", "title: [\n", "asks: 3\n", "title: T\ntitle: T\n"])
def test_text_that_is_no_spec_is_refused_without_a_traceback(text: str, shelf: Any) -> None:
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
def test_template_is_judged_as_the_packing_room_judges_it(template: str, shelf: Any) -> None:
    shelf.put(one=FRAME + f"asks: {{}}\nname: {json.dumps(template)}\n")
    if template_faults(template):
        assert shelf.faults("one")
    else:
        assert shelf.load("one").name_template == template
