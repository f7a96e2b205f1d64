"""What a build reports beside the sound: coding history, misleading names, codes that were delivered before."""

from __future__ import annotations

from pathlib import Path

import pytest
import soundfile

from delivery import __version__
from delivery.__main__ import run
from delivery.formats import embed
from delivery.pack import layout
from delivery.pipeline import Options, check, resolve_request
from delivery.tags.riff import read_bext
from tests.albums import Song, write_album, write_spec

pytestmark = pytest.mark.usefixtures("own_home")


def specs(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    convert = "{rate: lower, depth: lower, dither: tpdf}"
    write_spec(folder, "cd", "{rate_hz: {must: [44100]}, bits: {must: [16]}, container: {must: [wav]}}", convert)
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")


def only(folder: Path, pattern: str) -> Path:
    (found,) = (path for path in folder.rglob(pattern) if not path.name.endswith(" mail.txt"))
    return found


def test_coding_history_is_written_oldest_first(tmp_path: Path) -> None:
    """EBU R 98: one line a process; the master's own lines are kept, ours comes last."""
    specs(tmp_path / "m")
    path = write_album(tmp_path / "m", [Song("One", seconds=0.4)], ["cd", "native"])
    embed(
        tmp_path / "m" / "01 One.wav",
        "wav",
        {"coding_history": "A=ANALOGUE,M=stereo,T=tape\nA=PCM,F=96000,W=24,M=stereo,T=A/D"},
    )
    assert run(["build", str(path)]) == 0
    package = only(tmp_path / "m", "OSL-014*")
    *before, ours = read_bext(only(package / "data" / "cd", "*.wav")).coding_history
    assert before == ["A=ANALOGUE,M=stereo,T=tape", "A=PCM,F=96000,W=24,M=stereo,T=A/D"]
    assert ours.startswith(f"A=PCM,F=44100,W=16,M=stereo,T=delivery {__version__}; rate 96 -> 44.1 kHz; ")
    assert ours.count(",") == 4  # R 98 parts fields by commas: none in the text
    copied = read_bext(only(package / "data" / "native", "*.wav")).coding_history
    assert list(copied) == before  # nothing was done to it


def test_a_master_without_history_gets_its_own_line(tmp_path: Path) -> None:
    specs(tmp_path / "m")
    path = write_album(tmp_path / "m", [Song("One", seconds=0.4, suffix=".flac")], ["cd"])
    assert run(["build", str(path)]) == 0
    first, ours = read_bext(only(tmp_path / "m", "01 One.wav")).coding_history
    assert first == "A=PCM,F=96000,W=24,M=stereo,T=master"
    assert "W=16" in ours


def test_a_master_that_is_called_something_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    specs(tmp_path / "m")
    path = write_album(tmp_path / "m", [Song("One 16-44.1 inst", seconds=0.4)], ["native"])
    run(["check", str(path), "--json"])
    text = capsys.readouterr().out
    assert "01 One 16-44.1 inst.wav is called 44.1 kHz and is 96 kHz." in text
    assert "01 One 16-44.1 inst.wav is called 16 bit and is 24 bit." in text


def test_a_code_that_was_sent_for_another_playing_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Through the studio's ledger: on the terminal, never in the package. One of three codes: another release."""
    specs(tmp_path / "a")
    specs(tmp_path / "b")
    first = write_album(tmp_path / "a", [Song("One", seconds=1.0)], ["native"])
    songs = [Song("One", seconds=3.0, seed=2), Song("Two", seconds=0.5, seed=3), Song("Three", seconds=0.5, seed=4)]
    second = write_album(tmp_path / "b", songs, ["native"], catalogue_number="OSL-015", title="Other")
    assert run(["check", str(second)]) == 0
    assert "delivered under this code" not in capsys.readouterr().err
    assert run(["build", str(first)]) == 0
    assert run(["build", str(first), "--replace"]) == 0
    assert "delivered" not in capsys.readouterr().err
    assert run(["check", str(second)]) == 0
    error = capsys.readouterr().err
    assert "ZZOSL2600001, track 1 'One': 2.0 s longer than what was delivered under this code" in error
    assert "The bar code 2000000140018 was delivered before as 'Harbour Arithmetic'." in error
    assert run(["build", str(second)]) == 0
    for file in only(tmp_path / "b", "OSL-015*").rglob("*"):
        assert file.is_dir() or b"delivered under this code" not in file.read_bytes()


def test_a_read_only_ledger_stops_no_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from delivery.ledger.store import default_path

    specs(tmp_path / "m")
    path = write_album(tmp_path / "m", [Song("One", seconds=0.4)], ["native"])
    default_path().parent.mkdir(parents=True)
    default_path().write_bytes(b"no database" * 200)
    assert run(["build", str(path)]) == 0
    error = capsys.readouterr().err
    assert "ledger.sqlite3 was damaged; it was renamed to ledger.sqlite3.damaged, and a new one was started" in error
    assert error.count("history --rebuild") == 1
    assert soundfile.info(only(tmp_path / "m", "OSL-014*/data/native/*.wav")).frames > 0


def test_covers_in_the_required_sizes_and_reasons_for_missing_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From the one original: laid beside the files, put into them, covered by the package's checksums."""
    from PIL import Image

    folder = tmp_path / "m"
    specs(folder)
    for name, side in (("small", 100), ("large", 900)):
        write_spec(folder, name, "{container: {must: [flac]}}", "{}")
        with (folder / f"{name}.yaml").open("a", encoding="utf-8") as file:
            file.write(f"cover: {{side_px: {side}}}\nembed_artwork: true\n")
    Image.effect_noise((300, 300), 60).convert("RGB").save(folder / "art.png")
    path = write_album(folder, [Song("One", seconds=0.4)], ["small", "large"], artwork="art.png")
    assert run(["build", str(path)]) == 0
    package = only(folder, "OSL-014*")
    with Image.open(package / "data" / "small" / "cover.jpg") as cover:
        assert (cover.format, cover.size) == ("JPEG", (100, 100))
    assert not (package / "data" / "large" / "cover.jpg").exists()
    text = (package / layout.DATA_JSON).read_text(encoding="utf-8")
    assert "large: no cover is included; the original has 300 x 300 px, and nothing is enlarged." in text
    assert run(["verify", str(package)]) == 0
    capsys.readouterr()


def test_a_catalogue_number_unlike_the_label_s_others_is_remarked(tmp_path: Path) -> None:
    """The studio file has number patterns of labels; a misspelling is on sheet and terminal and stops nothing."""
    path = write_album(tmp_path, [Song("One", seconds=0.5)], ["store-master-24"])
    studio = 'catalogue_patterns:\n- {{label: "{}", pattern: "{}"}}\n'
    (tmp_path / "studio.yaml").write_text(studio.format("Ostrelune Records", "OSL-####"), encoding="utf-8")
    (remark,) = [text for text in check(resolve_request(path), Options()).remarks if "catalogue" in text]
    line = path.read_text(encoding="utf-8").splitlines().index("catalogue_number: OSL-014") + 1
    assert remark == (
        f"release.yaml:{line}: catalogue number OSL-014 does not match the pattern of Ostrelune Records "
        "(OSL-####: 7 characters, not 8)."
    )
    for label, pattern in (("Ostrelune Records", "OSL-###"), ("Another Label", "XX-##")):
        (tmp_path / "studio.yaml").write_text(studio.format(label, pattern), encoding="utf-8")
        assert not [text for text in check(resolve_request(path), Options()).remarks if "catalogue" in text]
