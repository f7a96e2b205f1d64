"""Names of earlier versions: read as those of this one, reported, and rewritten on request."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.errors import Faulty
from delivery.intake import load_release, load_spec
from delivery.intake.spec.file import spec_names
from delivery.intake.yaml.renamed_keys import RULES, SPECS, current, remark
from delivery.rules import rules

OLD_SPEC = """# our client's own rules
title: T
about: A
checked: 2026-01-01
source: test
asks:  # what they want
  true_peak_max_dbtp: {must: -1.0}  # their words: asks for a ceiling
name: "{title}"
"""

OLD_RELEASE = """title: "Asks and tails"  # the intended title
artist: A
deliver_to: [store-master-hires, "cd-rate-16"]
tracks:
  - {file: a.wav, title: intended, not_for: [store-master-hires]}
waivers:
  - {rule: "true-peak-ceiling", track: 1, by: I. Merrow, why: "rule: tail"}
  - {rule: tail, by: I. Merrow, why: "intended", spec: store-master-hires}
intended:
  - rule: 'clicks'  # listened to
    track: 1
    audio_hash: 93fd4f2b
    by: I. Merrow
    why: "clicks"
"""


def test_every_new_name_exists() -> None:
    assert set(RULES.values()) <= set(rules())
    assert not set(RULES) & set(rules())
    assert set(SPECS.values()) <= {name for name, _ in spec_names()}


def test_only_names_change_and_comments_stay() -> None:
    assert current(OLD_SPEC).text == OLD_SPEC.replace("asks:  #", "requires:  #")
    expected = (
        OLD_RELEASE.replace("store-master-hires", "store-master-high-rate")
        .replace("true-peak-ceiling", "true_peak_max_dbtp")
        .replace("{rule: tail", "{rule: tail_s")
        .replace("intended:\n", "accepted:\n")
        .replace("rule: 'clicks'", "rule: 'click_places_max'")
    )
    renewed = current(OLD_RELEASE)
    assert renewed.text == expected
    assert [one.line for one in renewed.renames] == [3, 5, 7, 8, 8, 9, 10]
    assert current(expected) == type(renewed)(expected)


def test_a_text_that_is_no_yaml_stays() -> None:
    assert current("asks: [\n").text == "asks: [\n"
    assert remark("x.yaml", ()) == ""


def test_old_files_are_read_and_reported(tmp_path: Path) -> None:
    (tmp_path / "ours.yaml").write_text(OLD_SPEC, encoding="utf-8")
    (tmp_path / "release.yaml").write_text(OLD_RELEASE, encoding="utf-8")
    spec, release = load_spec("ours", [tmp_path]), load_release(tmp_path / "release.yaml")
    assert spec.limit("true_peak_max_dbtp") == -1.0
    assert spec.outdated == (
        "ours.yaml uses names of an earlier version ('asks' is now 'requires'). "
        "'delivery migrate ours.yaml' rewrites them.",
    )
    assert [waiver.rule for waiver in release.waivers] == ["true_peak_max_dbtp", "tail_s"]
    assert [one.rule for one in release.accepted] == ["click_places_max"]
    assert "'intended' is now 'accepted'" in release.outdated
    assert load_spec("store-master-hires").id == "store-master-high-rate"


def test_names_do_not_change_the_edition(tmp_path: Path) -> None:
    """The digest identifies which edition of a spec judged a delivery; a rename is no new edition."""
    (tmp_path / "ours.yaml").write_text(OLD_SPEC, encoding="utf-8")
    before = load_spec("ours", [tmp_path]).digest
    (tmp_path / "ours.yaml").write_text(current(OLD_SPEC).text, encoding="utf-8")
    after = load_spec("ours", [tmp_path])
    assert (after.digest, after.outdated) == (before, ())


def test_the_command_rewrites_and_reports_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spec, release = tmp_path / "ours.yaml", tmp_path / "release.yaml"
    spec.write_bytes(b"\xef\xbb\xbf" + OLD_SPEC.replace("\n", "\r\n").encode())
    release.write_text(OLD_RELEASE, encoding="utf-8")
    assert run(["migrate", str(spec), str(release)]) == 0
    assert "line 6: asks -> requires" in capsys.readouterr().out
    assert (
        spec.read_bytes()
        == b"\xef\xbb\xbf" + OLD_SPEC.replace("asks:  #", "requires:  #").replace("\n", "\r\n").encode()
    )
    assert release.read_text(encoding="utf-8") == current(OLD_RELEASE).text
    assert run(["migrate", str(spec)]) == 0
    assert "no action needed" in capsys.readouterr().out


def test_nothing_is_written_when_one_file_cannot_be_read(tmp_path: Path) -> None:
    spec = tmp_path / "ours.yaml"
    spec.write_text(OLD_SPEC, encoding="utf-8")
    assert run(["migrate", str(spec), str(tmp_path / "none.yaml")]) == 2
    assert spec.read_text(encoding="utf-8") == OLD_SPEC


def test_a_key_whose_limit_is_gone_names_its_successor(tmp_path: Path) -> None:
    """A limit in per cent cannot become a flag without the engineer; the message states what to write."""
    text = OLD_SPEC.replace("true_peak_max_dbtp: {must: -1.0}", "edge_step_max_percent: {should: 1.0}")
    (tmp_path / "ours.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(Faulty, match=r"write 'no_audible_cut: \{should: true\}'"):
        load_spec("ours", [tmp_path])


def test_waivers_of_merged_rules_keep_their_meaning() -> None:
    renewed = current("waivers:\n  - {rule: not_cut, by: B, why: W}\n  - {rule: edge-step, by: B, why: W}\n")
    assert [one.new for one in renewed.renames] == ["no_audible_cut", "no_audible_cut"]
