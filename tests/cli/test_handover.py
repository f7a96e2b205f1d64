"""`handover` notes what left, and refuses a package that is not what was approved."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.ledger.deliveries import DeliveryLedger
from tests.albums import Song, write_album, write_song, write_spec
from tests.pipeline.test_images import edited

pytestmark = pytest.mark.usefixtures("without_sheets")
NAME, DAY = "Imke Sandvoort", "2026-05-12"


@pytest.fixture
def album(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    write_spec(tmp_path, "cd", "{container: {must: [wav]}}", "{}")
    return write_album(tmp_path, [Song("One", seconds=1.0), Song("Two", seconds=1.0, seed=2)], ["cd"])


def built(album: Path, into: str = "out", *options: str) -> Path:
    folder = album.parent / into
    before = set(folder.iterdir()) if folder.is_dir() else set()
    folder.mkdir(exist_ok=True)
    assert run(["build", str(album), "--into", str(folder), *options]) == 0
    (package,) = (path for path in set(folder.iterdir()) - before if path.is_dir())
    return package


def approve(album: Path) -> None:
    assert run(["approve", str(album), "--by", NAME, "--date", DAY]) == 0


def handed(package: Path) -> int:
    return run(["handover", str(package), "--to", "Ada Fenn", "--by", "M", "--date", "2026-05-13"])


def noted() -> int:
    return sum(len(each.handovers) for each in DeliveryLedger().of_numbers(range(1, 9)))


def test_without_an_approval_it_is_noted_with_a_remark(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert handed(built(album)) == 0
    assert "No approval of all tracks of this release is recorded yet." in capsys.readouterr().err
    assert noted() == 1


def test_what_was_approved_leaves_without_a_remark(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    approve(album)
    package = built(album)
    capsys.readouterr()
    assert handed(package) == 0
    assert "approved" not in capsys.readouterr().err
    assert noted() == 1


def test_a_note_made_by_mistake_is_withdrawn(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    package = built(album)
    for name, day in (("Ada Fenn", "2026-05-13"), ("Ada Fenn", "2026-05-14"), ("Bo Lund", "2026-05-14")):
        assert run(["handover", str(package), "--to", name, "--by", "M", "--date", day]) == 0
    withdraw = ["handover", str(package), "--withdraw", "--to", "Ada Fenn"]
    capsys.readouterr()
    assert run(withdraw) == 2
    assert "found 2 hand-overs, wanted one of: 2026-05-13 to Ada Fenn by M; 2026-05-14" in capsys.readouterr().err
    assert run([*withdraw, "--date", "2026-05-13"]) == 0
    assert "revision 1: no longer noted as handed over 2026-05-13 to Ada Fenn by M" in capsys.readouterr().out
    assert run([*withdraw, "--date", "2026-05-13"]) == 2, "it is gone"
    assert "found no such hand-over" in capsys.readouterr().err
    assert run(["open"]) == 0
    shown = capsys.readouterr().out
    assert ("2026-05-14   Ada Fenn" in shown, "2026-05-14   Bo Lund" in shown, "2026-05-13" in shown) == (
        True,
        True,
        False,
    )
    assert run([*withdraw, "--answer", "fine"]) == 2, "an answer to add, and a note to remove"
    assert noted() == 2


def test_of_two_notes_that_differ_in_words_either_can_be_withdrawn(album: Path) -> None:
    package = built(album)
    note = ["handover", str(package), "--to", "Ada Fenn", "--by", "M", "--date", DAY]
    for how in ([], ["--how", "upload"]):
        assert run(note) == 0
        assert run([*note, "--how", "upload"]) == 0
        assert noted() == 2
        assert run([*note, "--withdraw", *how]) == 0
        assert noted() == 1
        assert run([*note, "--withdraw"]) == 0
        assert noted() == 0


def test_what_has_not_happened_yet_is_not_noted(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    package = built(album)
    assert run(["handover", str(package), "--to", "Ada Fenn", "--by", "M", "--date", "9026-05-13"]) == 2
    assert "--date: found 9026-05-13, wanted a day up to today" in capsys.readouterr().err
    assert noted() == 0


def new_audio(album: Path) -> None:
    write_song(album.parent, 2, Song("Two", seconds=1.0, seed=3))


def new_title(album: Path) -> None:
    edited(album, lambda data: data["tracks"][1].update(title="Too"))


def new_code(album: Path) -> None:
    edited(album, lambda data: data["tracks"][0].update(isrc="ZZOSL2600077"))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (new_audio, "track 2 'Two' has other audio than Imke Sandvoort approved on 2026-05-12"),
        (new_title, "title of track 2 'Two' is 'Two'; Imke Sandvoort approved 'Too' on 2026-05-12"),
        (new_code, "isrc of track 1 'One' is not what Imke Sandvoort approved on 2026-05-12"),
    ],
)
def test_a_package_from_before_the_approved_version_is_refused(
    album: Path, change: Callable[[Path], None], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    package = built(album)
    change(album)
    approve(album)
    capsys.readouterr()
    assert handed(package) == 2
    assert words in " ".join(capsys.readouterr().err.split())
    assert noted() == 0


def test_the_ledger_has_what_was_approved_where_there_is_no_release_file(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Built twice as the same revision: the client approved the second one. A later one goes out to be approved."""
    first = built(album)
    new_audio(album)
    approve(album)
    built(album, "second")
    away = album.parent / "shelf" / "archive" / first.name
    away.parent.mkdir(parents=True)
    shutil.move(first, away)
    capsys.readouterr()
    assert handed(away) == 2
    assert "it is not revision 1, approved by Imke Sandvoort on 2026-05-12" in " ".join(capsys.readouterr().err.split())

    def later(data: dict[str, Any]) -> None:
        data["revision"] = 2
        del data["approved"]
        data["tracks"][1]["title"] = "Too"

    edited(album, later)
    assert handed(built(album, "third")) == 0
    assert "This revision is not approved yet. The last one approved is revision 1" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "words"),
    [(new_audio, "Track 2, Two:"), (new_title, "Track 2, Too:"), (new_code, "ZZ-OSL-26-00077")],
)
def test_a_later_revision_than_the_approved_one_is_refused_unless_waived(
    album: Path, change: Callable[[Path], None], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing beside it says that the approval was withdrawn."""
    approve(album)
    built(album)

    def later(data: dict[str, Any]) -> None:
        data["revision"] = 2
        del data["approved"]

    change(album)
    edited(album, later)
    package = built(album, "second")
    waived = built(album, "waived", "--waive", "approved", "--by", "M", "--why", "the client has heard it")
    shelf = album.parent / "shelf" / "archive"
    for one, name in ((waived, "waived"), (package, "plain")):
        (shelf / name).mkdir(parents=True)
        shutil.move(one, shelf / name / one.name)
    capsys.readouterr()
    assert handed(shelf / "plain" / package.name) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "it is not revision 1, approved by Imke Sandvoort on 2026-05-12" in said
    assert words in said
    assert noted() == 0
    assert handed(shelf / "waived" / waived.name) == 0


def test_a_later_revision_with_the_approved_audio_and_label_copy_leaves(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A note is nothing that was approved."""
    approve(album)
    built(album)

    def later(data: dict[str, Any]) -> None:
        data["revision"] = 2
        data["notes"] = "Sent twice."
        del data["approved"]

    edited(album, later)
    package = built(album, "second")
    away = album.parent / "shelf" / "archive" / package.name
    away.parent.mkdir(parents=True)
    shutil.move(package, away)
    capsys.readouterr()
    assert handed(away) == 0
    assert "The last one approved is revision 1" in capsys.readouterr().err


def test_waived_in_the_package_it_leaves(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    approve(album)
    new_audio(album)
    package = built(album, "out", "--waive", "approved", "--by", "M", "--why", "the client has heard it")
    data = json.loads((package / "data" / "delivery-data.json").read_text(encoding="utf-8"))
    assert [one["rule"] for one in data["release"]["waivers"]] == ["approved"]
    capsys.readouterr()
    assert handed(package) == 0
    assert "is waived in the package" in " ".join(capsys.readouterr().err.split())


def waive(rule: str) -> tuple[str, ...]:
    return ("--waive", rule, "--by", "M", "--why", "the client has heard it")


def test_a_waiver_for_one_track_covers_no_other(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Track 1 may differ; the audio of track 2 was replaced and approved since."""
    approve(album)
    write_song(album.parent, 1, Song("One", seconds=1.0, seed=4))
    package = built(album, "out", *waive("approved:1"))
    assert handed(package) == 0
    new_audio(album)
    approve(album)
    capsys.readouterr()
    assert handed(package) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "track 2 'Two' has other audio than Imke Sandvoort approved on 2026-05-12" in said
    assert "'One'" not in said


def test_a_waiver_for_one_track_holds_beside_the_ledger_too(album: Path) -> None:
    """There is no release file beside the packages: track 2 differs from what the ledger holds as approved."""
    approve(album)
    built(album)
    new_audio(album)
    edited(album, lambda data: data.update(revision=2))
    shelf = album.parent / "shelf" / "archive"
    shelf.mkdir(parents=True)
    for at, (rule, code) in enumerate((("approved:2", 0), ("approved", 0))):
        edited(album, lambda data: data.pop("waivers", None))
        package = built(album, f"waived {at}", *waive(rule))
        (shelf / str(at)).mkdir()
        shutil.move(package, shelf / str(at) / package.name)
        assert handed(shelf / str(at) / package.name) == code


def test_a_waiver_of_what_was_approved_holds_for_its_revision_only(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise one waiver would let every later version of the track leave unapproved."""
    approve(album)
    new_audio(album)
    built(album, "out", *waive("approved:2"))
    said = " ".join(capsys.readouterr().err.split())
    assert "Waived approved of track 2, by M: it holds for revision 1 only." in said
    assert "release.yaml under 'waivers'." in said
    assert run(["build", str(album), "--into", str(album.parent / "out"), "--replace"]) == 0
    edited(album, lambda data: data.update(revision=2))
    assert run(["check", str(album)]) == 1
    assert "has other audio than Imke Sandvoort approved" in " ".join(capsys.readouterr().out.split())


def test_another_waiver_is_reported_to_apply_until_it_is_deleted(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    built(album, "out", *waive("bits"))
    assert "Waived bits, by M: it holds until it is deleted there." in capsys.readouterr().err


def test_a_request_for_a_change_answers_the_hand_over(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The requested changes are listed with it; the release is still not approved."""
    package = built(album)
    assert handed(package) == 0
    mail = album.parent / "mail.txt"
    mail.write_text("1 ok\n2: more bass\n", encoding="utf-8")
    assert run(["approve", str(album), "--from", str(mail), "--by", "Ada Fenn", "--date", "2026-05-14"]) == 0
    capsys.readouterr()
    assert run(["open"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "not approved" in said
    assert "no answer" not in said
    (past,) = DeliveryLedger().of_numbers([1])
    answered = [(one.answer, one.answer_day) for one in past.handovers]
    assert answered == [("approved 1; track 2: more bass", "2026-05-14")]


@pytest.mark.parametrize(("by", "answered"), [("Ada Fenn", ["Ada Fenn"]), ("Somebody", [])])
def test_of_several_recipients_the_answer_is_for_the_one_who_sent_it(
    album: Path, by: str, answered: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    package = built(album)
    assert handed(package) == 0
    assert run(["handover", str(package), "--to", "Plant", "--by", "M", "--date", "2026-05-13"]) == 0
    mail = album.parent / "mail.txt"
    mail.write_text("2: more bass\n", encoding="utf-8")
    assert run(["approve", str(album), "--from", str(mail), "--by", by, "--date", "2026-05-14"]) == 0
    assert ("none of the recipients" in capsys.readouterr().err) is not answered
    (past,) = DeliveryLedger().of_numbers([1])
    assert [one.recipient for one in past.handovers if one.answer] == answered


MAIL = "From: Imke Sandvoort <imke@artist.invalid>\nDate: Tue, 12 May 2026 09:30:00 +0100\n\n"


def mailed(album: Path, text: str) -> int:
    file = album.parent / "mail.txt"
    file.write_text(MAIL + text, encoding="utf-8")
    return run(["approve", str(album), "--from", str(file)])


def new_release_title(album: Path) -> None:
    edited(album, lambda data: data.update(title="Another Title"))


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (new_audio, "had other audio"),
        (new_title, "title of track"),
        (new_code, "isrc of track"),
        (new_release_title, "title of the release was"),
    ],
)
@pytest.mark.parametrize("text", ["all ok\n", "revision 1: all ok\n"])
def test_a_mail_approves_nothing_that_was_changed_since_it_was_sent(
    album: Path, change: Callable[[Path], None], found: str, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A mail names no audio: the client heard the revision as it was delivered, not what the folder holds now."""
    built(album)
    change(album)
    before = album.read_bytes()
    capsys.readouterr()
    assert mailed(album, text) == 2
    error = capsys.readouterr().err
    assert "an answer to revision 1 as it was delivered: " in error
    assert found in error
    assert album.read_bytes() == before
    edited(album, lambda data: data.update(revision=2))
    built(album)
    assert mailed(album, "revision 2: all ok\n") == 0


def test_a_mail_may_approve_tracks_that_were_not_changed(album: Path) -> None:
    """And what had not been supplied is no change: here a composer, after the delivery."""
    built(album)
    new_audio(album)
    edited(album, lambda data: data["tracks"][0].update(composers=["Odile Merrow"]))
    assert mailed(album, "1 ok\n") == 0
    assert mailed(album, "2 ok\n") == 2


def test_of_two_builds_of_a_revision_the_one_handed_over_is_approved(album: Path) -> None:
    first = built(album)
    assert handed(first) == 0
    new_audio(album)
    built(album, "elsewhere")
    assert mailed(album, "all ok\n") == 2


@pytest.mark.parametrize(("revision", "option"), [(1, "--replace"), (2, "--again")])
def test_the_option_that_is_named_builds_what_has_not_changed(
    album: Path, revision: int, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    into = ["--into", str(built(album).parent)]
    edited(album, lambda data: data.update(revision=revision))
    capsys.readouterr()
    assert run(["build", str(album), *into]) == 0
    assert f"Nothing was built; {option} builds it" in " ".join(capsys.readouterr().out.split())
    assert run(["build", str(album), *into, option]) == 0
    assert "Nothing was built" not in capsys.readouterr().out


def test_an_earlier_revision_leaves_with_a_remark(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Else the wrong one of two packages goes to the plant without a word."""
    first = built(album)
    edited(album, lambda data: data.update(revision=2))
    second = built(album, "out", "--again")
    capsys.readouterr()
    assert handed(first) == 0
    assert "Revision 2 of this release is in the ledger; this is revision 1." in capsys.readouterr().err
    assert handed(second) == 0
    assert "is in the ledger" not in capsys.readouterr().err


def test_other_files_under_a_revision_that_left_are_reported(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    package = built(album)
    assert handed(package) == 0
    edited(album, lambda data: data["tracks"][0].update(title="Won"))
    capsys.readouterr()
    assert run(["build", str(album), "--into", str(package.parent), "--replace"]) == 0
    sentence = "Revision 1 was handed over to Ada Fenn on 2026-05-13 with other files"
    assert sentence in capsys.readouterr().err
    write_spec(album.parent, "other", "{container: {must: [wav]}}", "{}")
    other = album.parent / "for another recipient"
    assert run(["build", str(album), "--into", str(other), "-s", "other"]) == 0
    assert sentence not in capsys.readouterr().err, "files for another spec are not those that left"


def damaged(ledger: Path) -> Path:
    ledger.write_bytes(b"junk" * 300)
    return ledger


@pytest.mark.parametrize("options", [[], ["--no-cache"]])
def test_a_damaged_ledger_is_reported_by_whatever_finds_it(
    album: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    """It is set aside once: what is not said then, nobody learns. Also by a build that is refused."""
    package = built(album)
    damaged(tmp_path / "ledger.sqlite3")
    capsys.readouterr()
    assert handed(package) == 0
    assert capsys.readouterr().err.count("was damaged") == 1
    damaged(tmp_path / "ledger.sqlite3")
    edited(album, lambda data: data["tracks"][0].update(title="Won"))
    assert run(["build", str(album), "--into", str(package.parent), *options]) == 2
    assert capsys.readouterr().err.count("was damaged") == 1


def test_a_drive_that_is_not_there_has_not_said_that_nothing_is_out(
    album: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written where the drive would be: that would be hidden, and lost, once it is connected."""
    ledger = tmp_path / "drive" / "ledger.sqlite3"
    monkeypatch.setenv("DELIVERY_LEDGER", str(ledger))
    for command in (["open"], ["history", "One"], ["report", "--month", "2026-05"]):
        assert run(command) == 2, "'nothing' would be wrong"
        assert "is the drive connected?" in capsys.readouterr().err
    package = built(album)
    assert "is the drive connected?" in capsys.readouterr().err
    assert handed(package) == 2
    assert not ledger.parent.exists()
    ledger.parent.mkdir()
    assert run(["open"]) == 0
    assert f"There is no ledger at {ledger} yet." in capsys.readouterr().err


def changed(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-4] + b"\x01\x02\x03\x04")


def swapped(file: Path) -> None:
    other = next(path for path in file.parent.glob("*.wav") if path != file)
    one, two = file.read_bytes(), other.read_bytes()
    file.write_bytes(two)
    other.write_bytes(one)


@pytest.mark.parametrize(
    ("harm", "words"),
    [(Path.unlink, "missing"), (changed, "changed"), (swapped, "and 1 more difference,")],
)
def test_files_that_are_not_as_packed_do_not_leave(
    album: Path, capsys: pytest.CaptureFixture[str], harm: Callable[[Path], None], words: str
) -> None:
    """The ledger would say that other bits left than did; the lists still have the fingerprint of the whole package."""
    approve(album)
    package = built(album)
    harm(min((package / "data" / "cd").glob("*.wav")))
    assert handed(package) == 2
    assert words in capsys.readouterr().err
    assert noted() == 0
