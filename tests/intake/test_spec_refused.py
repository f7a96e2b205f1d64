"""Spec files with faults are refused with file, line and the nearest word."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.errors import Faulty, Unusable
from delivery.intake import load_specs
from delivery.intake.spec.checks import NAME_FIELDS
from delivery.pack.names import FIELDS, template_faults
from tests.intake.spec_shelf import FRAME, Shelf


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path)


REFUSED = {
    "unknown key": (
        "requires:\n  true_peak_max_dpbt: {must: -1}\n",
        "one.yaml:6 requires true_peak_max_dpbt: found the unknown key",
        "Did you mean 'true_peak_max_dbtp'?",
    ),
    "unknown frame key": (
        "basedon: x\nrequires: {}\n",
        "one.yaml:5 basedon: found the unknown key",
        "Did you mean 'based_on'?",
    ),
    "unit in the number": (
        "requires:\n  true_peak_max_dbtp: {must: -1 dBTP}\n",
        "one.yaml:6 requires true_peak_max_dbtp must: found '-1 dBTP', wanted a number",
        "no unit",
    ),
    "size of nothing": (
        "requires:\n  size_max_bytes: {must: 12}\n",
        "one.yaml:6 requires size_max_bytes must: found the number 12, wanted at least 1000",
        "Change it",
    ),
    "size of a whole disk": (
        "requires:\n  size_max_bytes: {must: 1000000000000000000}\n",
        "one.yaml:6 requires size_max_bytes must: found the number 1000000000000000000, wanted at most",
        "Change it",
    ),
    "kilohertz for hertz": (
        "requires:\n  rate_hz: {must: [44.1]}\n",
        "one.yaml:6 requires rate_hz must 1: found the number 44.1, wanted a whole number",
        "",
    ),
    "too small a rate": (
        "requires:\n  rate_hz: {must: [48]}\n",
        "one.yaml:6 requires rate_hz must 1: found the number 48, wanted at least 8000",
        "",
    ),
    "bare limit": (
        "requires:\n  true_peak_max_dbtp: -1\n",
        "one.yaml:6 requires true_peak_max_dbtp: found the number -1, wanted",
        "should",
    ),
    "neither must nor should": ("requires:\n  tail_s: {source: S}\n", "one.yaml:6 requires tail_s: found no '", ""),
    "both must and should": (
        "requires:\n  bits: {must: [16], should: [24]}\n",
        "one.yaml:6 requires bits: found",
        "not two at once",
    ),
    "a must of a sign": (
        "requires:\n  not_upsampled:\n    must: true\n",
        "one.yaml:7 requires not_upsampled must: found a must, wanted a should",
        "a sign can be wrong",
    ),
    "a flag that is false": (
        "requires:\n  no_audible_cut: {must: false}\n",
        "one.yaml:6 requires no_audible_cut must: found the bare word false, wanted ",
        "",
    ),
    "window upside down": (
        "requires:\n  tail_s: {must: {at_least: 3, at_most: 1}}\n",
        "one.yaml:6 requires tail_s must: found at_least 3 and at_most 1",
        "swapped values?",
    ),
    "target outside": (
        "requires:\n  integrated_lufs:\n    must:\n      at_most: -23\n      target: -14\n",
        "one.yaml:9 requires integrated_lufs must target: found the target -14",
        "",
    ),
    "flag in a window": (
        "requires:\n  tail_s: {must: {at_least: true, at_most: 0}}\n",
        "one.yaml:6 requires tail_s must at_least: found the bare word true",
        "",
    ),
    "empty window": ("requires:\n  tail_s: {must: {}}\n", "one.yaml:6 requires tail_s must: found", ""),
    "unknown container": (
        "requires:\n  container: {must: [wave]}\n",
        "one.yaml:6 requires container must 1: found 'wave', wanted one of",
        "Did you mean wav?",
    ),
    "unknown field to supply": (
        "requires:\n  track_fields: {must: [composer]}\n",
        "one.yaml:6 requires track_fields must 1: found 'composer'",
        "composers",
    ),
    "unknown dither": (
        "requires: {}\nconvert: {dither: tdpf}\n",
        "one.yaml:6 convert dither: found 'tdpf'",
        "Did you mean tpdf?",
    ),
    "unknown paper": (
        "requires: {}\npapers: [tracklist]\n",
        "one.yaml:6 papers 1: found 'tracklist'",
        "Did you mean track_list?",
    ),
    "unknown name field": (
        "requires: {}\nname: '{titel}'\n",
        "one.yaml:6 name: found the field {titel}",
        "Did you mean {title}?",
    ),
    "open brace": ("requires: {}\nname: '{title'\n", "one.yaml:6 name: found '{title'", "Close every brace"),
    "width for a text": ("requires: {}\nname: '{title:02}'\n", "one.yaml:6 name: found {title:02}", "take a width"),
    "no such day": (
        "requires:\n  bits: {must: [16], checked: 2026-02-30}\n",
        "one.yaml:6 requires bits checked: found '2026-02-30'",
        "no such day",
    ),
    "gain without a target": (
        "requires:\n  integrated_lufs: {must: {at_most: -9}}\nconvert: {gain: to_target}\n",
        "one.yaml:7 convert gain: found gain to_target",
        "Add the target",
    ),
    "gain without a ceiling": (
        "requires: {}\nconvert: {gain: down_to_ceiling}\n",
        "one.yaml:6 convert gain: found gain down_to_ceiling",
        "true_peak_max_dbtp",
    ),
    "encoding without a rate": (
        "requires:\n  coding: {must: [mp3]}\n",
        "one.yaml:6 requires coding: found mp3 without a bit rate",
        "",
    ),
    "quality for a coding that has none": (
        "requires:\n  coding: {must: [aac]}\nencode: {vbr_quality: 0}\n",
        "one.yaml:7 encode vbr_quality: found vbr_quality for aac",
        "Only MP3",
    ),
    "quality and bit rate": (
        "requires:\n  coding: {must: [mp3]}\nencode: {vbr_quality: 0, bitrate_kbps: 320}\n",
        "one.yaml:7 encode: found bitrate_kbps and vbr_quality, wanted one of them",
        "",
    ),
    "a coding that the container does not hold": (
        "requires:\n  container: {must: [mp3]}\n  coding: {must: [pcm]}\n",
        "one.yaml:7 requires coding: found pcm in MP3, wanted mp3",
        "",
    ),
    "a container that holds none of the codings": (
        "requires:\n  container: {must: [wav, opus]}\n  coding: {must: [pcm]}\n",
        "one.yaml:6 requires container: found pcm in Opus, wanted opus",
        "",
    ),
    "a bit rate that MP3 does not have": (
        "requires:\n  coding: {must: [mp3]}\nencode: {bitrate_kbps: 321}\n",
        "one.yaml:7 encode bitrate_kbps: found 321 kbit/s for MP3 at 48000 Hz, wanted 32, 40,",
        "256, 320 kbit/s",
    ),
    "a bit rate that one of the rates does not have": (
        "requires:\n  coding: {must: [mp3]}\n  rate_hz: {must: [44100, 22050]}\nencode: {bitrate_kbps: 320}\n",
        "one.yaml:8 encode bitrate_kbps: found 320 kbit/s for MP3 at 22050 Hz",
        "",
    ),
    "a bit rate that one channel does not have": (
        "requires:\n  coding: {must: [opus]}\n  channels: {must: [2, 1]}\nencode: {bitrate_kbps: 320}\n",
        "one.yaml:8 encode bitrate_kbps: found 320 kbit/s for Opus at 48000 Hz, mono, wanted 6 to 256",
        "",
    ),
    "a bit rate for uncoded samples": (
        "requires:\n  coding: {must: [pcm]}\nencode: {bitrate_kbps: 320}\n",
        "one.yaml:7 encode bitrate_kbps: found 320 kbit/s, wanted none",
        "lossy coding",
    ),
    "a rate that the coding does not have": (
        "requires:\n  coding: {must: [mp3]}\n  rate_hz: {must: [44100, 96000]}\nencode: {bitrate_kbps: 320}\n",
        "one.yaml:7 requires rate_hz: found 96000 Hz for MP3, wanted one of 8000, 11025,",
        "",
    ),
    "a bit depth that the container does not have": (
        "requires:\n  container: {must: [flac]}\n  bits: {must: [24, 32]}\n",
        "one.yaml:7 requires bits: found 32-bit samples in FLAC, wanted 8, 16, 24 bit",
        "",
    ),
    "a bit depth for a lossy coding": (
        "requires:\n  coding: {must: [mp3]}\n  bits: {must: [16]}\nencode: {bitrate_kbps: 320}\n",
        "one.yaml:7 requires bits: found a bit depth for mp3",
        "",
    ),
    "more channels than the container has": (
        "requires:\n  container: {must: [flac]}\n  channels: {must: [2, 12]}\n",
        "one.yaml:7 requires channels: found 12 channels in FLAC, wanted at most 8",
        "",
    ),
    "a shaped dither at a rate it is not made for": (
        "requires:\n  rate_hz: {must: [44100, 96000]}\nconvert: {depth: lower, dither: f-weighted-9}\n",
        "one.yaml:7 convert dither: found the dither 'f-weighted-9' at 96000 Hz, wanted 44100 or 48000 Hz",
        "tpdf",
    ),
    "one name for all files": (
        "requires: {}\nname: '{release} {version}'\n",
        "one.yaml:6 name: found '{release} {version}', wanted {disc_track} or {track} or {title} or {isrc}",
        "the same name",
    ),
    "one name for all sides": (
        "carrier: {kind: vinyl}\nrequires:\n  coding: {must: [pcm]}\nname: '{catalogue} {title}'\n",
        "one.yaml:8 name: found '{catalogue} {title}', wanted {part}",
        "",
    ),
    "a disc at the rate of films": (
        "carrier: {kind: cd}\nrequires:\n  coding: {must: [pcm]}\n  rate_hz: {must: [44100, 48000]}\nname: '{part}'\n",
        "one.yaml:8 requires rate_hz: found 44100, 48000 for a CD, wanted 44100",
        "IEC 60908",
    ),
    "a time in milliseconds": (
        "requires:\n  total_duration_max_s: {must: 4440000}\n",
        "one.yaml:6 requires total_duration_max_s must: found the number 4440000, wanted at most 360000",
        "",
    ),
    "a cover in micrometres": (
        "requires:\n  artwork_min_px: {must: 300000}\n",
        "one.yaml:6 requires artwork_min_px must: found the number 300000, wanted at most 30000",
        "",
    ),
    "sizes that exclude each other": (
        "requires:\n  artwork_min_px: {must: 3000}\n  artwork_max_px: {must: 1400}\n",
        "one.yaml:6 requires artwork_min_px: found at least 3000 px and at most 1400 px",
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
    (reported,) = shelf.faults("one")
    assert reported.startswith(begins)
    assert contains in reported
    assert "\n" not in reported


def test_all_faults_are_reported_together_in_file_order(shelf: Shelf) -> None:
    shelf.put(
        one=FRAME + "requires:\n  tail_s: {must: {at_least: 3, at_most: 1}}\n  bitz: {must: [16]}\n"
        "name: '{x}'\nconvert: {rate: up}\n"
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("one")] == [f"one.yaml:{line}" for line in (6, 7, 8, 9)]


def test_unknown_key_gets_the_three_nearest_and_never_all(shelf: Shelf) -> None:
    shelf.put(one=FRAME + "requires:\n  loud_peak: {must: -1}\n")
    (reported,) = shelf.faults("one")
    assert reported.endswith("keys are 'loudness_range_max_lu', 'true_peak_max_dbtp' and 'sample_peak_max_dbfs'.")


def test_combinations_are_judged_with_the_parents_merged_in(shelf: Shelf) -> None:
    """The child changes one half of a pair; the fault is where the half that no longer fits is reported."""
    shelf.put(
        parent=FRAME + "requires:\n  coding: {must: [mp3]}\n  container: {must: [mp3]}\nencode: {bitrate_kbps: 320}\n",
        child=FRAME + "based_on: parent\nrequires:\n  container: {must: [wav]}\n",
    )
    (reported,) = shelf.faults("child")
    assert reported.startswith("parent.yaml:6 requires coding: found mp3 in WAV, wanted pcm or float")


def test_float_and_pcm_depths_may_be_required_together(shelf: Shelf) -> None:
    """64 bit is a depth of float samples, which WAV holds beside 24-bit PCM."""
    shelf.put(one=FRAME + "requires:\n  container: {must: [wav]}\n  bits: {must: [24, 64]}\n")
    assert shelf.load("one").limit("bits") == (24, 64)


def test_faults_of_several_specs_are_reported_together(shelf: Shelf) -> None:
    """The fault of a parent that two of them share is reported once."""
    shelf.put(
        parent=FRAME + "requires:\n  bits: {must: 16}\n",
        one=FRAME + "based_on: parent\nrequires:\n  bits: {must: [16]}\n  tail_s: {must: 3}\n",
        two=FRAME + "based_on: parent\nrequires:\n  rate_hz: {must: [48]}\n",
        good=FRAME + "requires: {}\n",
    )
    with pytest.raises(Faulty) as caught:
        load_specs(["one", "good", "two", "nowhere-to-be-found"], (shelf.folder,))
    places = [str(fault).split(" ")[0] for fault in caught.value.faults]
    assert places == ["one.yaml:8", "parent.yaml:6", "two.yaml:7", "nowhere-to-be-found:"]
    assert [spec.id for spec in load_specs(["good", "cd-master"], (shelf.folder,))] == ["good", "cd-master"]


def test_no_source_anywhere_is_refused(shelf: Shelf) -> None:
    shelf.put(
        one="title: T\nabout: A\nchecked: 2026-11-25\n"
        "requires:\n  bits: {must: [16]}\n  rate_hz: {must: [44100], source: S}\n"
    )
    (reported,) = shelf.faults("one")
    assert reported.startswith("one.yaml:5 requires bits: found no source")


@pytest.mark.parametrize("missing", ["title", "about", "checked"])
def test_keys_that_every_spec_needs(missing: str, shelf: Shelf) -> None:
    shelf.put(
        one="".join(line + "\n" for line in FRAME.splitlines() if not line.startswith(missing)) + "requires: {}\n"
    )
    (reported,) = shelf.faults("one")
    assert f"found no '{missing}'" in reported


def test_circle_is_drawn(shelf: Shelf) -> None:
    shelf.put(a=FRAME + "based_on: b\n", b=FRAME + "based_on: c\n", c=FRAME + "based_on: b\n")
    (reported,) = shelf.faults("a")
    assert reported.startswith("c.yaml:5 based_on: found a circle: b -> c -> b")


def test_faults_of_a_parent_name_the_parents_file(shelf: Shelf) -> None:
    shelf.put(
        child=FRAME + "based_on: parent\nrequires:\n  tail_s: {must: 3}\n",
        parent=FRAME + "requires:\n  bits: {must: 16}\n",
    )
    assert [fault.split(" ")[0] for fault in shelf.faults("child")] == ["child.yaml:7", "parent.yaml:6"]


def test_a_requirement_broken_by_the_child_is_reported_with_its_line(shelf: Shelf) -> None:
    shelf.put(
        parent=FRAME + "requires:\n  true_peak_max_dbtp: {must: -1}\nconvert: {gain: down_to_ceiling}\n",
        child=FRAME + "based_on: parent\nrequires:\n  true_peak_max_dbtp: ~\n",
    )
    (reported,) = shelf.faults("child")
    assert reported.startswith("parent.yaml:7 convert gain: found gain down_to_ceiling")


def test_unknown_name_names_the_nearest(shelf: Shelf) -> None:
    with pytest.raises(
        Unusable, match=r"store-mastre-24: found no spec of this name.*Did you mean 'store-master-24'\?"
    ):
        shelf.load("store-mastre-24")
    with pytest.raises(Unusable, match=r"'delivery spec list' shows all \d\d of them\."):
        shelf.load("zzz")


def test_missing_path_is_reported(shelf: Shelf) -> None:
    with pytest.raises(Unusable, match="found no such file, wanted a spec file"):
        shelf.load("specs/none.yaml")


def test_name_that_is_no_folder_name_is_refused(shelf: Shelf) -> None:
    (shelf.folder / "my spec!.yaml").write_text(FRAME + "requires: {}\n", encoding="utf-8")
    (reported,) = shelf.faults("my spec!")
    assert reported.startswith("my spec!.yaml: found the file name 'my spec!'")


@pytest.mark.parametrize(
    "text", ["", "- a\n- b\n", "just words\n", "title: [\n", "requires: 3\n", "title: T\ntitle: T\n"]
)
def test_text_that_is_no_spec_is_refused_without_a_traceback(text: str, shelf: Shelf) -> None:
    shelf.put(one=text)
    assert all(fault.startswith("one.yaml") for fault in shelf.faults("one"))


# --- agreement with other rooms -----------------------------------------------------------------------------------


def test_name_fields_are_those_that_the_package_pack_fills() -> None:
    """The packages may not import each other, so each has its list."""
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
def test_template_is_judged_as_the_package_pack_judges_it(template: str, shelf: Shelf) -> None:
    shelf.put(one=FRAME + f"requires: {{}}\nname: {json.dumps(template)}\n")
    if template_faults(template):
        assert shelf.faults("one")
    else:
        assert shelf.load("one").name_template == template
