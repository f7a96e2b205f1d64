"""Approving masters by the command: printed beside the audio that was approved, and for no other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.meters import figures
from delivery.model.finding import Finding
from delivery.pipeline import Options, check, resolve_request
from delivery.report.data import document
from delivery.report.html import sheet
from delivery.report.text import mail as mail_text
from delivery.report.view.make import view_of
from tests.albums import Song, write_album, write_song, write_spec

SONGS = [Song("One", seconds=0.5), Song("Two", seconds=0.5, seed=2)]
NAME = "Imke Sandvoort"


@pytest.fixture
def album(tmp_path: Path) -> Path:
    write_spec(tmp_path, "native", "{bits: {must: [24]}, release_fields: {must: [approved_by]}}", "{}")
    return write_album(tmp_path, SONGS, ["native"])


def approve(album: Path, by: str = NAME, date: str = "2026-05-12") -> int:
    return run(["approve", str(album.parent), "--by", by, "--date", date])


def papers(album: Path) -> tuple[str, dict[str, Any], list[str]]:
    """The paragraph on every paper, what the data states, and findings about it."""
    delivery = check(resolve_request(album), Options())
    view = view_of(delivery, figures())
    mail = " ".join(mail_text.render(view).decode().split())
    page = sheet.render(view).decode().replace("&#34;", '"')
    assert view.approval in mail
    assert view.approval in page
    return (
        view.approval,
        document.document(delivery)["release"]["approval"],
        [_printed(one) for one in delivery.findings],
    )


def _printed(finding: Finding) -> str:
    return f"{finding.answer.value}: {finding.found}"


def test_an_approval_is_printed_beside_its_audio(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert papers(album)[1] is None
    assert approve(album) == 0
    reported = capsys.readouterr().out
    output, data, findings = papers(album)
    hashes = data["audio_hashes"]
    assert output == (
        f"These masters are approved: {NAME}, 2026-05-12. Audio hashes approved: 1 {hashes[0][:8]}, 2 {hashes[1][:8]}. "
        f"Label copy approved with them: {data['label_copy_hash'][:8]}."
    )
    assert all(audio_hash in reported for audio_hash in hashes)
    assert (data["by"], data["date"], data["holds"]) == (NAME, "2026-05-12", True)
    assert not any("approval" in finding for finding in findings)


def test_other_audio_makes_it_no_approval_until_it_is_given_again(album: Path) -> None:
    approve(album)
    approved = papers(album)[1]["audio_hashes"]
    write_song(album.parent, 2, Song("Two", seconds=0.5, seed=9))
    output, data, findings = papers(album)
    assert output.startswith(
        f"Not an approval of these files: {NAME}, 2026-05-12, was given for other audio. "
        f"Tracks that differ, by audio hash: 2 (approved {approved[1][:8]}, now "
    )
    assert approved[0][:8] not in output
    assert "delivery approve" not in output, "a client reads it"
    assert (data["holds"], data["tracks"]) == (False, ["1"])
    assert any("no approval of this audio" in finding for finding in findings)
    assert approve(album) == 0
    assert papers(album)[1]["holds"] is True


def test_another_order_or_a_further_track_is_other_audio(album: Path) -> None:
    approve(album)
    text = album.read_text(encoding="utf-8")
    swapped = text.replace("01 One.wav", "x").replace("02 Two.wav", "01 One.wav").replace("file: x", "file: 02 Two.wav")
    album.write_text(swapped, encoding="utf-8")
    assert papers(album)[1]["holds"] is False
    write_song(album.parent, 3, Song("Three", seconds=0.5, seed=3))
    album.write_text(f"{text}- file: 03 Three.wav\n  title: Three\n", encoding="utf-8")
    output, data, _ = papers(album)
    assert "Tracks that differ, by audio hash: 3 (approved none, now " in output
    assert data["holds"] is False


def test_a_track_without_recipient_voids_no_approval(album: Path) -> None:
    """Positions are those of the release file: what is left out of a delivery changes no position."""
    approve(album)
    text = album.read_text(encoding="utf-8").replace("- file: 01 One.wav", "- file: 01 One.wav\n  not_for: [native]")
    album.write_text(text, encoding="utf-8")
    output, data, _ = papers(album)
    assert data["holds"] is True
    assert f"Audio hashes approved: 2 {data['audio_hashes'][1][:8]}. Label copy" in output


def test_a_name_without_hashes_is_no_approval(album: Path) -> None:
    album.write_text(album.read_text(encoding="utf-8") + f"approved_by: {NAME}\n", encoding="utf-8")
    output, data, findings = papers(album)
    assert output.startswith(f"Name stated without audio hashes: {NAME}; not an approval of these files.")
    assert (data["by"], data["holds"], data["audio_hashes"]) == (NAME, False, [])
    assert any("no approval of this audio" in finding for finding in findings)


@pytest.mark.parametrize(("by", "date", "fault"), [("  ", "2026-05-12", "--by"), (NAME, "12/05/2026", "--date")])
def test_what_cannot_be_approved_changes_nothing(
    album: Path, by: str, date: str, fault: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = album.read_bytes()
    assert approve(album, by, date) == 2
    assert fault in capsys.readouterr().err
    assert album.read_bytes() == before


def test_a_master_that_cannot_be_read_is_not_approved(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (album.parent / "02 Two.wav").write_bytes(b"RIFF")
    before = album.read_bytes()
    assert approve(album) == 2
    assert "02 Two.wav" in capsys.readouterr().err
    assert album.read_bytes() == before


def test_the_command_for_machines(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["approve", str(album), "--by", NAME, "--date", "2026-05-12", "--json"]) == 0
    reported = json.loads(capsys.readouterr().out)
    data = papers(album)[1]
    assert reported == {key: data[key] for key in ("by", "date", "audio_hashes")} | {
        "approved": [1, 2],
        "requests": [],
        "revision": 1,
        "states_revision": True,
    }


def test_the_remedy_about_other_audio_is_printed(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    approve(album)
    write_song(album.parent, 2, Song("Two", seconds=0.5, seed=9))
    capsys.readouterr()
    assert run(["check", str(album)]) == 1
    assert "When these masters are approved: delivery approve" in " ".join(capsys.readouterr().out.split())


def test_every_difference_of_a_track_is_printed(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The remedy of each is its own: findings with one remedy are printed as one."""
    approve(album)
    write_song(album.parent, 2, Song("Two", seconds=0.5, seed=9))
    text = album.read_text(encoding="utf-8").replace("  title: Two", "  title: Too")
    album.write_text(text, encoding="utf-8")
    capsys.readouterr()
    assert run(["check", str(album)]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "track 2 'Too' has other audio than" in said
    assert "title of track 2 changed from 'Two' to 'Too'" in said
