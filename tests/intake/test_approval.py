"""An approval in a release file: read strictly, written so that every other byte stays."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from delivery.errors import Faulty, Unusable
from delivery.intake import load_release
from delivery.intake.release.answer import write_answer
from delivery.model.approval import Approval

ONE, TWO = "1" * 64, "ab" * 32
GIVEN = Approval("I. Merrow", date(2026, 5, 12), (ONE, TWO))
HEAD = 'title: Low  # keep: me\nartist: "Merrow"\n'
TRACKS = "tracks:  # in order\n  - {file: a.wav, title: A}\n  - {file: b.wav, title: B}\n"
WRITTEN = f'approved: {{by: "I. Merrow", date: "2026-05-12", audio_hashes: [\n    "{ONE}",\n    "{TWO}"]}}\n'


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (HEAD + TRACKS, HEAD + TRACKS + WRITTEN),
        (HEAD + "revision: 2\n" + TRACKS, HEAD + "revision: 2\n" + WRITTEN + TRACKS),
        (HEAD + "approved_by: A. Other  # who\n" + TRACKS, HEAD + "# who\n" + TRACKS + WRITTEN),
        (
            HEAD + "approved:\n  by: A. Other\n  date: 2026-05-01\n  audio_hashes: ['99999999']\n" + TRACKS,
            HEAD + WRITTEN + TRACKS,
        ),
        (HEAD + WRITTEN.replace("I. Merrow", "A. Other") + TRACKS, HEAD + WRITTEN + TRACKS),
    ],
    ids=["at the end", "after the revision", "a bare name goes", "a block is replaced", "its own form is replaced"],
)
def test_only_the_approval_changes(tmp_path: Path, before: str, after: str) -> None:
    path = tmp_path / "release.yaml"
    for line_end in ("\n", "\r\n"):
        path.write_bytes(before.replace("\n", line_end).encode())
        write_answer(path, GIVEN, ())
        assert path.read_bytes().decode() == after.replace("\n", line_end)
        assert load_release(path).approval == GIVEN


def test_a_json_file_stays_json(tmp_path: Path) -> None:
    path = tmp_path / "release.yaml"
    tracks = [{"file": "a.wav", "title": "A"}, {"file": "b.wav", "title": "B"}]
    path.write_text(json.dumps({"title": "Low", "artist": "Merrow", "tracks": tracks}), encoding="utf-8")
    for _ in range(2):
        write_answer(path, GIVEN, ())
        assert json.loads(path.read_text(encoding="utf-8"))["approved"]["audio_hashes"] == [ONE, TWO]


def test_an_alias_is_left_to_be_edited_by_hand(tmp_path: Path) -> None:
    path = tmp_path / "release.yaml"
    text = HEAD + "approved: &it {by: A, date: '2026-05-01', audio_hashes: ['99999999']}\n" + TRACKS
    path.write_text(text.replace("title: B", "title: B, notes: *it"), encoding="utf-8")
    with pytest.raises((Unusable, Faulty)):
        write_answer(path, GIVEN, ())
    assert "99999999" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("approved", "fault"),
    [
        ("{by: A, date: 2026-05-01}", r"approved: .*audio_hashes"),
        ("{by: A, date: 2026-05-01, audio_hashes: []}", r"approved audio_hashes"),
        ("{by: A, date: 2026-05-01, audio_hashes: ['1234567']}", r"audio_hashes 1: found '1234567'"),
        ("{by: A, date: 12 May, audio_hashes: ['12345678']}", r"approved date: found '12 May'"),
        ("{by: A, date: 2026-05-01, audio_hashes: ['12345678'], tracks: 1}", r"approved tracks"),
    ],
)
def test_what_is_no_approval_is_refused(tmp_path: Path, approved: str, fault: str) -> None:
    path = tmp_path / "release.yaml"
    path.write_text(HEAD + f"approved: {approved}\n" + TRACKS, encoding="utf-8")
    with pytest.raises(Faulty, match=fault):
        load_release(path)


@pytest.mark.parametrize(
    ("position", "now", "covered"),
    [(1, ONE, True), (2, TWO, True), (1, TWO, False), (2, "ac" * 32, False), (2, "", False), (3, ONE, False)],
)
def test_it_covers_the_same_audio_in_the_same_place(position: int, now: str, covered: bool) -> None:
    for approved in (GIVEN, Approval("I. Merrow", date(2026, 5, 12), (ONE[:8], TWO[:8]))):
        assert approved.covers(position, now) is covered
