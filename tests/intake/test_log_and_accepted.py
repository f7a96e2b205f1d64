"""The QC log and the acceptances of a release file: times as people write them, and faults reported by line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.errors import Faulty, Unusable
from delivery.intake import add_acceptance, load_release
from delivery.intake.yaml.schema_formats import is_play_time, seconds_of
from delivery.model.release import Acceptance, LogEntry
from tests.intake.releases import WHOLE, release_file, with_tracks
from tests.intake.test_edit import HEAD, LAYOUTS

HASH = "93fd4f2b" * 8
ACCEPTED = Acceptance("clip_runs_max", 1, HASH, "I. Merrow", 'Meant so: "warm" # tape')


@pytest.mark.parametrize(
    ("written", "seconds"),
    [("83.45", 83.45), ("0", 0.0), ("1:23.450", 83.45), ("1:02:03.5", 3723.5), ("10:00", 600.0), ("61:05", 3665.0)],
)
def test_times_are_read_as_players_show_them(written: str, seconds: float) -> None:
    """Minutes and hours count 60 each; common practice, no source."""
    assert is_play_time(written)
    assert seconds_of(written) == seconds


@pytest.mark.parametrize("text", ["", "1:", ":30", "1:75", "1:61:00", "1:2:3:4", "-3", "1m20", "1:23,5", "nan", "1e3"])
def test_what_is_no_time_is_refused(text: str) -> None:
    assert not is_play_time(text)


def test_a_log_is_read_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = with_tracks("", "") + (
        "qc_log:\n"
        "  - {at: 1:23.450, track: 2, channel: left, what: Click at the edit, decision: repaired, by: T. Wrenfield}\n"
        "  - {at: 12.5, track: 1, what: Breath, by: T. Wrenfield}\n"
        "  - what: Hiss throughout\n    by: I. Merrow\n    decision: |\n      stays,\n      it is the tape\n"
    )
    assert load_release(release_file(tmp_path, text)).qc_log == (
        LogEntry("Click at the edit", "T. Wrenfield", "repaired", 2, 83.45, "left"),
        LogEntry("Breath", "T. Wrenfield", "", 1, 12.5),
        LogEntry("Hiss throughout", "I. Merrow", "stays, it is the tape"),
    )


def test_a_time_of_a_single_is_in_its_one_track(tmp_path: Path) -> None:
    text = with_tracks("") + "qc_log:\n  - {at: 0:03, what: Count-in, by: T. Wrenfield}\n"
    assert load_release(release_file(tmp_path, text)).qc_log[0].track == 1


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ("qc_log: [{at: 1:75, track: 1, what: a, by: b}]", r"yaml:7 .*at: found '1:75', wanted a time such as"),
        ("qc_log: [{at: -1, track: 1, what: a, by: b}]", r"yaml:7 .*at: found"),
        ("qc_log: [{at: 1:05, what: a, by: b}]", r"yaml:7 .*a time, but no track"),
        ("qc_log: [{track: 3, what: a, by: b}]", r"yaml:7 .*track 3, wanted a position from 1 to 2"),
        ("qc_log: [{what: a}]", r"by"),
        ("qc_log: [{what: a, by: b, chanel: left}]", r"unknown key 'chanel'"),
        ("accepted: [{rule: a, track: 1, by: b, why: c}]", r"audio_hash"),
        ("accepted: [{rule: a, track: 1, audio_hash: xyz, by: b, why: c}]", r"audio_hash: found 'xyz'"),
        ("accepted: [{rule: a, track: 5, audio_hash: '93fd4f2b', by: b, why: c}]", r"track 5, wanted a position"),
    ],
)
def test_faults_name_the_line(entry: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(Faulty, match=message):
        load_release(release_file(tmp_path, with_tracks("", "") + entry + "\n"))


@pytest.mark.parametrize(
    "layout", [layout.replace("waivers", "accepted") for layout in LAYOUTS if "rule" not in layout]
)
def test_an_acceptance_is_added_and_every_comment_stays(layout: str, tmp_path: Path) -> None:
    path = release_file(tmp_path, layout)
    add_acceptance(path, ACCEPTED)
    assert load_release(path).accepted == (ACCEPTED,)
    remarks = [line.partition("#")[2] for line in layout.splitlines() if "#" in line]
    assert all(remark in path.read_text(encoding="utf-8") for remark in remarks)


def test_acceptances_and_waivers_have_lists_of_their_own(tmp_path: Path) -> None:
    path = release_file(tmp_path, WHOLE)
    before = load_release(path)
    add_acceptance(path, ACCEPTED)
    add_acceptance(path, Acceptance("dc_offset_max_percent", 2, HASH, "I. Merrow", "No."))
    after = load_release(path)
    assert after.waivers == before.waivers
    assert [acceptance.rule for acceptance in after.accepted] == ["clip_runs_max", "dc_offset_max_percent"]
    assert path.read_text(encoding="utf-8").startswith(WHOLE)


def test_a_json_release_stays_json(tmp_path: Path) -> None:
    path = release_file(tmp_path, json.dumps({"title": "A", "tracks": [{"file": "a.wav", "title": "b"}]}))
    add_acceptance(path, ACCEPTED)
    assert json.loads(path.read_text(encoding="utf-8"))["accepted"][0]["audio_hash"] == HASH


def test_a_list_behind_an_alias_is_not_touched(tmp_path: Path) -> None:
    text = f"{HEAD}deliver_to: &none []\nintended: *none\n"
    path = release_file(tmp_path, text)
    with pytest.raises(Unusable, match="Add by hand"):
        add_acceptance(path, ACCEPTED)
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("audio_hash", "about"), [(HASH, True), (HASH[:8], True), ("f" * 8, False), ("", False), (None, False)]
)
def test_an_acceptance_is_about_the_audio_whose_hash_it_names(audio_hash: str | None, about: bool) -> None:
    short = Acceptance("clip_runs_max", 1, "93fd4f2b", "I. Merrow", "So.")
    assert short.is_about(audio_hash) is about
