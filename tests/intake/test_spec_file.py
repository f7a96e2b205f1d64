"""Spec files: found by name or path, and merged with their parents."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from delivery.intake import is_stale, load_spec, spec_names
from delivery.model.spec import Conversions
from tests.intake.spec_shelf import FRAME, Shelf


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path)


# --- what comes along ---------------------------------------------------------------------------------------------


def test_shipped_specs() -> None:
    """Named for purpose or standard; the parent that is nothing else is not offered."""
    assert [name for name, _ in spec_names()] == [
        "agreed-loudness",
        "archive-bwf",
        "archive-iasa-tc04",
        "audiobook-mp3-192",
        "broadcast-a85",
        "broadcast-r128",
        "broadcast-r128-short",
        "cassette-sides",
        "cd-master",
        "cd-rate-16",
        "cd-rate-16-to-ceiling",
        "film-stems",
        "game-loops",
        "immersive-adm",
        "listening-aac-256",
        "listening-mp3-320",
        "listening-opus-160",
        "podcast-mp3-128",
        "promo-mp3-320",
        "stem-pack",
        "store-flac-16",
        "store-flac-24",
        "store-flac-high-rate",
        "store-master-24",
        "store-master-high-rate",
        "streaming-r128-s2",
        "sync-48-24",
        "sync-48-24-to-ceiling",
        "vinyl-premaster",
        "vinyl-sides",
    ]
    for parent in ("store-base", "broadcast-base"):
        assert load_spec(parent).id == parent


@pytest.mark.parametrize("name", [name for name, _ in spec_names()])
def test_every_limit_is_sourced_and_dated(name: str) -> None:
    spec = load_spec(name)
    assert spec.requirements
    assert list(spec.requirements) == sorted(spec.requirements, key=lambda one: one.rule)
    for one in spec.requirements:
        assert one.source
        assert one.checked in (date(2026, 11, 25), date(2026, 11, 28))
        file, line = one.place.split(":")
        assert f"  {one.rule}:" in (Path("specs") / file).read_text(encoding="utf-8").splitlines()[int(line) - 1]


@pytest.mark.parametrize("name", [name for name, _ in spec_names()])
def test_level_is_no_must_without_a_standard(name: str) -> None:
    """A loud commercial master is not refused by anybody's habit: peaks and loudness fail a file only by a document.

    Speech is another matter: audiobook retailers refuse a chapter by the figures of the trade. A ceiling that the spec
    meets by gain refuses nothing either.
    """
    if name.startswith("audiobook") or load_spec(name).conversions.gain == "down_to_ceiling":
        return
    about_level = ("true_peak", "sample_peak", "integrated", "momentary", "short_term", "loudness", "clip", "dc_")
    for one in load_spec(name).requirements:
        if one.must and one.rule.startswith(about_level):
            assert "common practice" not in one.source


def test_figures_of_the_standards() -> None:
    """EBU R 128 s1: -18 LUFS short-term. s2: -20 to -16 LUFS. AES TD1008: -16 LUFS within 0.2 LU. TD1004: as s2.
    EBU R 128 v5: -23.0 LUFS, 0.2 LU, -1 dBTP. ATSC A/85:2013: -24 LKFS, 2 dB, -2 dBTP. IEC 60908: 44.1 kHz, 16 bit,
    2 channels, 74 minutes (333 000 frames of 1/75 s). All read second-hand."""
    r128, a85, disc = load_spec("broadcast-r128"), load_spec("broadcast-a85"), load_spec("cd-rate-16")
    assert r128.limit("integrated_lufs") == {"at_least": -23.2, "at_most": -22.8, "target": -23.0}
    assert a85.limit("integrated_lufs") == {"at_least": -26.0, "at_most": -22.0, "target": -24.0}
    assert (r128.limit("true_peak_max_dbtp"), a85.limit("true_peak_max_dbtp")) == (-1.0, -2.0)
    assert r128.conversions.gain == a85.conversions.gain == "to_target"
    assert (disc.limit("rate_hz"), disc.limit("bits"), disc.limit("channels")) == ((44100,), (16,), (2,))
    assert disc.limit("total_duration_max_s") == 333_000 / 75
    short = load_spec("broadcast-r128-short")
    assert short.limit("short_term_max_lufs") == -18.0
    assert short.limit("integrated_lufs") == r128.limit("integrated_lufs")
    windows = {name: load_spec(name).limit("integrated_lufs") for name in ("streaming-r128-s2", "podcast-mp3-128")}
    assert all((window["at_least"], window["at_most"]) == (-20.0, -16.0) for window in windows.values())
    assert load_spec("agreed-loudness").limit("integrated_lufs")["target"] == -16.0


def test_figures_of_trade_practice() -> None:
    """Audiobook retailers: -23 to -18 dB rms, peaks to -3 dB, noise to -60 dB rms. Common practice, no source.
    IASA-TC 04: from 48 kHz and 24 bit on (from memory)."""
    book, archive = load_spec("audiobook-mp3-192"), load_spec("archive-iasa-tc04")
    assert book.limit("rms_dbfs") == {"at_least": -23.0, "at_most": -18.0}
    assert (book.limit("sample_peak_max_dbfs"), book.limit("noise_floor_max_dbfs")) == (-3.0, -60.0)
    assert (min(archive.limit("rate_hz")), min(archive.limit("bits"))) == (48_000, 24)


@pytest.mark.parametrize("name", ["vinyl-premaster", "archive-bwf", "archive-iasa-tc04"])
def test_specs_that_touch_no_sample(name: str) -> None:
    steps = load_spec(name).conversions
    assert (steps.rate, steps.depth, steps.gain) == ("never", "never", "never")


def test_gain_is_ordered_by_loudness_documents_alone() -> None:
    """Nothing that is released is changed in level, unless a document that states one loudness orders it."""
    specs = [load_spec(name) for name, _ in spec_names()]
    orders = {spec.id for spec in specs if spec.conversions.gain == "to_target"}
    permits = {spec.id for spec in specs if spec.conversions.gain == "down_to_ceiling" and not spec.reference_only}
    assert permits == {"cd-rate-16-to-ceiling", "sync-48-24-to-ceiling"}
    assert orders == {
        "agreed-loudness",
        "broadcast-a85",
        "broadcast-r128",
        "broadcast-r128-short",
        "podcast-mp3-128",
        "streaming-r128-s2",
    }
    assert all(spec.conversions.gain != "to_target" for spec in specs if spec.reference_only)


def test_listening_copies_are_reference_only() -> None:
    reference = {name for name, _ in spec_names() if load_spec(name).reference_only}
    assert reference == {"listening-aac-256", "listening-mp3-320", "listening-opus-160", "promo-mp3-320"}
    assert load_spec("listening-aac-256").bitrate_kbps == 256


# --- inheritance --------------------------------------------------------------------------------------------------


def test_child_overrides_adds_and_lifts_by_key(shelf: Shelf) -> None:
    shelf.put(
        grand=FRAME + "requires:\n  rate_hz: {must: [44100]}\n"
        "  bits: {must: [24], source: G}\nconvert: {rate: lower, gain: never}\n",
        parent=FRAME
        + "based_on: grand\nrequires:\n  bits: {should: [16], checked: 2026-01-02}\n  no_audible_cut: {should: true}\n",
        child=FRAME + "based_on: parent\nrequires:\n  no_audible_cut: ~\n"
        "  tail_s: {must: {at_most: 3}, note: N}\nconvert: {depth: lower}\n",
    )
    spec = shelf.load("child")
    reported = {
        one.rule: (one.limit, one.must, one.source, str(one.checked), one.spec, one.place, one.note)
        for one in spec.requirements
    }
    habit = "common practice, no source"
    assert reported == {
        "bits": ((16,), False, habit, "2026-01-02", "parent", "parent.yaml:7", ""),
        "rate_hz": ((44100,), True, habit, "2026-11-25", "grand", "grand.yaml:6", ""),
        "tail_s": ({"at_most": 3}, True, habit, "2026-11-25", "child", "child.yaml:8", "N"),
    }
    assert spec.lineage == ("parent", "grand")
    assert spec.conversions == Conversions(rate="lower", depth="lower")


def test_a_child_that_sets_an_encoder_option_sets_them_all(shelf: Shelf) -> None:
    """A bit rate and a quality exclude each other, so the nearer layer's word replaces the farther one's."""
    shelf.put(
        parent=FRAME + "encode: {bitrate_kbps: 320}\nrequires:\n  coding: {must: [mp3]}\n",
        child=FRAME + "based_on: parent\nencode: {vbr_quality: 0}\n",
        grandchild=FRAME + "based_on: child\nencode: {bitrate_kbps: 128}\n",
    )
    reported = [(spec.bitrate_kbps, spec.vbr_quality) for spec in map(shelf.load, ("parent", "child", "grandchild"))]
    assert reported == [(320, None), (None, 0), (128, None)]


def test_silence_stays_zero_unless_a_spec_has_it_dithered(shelf: Shelf) -> None:
    shelf.put(
        parent=FRAME + "convert: {depth: lower, silence: dithered}\nrequires: {}\n",
        child=FRAME + "based_on: parent\nconvert: {dither: rpdf}\n",
        plain=FRAME + "convert: {depth: lower}\nrequires: {}\n",
    )
    assert [shelf.load(name).conversions.silence for name in ("parent", "child", "plain")] == ["dithered"] * 2 + [
        "zero"
    ]


def test_frame_is_inherited_too(shelf: Shelf) -> None:
    shelf.put(
        parent=FRAME + 'name: "{title}"\nembed_tags: false\npapers: [track_list]\nencode: {bitrate_kbps: 320}\n'
        "purpose: reference_only\ndual_mono: true\ngood_for_months: 3\nedition: '2'\nrequires: {}\n",
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


def test_nearest_folder_wins_and_a_path_works_too(shelf: Shelf) -> None:
    shelf.put(**{"cd-rate-16": FRAME.replace("title: T", "title: Mine") + "requires: {}\n"})
    assert shelf.load("cd-rate-16").title == "Mine"
    assert load_spec("cd-rate-16").title != "Mine"
    assert load_spec(str(shelf.folder / "cd-rate-16.yaml")).title == "Mine"
    assert load_spec("cd-rate-16.yaml", (shelf.folder,)).title == "Mine"


def test_a_parent_is_looked_for_beside_the_child_first(shelf: Shelf) -> None:
    shelf.put(parent=FRAME + "requires:\n  bits: {must: [16]}\n", child=FRAME + "based_on: parent\n")
    assert load_spec(str(shelf.folder / "child.yaml")).limit("bits") == (16,)


def test_other_yaml_files_in_the_folder_are_no_specs(shelf: Shelf) -> None:
    shelf.put(release="title: T\ntracks: []\nrequires: {}\n", studio="engineer: E\n", shopping="- tea\n")
    shelf.put(mine=FRAME + "requires: {}\n", broken="requires: [\n")
    names = [name for name, _ in spec_names((shelf.folder,))]
    assert {"mine", "broken"} <= set(names)
    assert not {"release", "studio", "shopping"} & set(names)
    assert names == sorted(names)


def test_window_of_one_value_and_equal_sizes_are_no_faults(shelf: Shelf) -> None:
    exactly = "{at_least: 30, at_most: 30}"
    shelf.put(
        one=FRAME
        + f"requires:\n  duration_s: {{must: {exactly}}}\n"
        + "  artwork_min_px: {must: 3000}\n  artwork_max_px: {must: 3000}\n"
    )
    assert shelf.load("one").limit("duration_s") == {"at_least": 30, "at_most": 30}


# --- digest and age -----------------------------------------------------------------------------------------------


def test_digest_follows_meaning_not_layout(shelf: Shelf) -> None:
    text = FRAME + "requires:\n  rate_hz: {must: [44100]}\n"
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
    script = "from delivery.intake import load_spec; print(load_spec('store-master-high-rate').digest)"
    reported = {
        subprocess.run(
            [sys.executable, "-c", script], capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": seed}
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert reported == {load_spec("store-master-high-rate").digest}


def test_spec_is_stale_after_its_own_term(shelf: Shelf) -> None:
    shelf.put(one=FRAME.replace("2026-11-25", "2026-08-31") + "good_for_months: 6\nrequires: {}\n")
    spec = shelf.load("one")
    assert is_stale(spec, date(2027, 2, 28)) is None  # 31 February: the month's end
    assert is_stale(spec, date(2026, 8, 31)) is None
    reported = is_stale(spec, date(2027, 3, 1))
    assert reported is not None
    assert "one was last checked on 2026-08-31 and is good for 6 months" in reported


def test_day_in_the_future_is_remarked_and_never_refused(shelf: Shelf) -> None:
    """Whether a day has come depends on the clock, so it may not decide about a delivery."""
    shelf.put(one=FRAME + "requires:\n  tail_s: {must: {at_most: 3}, checked: 2027-01-02}\n")
    spec = shelf.load("one")
    reported = is_stale(spec, date(2026, 11, 28))
    assert reported == "The spec one is marked as checked on 2027-01-02, which is in the future: correct it."
    assert is_stale(spec, date(2027, 1, 2)) is None


def test_term_over_the_turn_of_the_year(shelf: Shelf) -> None:
    shelf.put(one=FRAME + "requires: {}\n")  # twelve months unless it says otherwise
    spec = shelf.load("one")
    assert is_stale(spec, date(2027, 11, 25)) is None
    assert is_stale(spec, date(2027, 11, 26))
