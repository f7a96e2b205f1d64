"""The command line as a person or a script meets it: exit codes, one JSON document, one clear message."""

from __future__ import annotations

import json
import os
import pkgutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from PIL import Image

import delivery.cli
from delivery.__main__ import run
from delivery.intake import load_release, shipped
from tests.albums import Song, write_album, write_spec

COMMANDS = [
    "start",
    "confirm",
    "label-copy",
    "check",
    "names",
    "build",
    "accept",
    "waive",
    "approve",
    "migrate",
    "guide",
    "questions",
    "verify",
    "audit",
    "history",
    "handover",
    "open",
    "report",
    "changes",
    "redeliver",
    "desk",
    "watch",
    "revise",
    "measure",
    "compare",
    "reference",
    "spec",
]


pytestmark = pytest.mark.usefixtures("own_home")


@pytest.fixture
def album(tmp_path: Path) -> Path:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
    write_spec(folder, "quiet", "{true_peak_max_dbtp: {must: -20.0}}", "{}")
    return write_album(folder, [Song("One"), Song("Two", seed=2)], ["native"])


def reported(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(capsys.readouterr().out)


def test_every_command_is_found_by_being_there(capsys: pytest.CaptureFixture[str]) -> None:
    names = (info.name for info in pkgutil.iter_modules(delivery.cli.__path__) if not info.name.startswith("_"))
    assert {name.replace("_", "-") for name in names} == set(COMMANDS)
    assert run(["--help"]) == 0
    shown = capsys.readouterr().out
    assert all(command in shown for command in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_teaches_by_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    assert f"delivery {command}" in capsys.readouterr().out


@pytest.mark.parametrize("columns", [80, 100])
def test_examples_in_the_help_can_be_copied(
    columns: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each is a line of its own; a line break within a command would end it too early."""
    monkeypatch.setenv("COLUMNS", str(columns))
    for command in COMMANDS:
        assert run([command, "--help"]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= columns, command
        heading = next(at for at, line in enumerate(lines) if line.strip() in ("Example:", "Examples:"))
        examples = [line.strip() for line in lines[heading + 1 :] if line.strip()]
        assert all(example.startswith("delivery") and "·" not in example for example in examples), command


def test_check_answers_with_its_exit_code(album: Path) -> None:
    assert run(["check", str(album)]) == 0
    assert run(["check", str(album), "--spec", "quiet"]) == 1
    (album.parent / "02 Two.wav").unlink()
    assert run(["check", str(album)]) == 2


def test_check_json_is_one_document_that_obeys_its_schema(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(album), "--json"]) == 0
    schema = json.loads(shipped("output.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(reported(capsys))


def test_check_writes_nothing(album: Path) -> None:
    before = sorted(album.parent.iterdir())
    run(["check", str(album)])
    assert sorted(album.parent.iterdir()) == before


def test_build_then_verify_then_one_wrong_byte(album: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(album), "--into", str(tmp_path)]) == 0
    package = tmp_path / "OSL-014 Harbour Arithmetic rev 1"
    assert str(package.name) in capsys.readouterr().out
    assert run(["verify", str(package)]) == 0
    file = next(package.rglob("*Two.wav"))
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    file.write_bytes(data)
    capsys.readouterr()
    assert run(["verify", str(package), "--json"]) == 1
    document = reported(capsys)
    assert document["whole"] is False
    assert {each["path"] for each in document["differences"]} == {file.relative_to(package).as_posix()}
    assert {"changed", "other sound"} <= {each["what"] for each in document["differences"]}


@pytest.mark.thorough(2)
@pytest.mark.parametrize(
    "damage", [b"", b"[]", b'{"parts": [{"shipped": 3}], "images": []}', b'{"parts": [{"shipped": {"path": "../x"}}]}']
)
def test_damaged_data_is_a_difference_like_any_other(
    album: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], damage: bytes
) -> None:
    """Every other file of the package is still checked, and what is wrong with this one is reported."""
    assert run(["build", str(album), "--into", str(tmp_path)]) == 0
    package = tmp_path / "OSL-014 Harbour Arithmetic rev 1"
    (package / "data" / "delivery-data.json").write_bytes(damage)
    next(package.rglob("*Two.wav")).unlink()
    capsys.readouterr()
    assert run(["verify", str(package), "--json"]) == 1
    output = {(each["path"], each["what"]) for each in reported(capsys)["differences"]}
    assert {("data/delivery-data.json", "changed"), ("data/delivery-data.json", "unreadable")} <= output
    assert ("data/native/02 Two.wav", "missing") in output


def test_build_json_is_one_document(album: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(album), "--into", str(tmp_path), "--json"]) == 0
    assert {part["shipped"]["path"] for part in reported(capsys)["parts"]} == {
        "data/native/01 One.wav",
        "data/native/02 Two.wav",
    }


def test_an_existing_package_is_refused_by_one_message(
    album: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["build", str(album), "--into", str(tmp_path)]) == 0
    capsys.readouterr()
    album.write_text(album.read_text(encoding="utf-8").replace("title: Two", "title: Too"), encoding="utf-8")
    assert run(["build", str(album), "--into", str(tmp_path)]) == 2
    assert "--replace" in capsys.readouterr().err
    assert run(["build", str(album), "--into", str(tmp_path), "--replace"]) == 0


def test_a_waiver_from_the_command_line_is_kept_in_the_release_file(album: Path, tmp_path: Path) -> None:
    command = ["build", str(album), "--into", str(tmp_path), "--spec", "quiet"]
    assert run(command) == 1
    waive = ["--waive", "true_peak_max_dbtp", "--by", "A. Moreau", "--why", "client wants it"]
    assert run([*command, *waive]) == 0
    assert "A. Moreau" in album.read_text(encoding="utf-8")
    assert run(["check", str(album), "--spec", "quiet"]) == 0


def test_an_acceptance_is_kept_in_the_release_file(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_spec(album.parent, "softly", "{true_peak_max_dbtp: {should: -20.0}}", "{}")
    acceptance = [
        "accept",
        str(album),
        "true_peak_max_dbtp:1",
        "--by",
        "A. Moreau",
        "--why",
        "intended",
        "--spec",
        "softly",
    ]
    assert run(acceptance) == 0
    assert "accepted:" in album.read_text(encoding="utf-8")
    capsys.readouterr()
    assert run(["check", str(album), "--spec", "softly", "--json"]) == 0
    answers = {(f["track"], f["answer"]) for part in reported(capsys)["parts"] for f in part["findings"]}
    assert answers == {(1, "accepted"), (2, "not met")}
    assert run(acceptance) == 2
    assert "accepted already" in capsys.readouterr().err


def test_a_remark_is_accepted_on_every_track_that_has_it(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_spec(album.parent, "softly", "{true_peak_max_dbtp: {should: -20.0}}", "{}")
    everywhere = ["accept", str(album), "--all", "true_peak_max_dbtp", "--by", "A", "--why", "B", "--spec", "softly"]
    assert run(everywhere) == 0
    assert "of track 1" in (output := capsys.readouterr().out)
    assert "of track 2" in output
    assert run(["check", str(album), "--spec", "softly", "--json"]) == 0
    assert reported(capsys)["result"] == "ready"
    assert run(everywhere) == 2
    assert "no remark on any track" in capsys.readouterr().err


def test_a_must_is_waived_for_one_track_and_for_all(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["waive", str(album), "true_peak_max_dbtp:1", "--by", "A. Moreau", "--why", "client wants it"]) == 0
    assert "Waived true_peak_max_dbtp of track 1, by A. Moreau: it holds until" in capsys.readouterr().out
    assert run(["check", str(album), "--spec", "quiet"]) == 1
    assert run(["waive", str(album), "true_peak_max_dbtp", "--by", "A. Moreau", "--why", "both"]) == 0
    assert run(["check", str(album), "--spec", "quiet"]) == 0
    before = album.read_bytes()
    assert run(["waive", str(album), "true_peak_max_dbtp:9", "--by", "A", "--why", "B"]) == 2
    assert run(["waive", str(album), "no_such_rule", "--by", "A", "--why", "B"]) == 2
    assert album.read_bytes() == before


def test_names_are_shown_before_anything_is_built(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are the names a build gives; nothing is written for showing them."""
    before = sorted(album.parent.iterdir())
    assert run(["names", str(album), "--json"]) == 0
    named = reported(capsys)
    assert [(one["spec"], one["what"], one["now"], one["name"]) for one in named] == [
        ("native", "1", "01 One.wav", "01 One.wav"), ("native", "2", "02 Two.wav", "02 Two.wav"),
    ]  # fmt: skip
    assert sorted(album.parent.iterdir()) == before
    text = album.read_text(encoding="utf-8").replace("title: Two", "title: 'One'").replace("title: One", "title: 'A/B'")
    album.write_text(text.replace("file: 02 Two.wav", "file: 02 Gone.wav"), encoding="utf-8")
    assert run(["names", str(album)]) == 1
    shown = capsys.readouterr().out
    assert "'A/B' is written 'A-B'" in shown
    assert "wrong: 02 Gone.wav" in shown


def test_an_accepted_spelling_is_kept_in_the_studio_file(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No advice is given about it any more; what is nowhere on the release is refused with the nearest."""
    from delivery.intake import load_release
    from delivery.pipeline import resolve_request

    title = load_release(album).tracks[0].title
    (album.parent / "studio.yaml").write_text("# mine\nengineer: A\n", encoding="utf-8")
    before = album.read_bytes()
    assert run(["accept", str(album), "--spelling", title[:-1]]) == 2
    assert f"Did you mean {title!r}?" in capsys.readouterr().err
    assert run(["accept", str(album), "--spelling", title]) == 0
    assert title in resolve_request(album).release.accepted_titles
    assert (album.parent / "studio.yaml").read_text(encoding="utf-8").startswith("# mine\nengineer: A\n")
    assert album.read_bytes() == before


@pytest.mark.parametrize("remark", ["true_peak_max_dbtp", ":1", "true_peak_max_dbtp:x", "no-such-rule:1"])
def test_half_an_acceptance_is_refused_and_nothing_is_written(remark: str, album: Path) -> None:
    before = album.read_bytes()
    assert run(["acceptance", str(album), remark, "--by", "A", "--why", "B"]) == 2
    assert album.read_bytes() == before


@pytest.mark.parametrize(
    "waive",
    [
        ["--waive", "true_peak_max_dbtp"],
        ["--waive", "true_peak_max_dbtp:x", "--by", "A", "--why", "B"],
        ["--waive", "no-such-rule", "--by", "A", "--why", "B"],
    ],
)
def test_half_a_waiver_is_refused_and_nothing_is_written(album: Path, tmp_path: Path, waive: list[str]) -> None:
    before = album.read_bytes()
    assert run(["build", str(album), "--into", str(tmp_path / "out"), *waive]) == 2
    assert album.read_bytes() == before


def test_measure_json_gives_null_and_the_reason_where_there_is_no_figure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import numpy as np
    import soundfile as sf

    sf.write(tmp_path / "silence.wav", np.zeros((48_000, 2)), 48_000, subtype="PCM_24")
    assert run(["measure", "--json", str(tmp_path / "silence.wav")]) == 0
    (file,) = reported(capsys)["files"]
    assert file["path"].endswith("silence.wav")
    assert file["measurement"]["integrated_lufs"] is None
    assert "silen" in file["why_missing"]["integrated_lufs"]
    assert file["measurement"]["rate_hz"] == 48_000


def test_measure_of_a_folder_prints_programme_totals(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As a table on the terminal, as JSON, as CSV; a single file is no programme."""
    write_album(tmp_path, [Song("One"), Song("Two", seed=2, level_dbfs=-20)], ["store-master-24"])
    assert run(["measure", str(tmp_path)]) == 0
    text = capsys.readouterr().out
    assert text.index("01 One.wav") < text.index("02 Two.wav") < text.index("All 2 files as one programme")
    assert run(["measure", "--json", str(tmp_path)]) == 0
    together = reported(capsys)["together"]
    assert run(["measure", "--csv", str(tmp_path)]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[0].lstrip("\ufeff") == "file,subject,figure,value,unit,at_sample,why_missing"
    (row,) = (row for row in rows if row.startswith("(all files as one),loudness"))
    assert float(row.split(",")[3]) == pytest.approx(together["integrated_lufs"], abs=1e-8)
    assert run(["measure", "--json", str(tmp_path / "01 One.wav")]) == 0
    assert reported(capsys)["together"] is None
    assert run(["measure", "--json", "--csv", str(tmp_path)]) == 2
    assert "one of them" in capsys.readouterr().err


def test_measure_after_codec_prints_peaks_of_the_decoded_copy(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As data and as a table; a codec that could not be tried is exit code 1 and never a pass."""
    from dataclasses import replace

    from delivery.audio import encode

    write_album(tmp_path, [Song("One", rate_hz=48_000, level_dbfs=-11)], ["store-master-24"])
    song = str(tmp_path / "01 One.wav")
    assert run(["measure", "--json", "--codecs", "mp3:128,mp3:v9,opus:64", song]) == 0
    (file,) = reported(capsys)["files"]
    assert [(each["coding"], each["bitrate_kbps"], each["vbr_quality"]) for each in file["after_codec"]] == [
        ("mp3", 128, None),
        ("mp3", None, 9),
        ("opus", 64, None),
    ]
    for each in file["after_codec"]:
        assert each["change_db"] == pytest.approx(
            each["decoded"]["true_peak_dbtp"] - file["measurement"]["true_peak_dbtp"]
        )
        assert (each["trim_db"] < 0) == (each["decoded"]["true_peak_dbtp"] > 0)
    assert run(["measure", "--json", song]) == 0
    assert reported(capsys)["files"][0]["after_codec"] is None
    monkeypatch.setitem(encode.CODECS, "opus", replace(encode.CODECS["opus"], encoder="libnosuchthing"))
    assert run(["measure", "--after-codec", song]) == 1
    text = capsys.readouterr().out
    assert "MP3 320 kbit/s" in text
    assert "no encoder for Opus on this machine" in " ".join(text.split())
    assert run(["measure", "--codecs", "mp4:3", song]) == 2
    assert "mp4:3" in capsys.readouterr().err


def test_measure_continues_after_a_file_that_is_no_sound(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "text.wav").write_text("no sound at all", encoding="utf-8")
    write_album(tmp_path, [Song("One")], ["store-master-24"])
    assert run(["measure", "--json", str(tmp_path)]) == 2
    files = {Path(file["path"]).name: file for file in reported(capsys)["files"]}
    assert files["01 One.wav"]["measurement"]["sample_peak_dbfs"] is not None
    assert files["text.wav"]["problem"]


def test_the_second_check_comes_from_the_cache(album: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from delivery.pipeline import sources

    assert run(["check", str(album)]) == 0

    def never(path: Path, **_: Any) -> None:
        raise AssertionError(f"{path} was measured again")

    monkeypatch.setattr(sources, "measure", never)
    assert run(["check", str(album)]) == 0
    assert run(["check", str(album), "--no-cache"]) == 2


def test_start_takes_the_values_that_build_takes_for_a_single(album: Path) -> None:
    album.unlink()
    Image.new("RGB", (300, 300)).save(album.parent.parent / "front.png")
    stated = ["--title", "Low Water", "--artist", "Ada: Fenn", "--version", "Demos", "--label", "Salt", "--upc"]
    stated += ["036000291452", "--cover", str(album.parent.parent / "front.png"), "--dated", "2026-11-28"]
    assert run(["start", str(album.parent), *stated[:-1], "yesterday"]) == 2
    assert not album.exists()
    assert run(["start", str(album.parent), *stated]) == 0
    release = load_release(album)
    assert (release.title, release.artist, release.version) == ("Low Water", "Ada: Fenn", "Demos")
    assert (release.label, release.upc, str(release.dated)) == ("Salt", "036000291452", "2026-11-28")
    assert 'artwork: "../front.png"' in album.read_text(encoding="utf-8")
    assert not {"title", "artist", "artwork"} & set(release.to_confirm), "what was stated is no guess"


def test_start_with_a_sheet_takes_what_the_sheet_lacks(album: Path, capsys: Any) -> None:
    album.unlink()
    sheet = album.parent / "copy.csv"
    sheet.write_text("File,Title,Album\n" + f"{next(album.parent.glob('*.wav')).name},Salt Road,Low Water\n")
    command = ["start", str(album.parent), "--label-copy", str(sheet), "--artist", "Ada Fenn"]
    assert run([*command, "--title", "High Water"]) == 2
    assert "--title: found 'High Water', and 'Low Water' in copy.csv" in capsys.readouterr().err
    assert run(command) == 0
    release = load_release(album)
    assert (release.title, release.artist) == ("Low Water", "Ada Fenn")
    assert run([*command[:-1], "Bo Stern", "--write"]) == 0
    assert "nothing of this one is changed by it" in "".join(capsys.readouterr())
    assert load_release(album).artist == "Ada Fenn"


def test_start_writes_a_release_file_that_loads_and_never_overwrites(album: Path, capsys: Any) -> None:
    album.unlink()
    assert run(["start", str(album.parent)]) == 0
    assert run(["check", str(album), "--spec", "native"]) == 1  # titles from file names are not confirmed yet
    assert run(["confirm", str(album), "--all"]) == 0
    assert run(["check", str(album), "--spec", "native"]) == 0
    capsys.readouterr()
    assert run(["start", str(album.parent)]) == 2
    assert "--replace" in capsys.readouterr().err


@pytest.mark.parametrize("typed", ["./mine.yaml", "specs/mine.yaml", "mine.yaml"])
def test_a_spec_typed_as_a_path_is_found_from_every_folder(
    album: Path, tmp_path: Path, monkeypatch: Any, typed: str
) -> None:
    """`start` writes it relative to the release file: later commands run elsewhere."""
    album.unlink()
    here = tmp_path / "here"
    (here / "specs").mkdir(parents=True)
    write_spec((here / typed).parent, "mine", "{container: {must: [wav]}}", "{}")
    monkeypatch.chdir(here)
    assert run(["start", os.path.relpath(album.parent), "--spec", typed]) == 0
    assert run(["confirm", str(album), "--all"]) == 0
    (elsewhere := tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(elsewhere)
    assert run(["check", str(album)]) == 0
    text = album.read_text(encoding="utf-8")
    assert str(tmp_path) not in text  # the whole tree may be moved


def test_a_spec_in_the_releases_own_folder_is_written_as_typed(album: Path, monkeypatch: Any) -> None:
    album.unlink()
    write_spec(album.parent, "mine", "{container: {must: [wav]}}", "{}")
    monkeypatch.chdir(album.parent)
    assert run(["start", ".", "--spec", "./mine.yaml"]) == 0
    assert '- "./mine.yaml"' in album.read_text(encoding="utf-8")


def test_specs_are_listed_explained_compared_and_begun(tmp_path: Path, capsys: Any, monkeypatch: Any) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["spec", "list", "--json"]) == 0
    names = {spec["name"] for spec in reported(capsys)["specs"]}
    assert {"store-master-24", "cd-rate-16", "broadcast-r128", "archive-bwf"} <= names
    assert run(["spec", "explain", "broadcast-r128"]) == 0
    assert "EBU R 128" in capsys.readouterr().out
    assert run(["spec", "diff", "broadcast-r128", "broadcast-a85", "--json"]) == 0
    assert reported(capsys)["differences"]
    assert run(["spec", "new", "my-library", "--based-on", "sync-48-24"]) == 0
    assert run(["spec", "explain", "my-library.yaml"]) == 0
    assert run(["spec", "new", "my-library"]) == 2
    assert run(["spec", "new", "my-library", "--into", "specs/mine"]) == 0
    assert Path("specs/mine/my-library.yaml").is_file()


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "no/such/file.wav"],
        ["check", "."],
        ["build", "no/such/release.yaml"],
        ["verify", "no-such-package"],
        ["measure", "no-such.wav"],
        ["start", "no-such-folder"],
        ["spec", "explain", "no-such-spec"],
        ["spec", "diff", "cd-rate-16", "no-such-spec"],
        ["check"],
        ["nonsense"],
    ],
)
def test_bad_input_is_one_message_and_exit_code_2(
    arguments: list[str], tmp_path: Path, monkeypatch: Any, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert err.strip() or out.strip()
    assert "Traceback" not in out + err


def test_a_place_that_cannot_be_written_is_one_message(album: Path, tmp_path: Path, capsys: Any) -> None:
    """A file where a folder should be: whatever command meets it, no traceback and nothing written."""
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    for command in (
        ["build", str(album), "--into", str(tmp_path / "file")],
        ["build", str(album), "--into", str(tmp_path / "file" / "deeper")],
        ["spec", "new", "mine", "--into", str(tmp_path / "file")],
    ):
        assert run(command) == 2
        assert str(tmp_path / "file") in capsys.readouterr().err
    assert (tmp_path / "file").read_text(encoding="utf-8") == "in the way"


def test_an_interrupt_ends_with_130(album: Path, tmp_path: Path, monkeypatch: Any, capsys: Any) -> None:
    from delivery.pipeline import sources

    def interrupted(_path: Path, **_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(sources, "measure", interrupted)
    (tmp_path / "out").mkdir()
    assert run(["build", str(album), "--into", str(tmp_path / "out")]) == 130
    assert "Interrupted" in capsys.readouterr().err
    assert list((tmp_path / "out").iterdir()) == []


def test_unknown_waivers_are_reported_together(album: Path, capsys: Any) -> None:
    with album.open("a", encoding="utf-8") as file:
        file.write("waivers:\n- {rule: tru_peak_max_dbtp, by: I, why: x}\n- {rule: head, by: I, why: y}\n")
        file.write("accepted: [{rule: nothing, track: 1, audio_hash: 0123abcd, by: I, why: z}]\n")
    assert run(["check", str(album), "--spec", "native"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(": found ")[1].split(",")[0] for line in lines] == ["'tru_peak_max_dbtp'", "'head'", "'nothing'"]
    assert "Did you mean true_peak_max_dbtp?" in lines[0]
    assert all(line.startswith("release.yaml") for line in lines)
    arguments = ["build", str(album), "--waive", "nowhere", "--by", "I", "--why", "x"]
    assert run(arguments) == 2
    assert "--waive: found 'nowhere', wanted the id of a rule." in capsys.readouterr().err
