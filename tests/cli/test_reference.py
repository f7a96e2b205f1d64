"""Reference playlists as a person meets them: made once, listed, changed, handed on, songs set beside them."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

import delivery.meters
from delivery.__main__ import run
from delivery.intake.reference_file import load_reference, reference_path
from delivery.intake.shipped_files import shipped_schema
from delivery.tasks import reference as task
from tests.homes import live_in

Array = NDArray[np.float64]
RATE_HZ, SECONDS = 44_100, 20
LEVELS_DBFS = (-18.0, -19.1, -20.0, -21.2, -22.0)
PRESENCE_HZ = 2818.38, 5623.41
"""Edges of the third octaves of 3.15 and 5 kHz."""


@pytest.fixture(autouse=True)
def home_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Path:
    """No test may see or touch the references of the person who runs it. In this home the music is measured already."""
    home = tmp_path / "home"
    if "music" in request.fixturenames and "empty_home" not in request.fixturenames:
        shutil.copytree(request.getfixturevalue("measured"), home)
    return live_in(home, monkeypatch)


@pytest.fixture
def empty_home(home_of_its_own: Path) -> None:
    """For tests of what is measured, and when."""
    assert not home_of_its_own.exists()


def pink(seed: int, level_dbfs: float, equal_db: float = 0.0) -> Array:
    """(frames, 2) of equal power in every octave; the presence octave raised by *equal_db*."""
    frames = SECONDS * RATE_HZ
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal((2, frames)))
    hz = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    spectrum /= np.sqrt(np.maximum(hz, 20.0))
    sound = np.fft.irfft(spectrum, frames)
    gain = 10 ** (level_dbfs / 20) / np.sqrt(np.mean(sound**2))
    raised = (hz >= PRESENCE_HZ[0]) & (hz < PRESENCE_HZ[1])
    spectrum[:, raised] *= 10 ** (equal_db / 20)
    return (gain * np.fft.irfft(spectrum, frames)).T


def write(path: Path, sound: Array) -> Path:
    path.parent.mkdir(exist_ok=True)
    soundfile.write(path, sound, RATE_HZ, "PCM_24")
    return path


@pytest.fixture(scope="module")
def music(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five peers of one colour and different levels; a song with more presence, and one like them."""
    folder = tmp_path_factory.mktemp("music")
    for at, level_dbfs in enumerate(LEVELS_DBFS, 1):
        write(folder / "peers" / f"{at:02} Peer {at}.flac", pink(1, level_dbfs))
    write(folder / "Song.wav", pink(1, -22.1, 2.0))
    write(folder / "Level.wav", pink(1, -20.1))
    return folder


@pytest.fixture(scope="module")
def measured(music: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home whose ledger has the measurements of all of it."""
    home = tmp_path_factory.mktemp("measured") / "home"
    with pytest.MonkeyPatch.context() as patch:
        live_in(home, patch)
        assert run(["reference", "make", "all-of-it", str(music / "peers")]) == 0
        for song in ("Song.wav", "Level.wav"):
            assert run(["compare", str(music / song), "-r", "all-of-it"]) == 0
        assert run(["reference", "remove", "all-of-it"]) == 0
    return home


def made(music: Path, *options: str) -> int:
    return run(["reference", "make", "indie-folk", str(music / "peers"), *options])


def document(capsys: pytest.CaptureFixture[str], *arguments: str | Path, code: int = 0) -> Any:
    capsys.readouterr()
    assert run([*map(str, arguments), "--json"]) == code
    return json.loads(capsys.readouterr().out)


def compared(capsys: pytest.CaptureFixture[str], *arguments: str | Path, code: int = 0) -> Any:
    found = document(capsys, "compare", *arguments, "--reference", "indie-folk", code=code)
    schema = shipped_schema("reference-comparison.schema.json")
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(found)
    return found


@pytest.mark.thorough
def test_planted_level_and_tone_are_found_again(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """+2 dB from 2.8 to 5.6 kHz against the same sound without: within 0.2 dB of what the definition gives.

    The boost makes the song louder, and every band counts less its own loudness: 2 dB less that. The levels were set
    by gain alone, so loudness is theirs within 0.05 LU.
    """
    assert made(music) == 0
    found = compared(capsys, music / "Song.wav")["reference"]
    plain = compared(capsys, music / "Level.wav")["reference"]
    assert found["count"] == 5
    loudness = found["figures"]["integrated_lufs"]
    louder_lu = loudness["song"] - (plain["figures"]["integrated_lufs"]["song"] - 2.0)
    assert plain["figures"]["integrated_lufs"]["song"] - loudness["median"] == pytest.approx(-0.1, abs=0.05)
    assert loudness["q75"] - loudness["q25"] == pytest.approx(LEVELS_DBFS[1] - LEVELS_DBFS[3], abs=0.05)
    for band in found["third_octaves"]:
        level = band["level_re_loudness_db"]
        wanted_db = (2.0 if 2900 < band["low_hz"] < 5500 else 0.0) - louder_lu
        assert level["song"] - level["median"] == pytest.approx(wanted_db, abs=0.2)
    assert 0.2 < louder_lu < 0.6
    assert found["opening"][2] == f"3 to 5 kHz is {2 - louder_lu:.1f} dB above the median, outside the middle half."


def test_it_stops_when_it_is_right(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The colour and the middle loudness of the peers; what 24 bits round away is no difference."""
    assert made(music) == 0
    assert run(["compare", str(music / "Level.wav"), "-r", "indie-folk"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "Loudness and tone lie in the middle half of the reference playlist; no change is suggested." in shown
    assert "Differences are context, not a target." in shown
    assert run(["compare", str(music / "Song.wav"), "-r", "indie-folk"]) == 0
    assert "change is suggested" not in capsys.readouterr().out


def test_short_form_fits_one_screen(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert made(music) == 0
    capsys.readouterr()
    lengths = []
    for more in ([], ["--all"]):
        assert run(["compare", str(music / "Song.wav"), "-r", "indie-folk", *more]) == 0
        shown = capsys.readouterr().out.splitlines()
        assert max(map(len, shown)) <= 80
        lengths.append(len(shown))
    assert lengths[0] <= 24 < lengths[1]


@pytest.mark.thorough
def test_an_album_is_compared_as_one_and_song_by_song(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert made(music) == 0
    found = compared(capsys, music / "Song.wav", music / "Level.wav")
    assert [song["title"] for song in found["songs"]] == ["Song", "Level"]
    songs = [song["figures"]["integrated_lufs"]["song"] for song in found["songs"]]
    whole = found["reference"]["figures"]["integrated_lufs"]["song"]
    assert whole == pytest.approx(10 * np.log10(np.mean([10 ** (lufs / 10) for lufs in songs])), abs=0.05)
    assert run(["compare", str(music / "Song.wav"), str(music / "Level.wav"), "-r", "indie-folk"]) == 0
    shown = capsys.readouterr().out
    assert "Song " in shown
    assert "Level " in shown


def test_an_unusable_song_is_named_and_the_rest_continues(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    broken = tmp_path / "Broken.wav"
    broken.write_bytes(b"RIFF no sound here")
    found = compared(capsys, music / "Song.wav", broken, code=2)
    assert len(found["songs"]) == 1
    assert "Broken.wav" in found["problems"][0]
    assert run(["compare", str(broken), "-r", "indie-folk"]) == 2
    assert "Broken.wav" in capsys.readouterr().err


def test_two_references_give_single_values(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(music / "peers" / f"{at:02} Peer {at}.flac") for at in (1, 2)]
    assert run(["reference", "make", "indie-folk", files[0]]) == 0
    assert run(["reference", "add", "indie-folk", files[1]]) == 0
    found = compared(capsys, music / "Song.wav")["reference"]
    assert found["count"] == 2
    loudness = found["figures"]["integrated_lufs"]
    assert (loudness["q25"], loudness["q75"], len(loudness["values"])) == (None, None, 2)


def test_the_file_names_no_path_of_the_machine_and_may_be_handed_on(
    music: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    kept = reference_path("indie-folk")
    text = kept.read_text(encoding="utf-8")
    assert str(music) not in text
    assert "01 Peer 1.flac" in text
    jsonschema.Draft202012Validator(shipped_schema("reference.schema.json")).validate(json.loads(text))
    here = document(capsys, "compare", music / "Song.wav", "-r", "indie-folk")
    handed = tmp_path / "from a colleague.json"
    handed.write_text(text, encoding="utf-8")
    kept.unlink()
    monkeypatch.chdir(tmp_path)
    there = document(capsys, "compare", music / "Song.wav", "-r", handed.name)
    assert {**there, "remarks": here["remarks"]} == here
    assert any('delivery reference show "from a colleague.json"' in remark for remark in there["remarks"])
    assert run(["reference", "show", handed.name]) == 0


@pytest.mark.usefixtures("empty_home")
def test_the_same_folder_gives_the_same_bytes(music: Path) -> None:
    texts = []
    for workers in ("1", "3"):
        assert made(music, "--replace", "--workers", workers) == 0
        texts.append(reference_path("indie-folk").read_bytes())
    assert texts[0] == texts[1]


def test_the_kept_tracks_are_listed_shown_added_and_removed(music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["reference", "list"]) == 0
    assert "No reference yet" in capsys.readouterr().out
    assert made(music) == 0
    assert made(music) == 2
    assert "--replace" in capsys.readouterr().err
    assert document(capsys, "reference", "list") == {"references": [{"name": "indie-folk", "count": 5}]}
    added = document(capsys, "reference", "add", "indie-folk", music / "Level.wav", music / "peers")
    assert [track["file"] for track in added["tracks"]].count("Level.wav") == 1
    assert len(added["tracks"]) == 6
    less = document(capsys, "reference", "remove", "indie-folk", "Level.wav")
    assert len(less["tracks"]) == len(document(capsys, "reference", "show", "indie-folk")["tracks"]) == 5
    assert run(["reference", "remove", "indie-folk", "Nobody.wav"]) == 2
    assert run(["reference", "remove", "indie-folk"]) == 0
    assert run(["reference", "show", "indie-folk"]) == 2
    assert "delivery reference make" in capsys.readouterr().err


def test_files_make_a_playlist_as_folders_do_and_several_tracks_are_removed_at_once(
    music: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = [str(music / "peers" / f"{at:02} Peer {at}.flac") for at in range(1, 5)]
    assert run(["reference", "make", "indie-folk", *files, str(music / "Level.wav")]) == 0
    left = document(capsys, "reference", "remove", "indie-folk", "Level", "02 Peer 2.flac")
    assert [track["file"] for track in left["tracks"]] == ["01 Peer 1.flac", "03 Peer 3.flac", "04 Peer 4.flac"]
    assert run(["reference", "remove", "indie-folk", "01 Peer 1", "05 Peer 5"]) == 2
    assert len(document(capsys, "reference", "show", "indie-folk")["tracks"]) == 3, "all of them or none"


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (["show", "Indie-Folk"], "'indie-folk'"),
        (["show", "indyfolk"], "'indie-folk'"),
        (["remove", "indie-folk", "01 peer 1"], "'01 Peer 1'"),
    ],
)
def test_a_mistyped_name_is_answered_with_the_nearest(
    arguments: list[str], meant: str, music: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    assert run(["reference", *arguments]) == 2
    assert f"Did you mean {meant}?" in capsys.readouterr().err


def test_a_song_that_is_in_the_playlist_is_not_compared_with_itself(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By its sound, whatever its name or container: the median is of the other four."""
    assert made(music) == 0
    sound, _ = soundfile.read(music / "peers" / "03 Peer 3.flac")
    found = compared(capsys, write(tmp_path / "My song.wav", sound))
    assert (found["reference"]["count"], found["reference"]["left_out"]) == (4, ["03 Peer 3.flac"])
    assert "Left out as the same sound: 03 Peer 3.flac." in found["remarks"]
    for at in (1, 2, 4, 5):
        assert run(["reference", "remove", "indie-folk", f"{at:02} Peer {at}"]) == 0
    assert run(["compare", str(tmp_path / "My song.wav"), "-r", "indie-folk"]) == 2
    assert "no other track than the song itself" in capsys.readouterr().err


def test_songs_of_several_folders_are_not_called_by_one_of_them(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    song = tmp_path / "Elsewhere.wav"
    shutil.copy(music / "Song.wav", song)
    assert compared(capsys, song, music / "Level.wav")["reference"]["title"] == "2 songs"
    assert compared(capsys, music / "Song.wav", music / "Level.wav")["reference"]["title"] == music.name


def test_commands_in_remarks_name_the_reference_as_a_shell_needs_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A name with spaces in quotes; a colleague's file as one, since no reference of its name may be kept here."""
    song = write(tmp_path / "Short.wav", pink(4, -20.0))
    peer = write(tmp_path / "Peer.wav", pink(5, -20.0))
    assert run(["reference", "make", "indie folk", str(peer)]) == 0
    assert 'delivery reference remove "indie folk" FILES' in capsys.readouterr().out
    for named, shown in (("indie folk", '"indie folk"'), (str(reference_path("indie folk")), '"indie folk.json"')):
        assert run(["compare", str(song), "-r", named]) == 0
        assert f"(delivery reference show {shown})" in " ".join(capsys.readouterr().out.split())


def test_doubtful_tracks_are_marked_and_can_be_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three peers brought to one loudness by gain alone, one in mono, one clipped, one coded to MP3."""
    folder = tmp_path / "doubtful"
    for at in range(3):
        write(folder / f"same {at}.flac", pink(10 + at, -20.0))
    write(folder / "mono.flac", pink(20, -23.0)[:, :1])
    soundfile.write(folder / "coded.mp3", pink(22, -26.0), RATE_HZ)
    write(folder / "clipped.flac", np.clip(pink(21, -12.0), -0.4, 0.4))
    capsys.readouterr()
    assert run(["reference", "make", "doubtful", str(folder)]) == 0
    marks = document(capsys, "reference", "show", "doubtful")["marks"]
    assert set(marks) == {path.name for path in folder.iterdir()}
    doubts = {file: {mark["doubt"] for mark in own} - {"edited down"} for file, own in marks.items()}
    assert doubts["mono.flac"] == {"mono"}
    assert doubts["clipped.flac"] == {"clipped"}
    assert doubts["coded.mp3"] == {"lossy"}
    assert all(doubts[f"same {at}.flac"] == set() for at in range(3))  # three of six are not most of them
    for name in ("mono.flac", "clipped.flac", "coded.mp3"):
        assert run(["reference", "remove", "doubtful", name]) == 0
    left = document(capsys, "reference", "show", "doubtful")["marks"]
    assert all("normalised" in {mark["doubt"] for mark in left[f"same {at}.flac"]} for at in range(3))
    assert run(["reference", "make", "none-left", str(folder), "--leave-out-marked"]) == 2
    assert "no track that is not marked" in capsys.readouterr().err
    assert not reference_path("none-left").exists()


def test_figures_of_older_meters_are_reported_with_the_remedy(
    music: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    monkeypatch.setattr(task, "meters_version", lambda: "another")
    found = compared(capsys, music / "Song.wav")
    assert len(found["reference"]["older_meters"]) == 5
    assert any("delivery reference make indie-folk FOLDER --replace" in remark for remark in found["remarks"])


def test_a_repeated_comparison_does_not_read_the_sound_again(
    music: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    song = write(tmp_path / "Song.wav", pink(1, -22.1, 2.0))
    first = compared(capsys, song)

    def refuse(*_: Any, **__: Any) -> Any:
        raise AssertionError("opened")

    monkeypatch.setattr("delivery.meters._walk", refuse)
    assert compared(capsys, song) == first


@pytest.mark.usefixtures("empty_home")
def test_each_file_of_a_playlist_is_read_once(music: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bands over time come from the pass that measures; of files measured before, from one pass for them alone."""
    passes: list[str] = []
    walk = delivery.meters._walk

    def counted(path: Path, members: Any, **options: bool) -> Any:
        passes.append(path.name)
        return walk(path, members, **options)

    monkeypatch.setattr("delivery.meters._walk", counted)
    assert made(music) == 0
    files = sorted(path.name for path in (music / "peers").iterdir())
    assert sorted(passes) == files
    habits = [track.habits for track in load_reference("indie-folk").tracks]
    assert all(len(each) == 9 for each in habits)
    assert made(music, "--replace") == 0
    assert sorted(passes) == files
    shutil.rmtree(os.environ["XDG_CACHE_HOME"])
    assert run(["measure", str(music / "peers")]) == 0
    assert made(music, "--replace") == 0
    assert sorted(passes) == sorted(3 * files)
    assert [track.habits for track in load_reference("indie-folk").tracks] == habits


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "no JSON document"),
        ('{"form": 1, "name": "x", "tracks": [], "more": 1}', "more"),
        ('{"form": 1, "name": "x"}', "tracks"),
        ('{"form": 9, "name": "x", "tracks": []}', "newer version"),
        ('{"form": NaN, "name": "x", "tracks": []}', "no JSON document"),
        ('{"form": 1, "name": "x", "tracks": []}', "no track"),
    ],
)
def test_a_damaged_reference_is_one_clear_message(
    text: str, message: str, music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damaged = tmp_path / "damaged.json"
    damaged.write_text(text, encoding="utf-8")
    assert run(["compare", str(music / "Song.wav"), "-r", str(damaged)]) == 2
    reported = capsys.readouterr().err
    assert message in reported
    assert "Traceback" not in reported


@pytest.mark.parametrize("name", ["../up", "a/b", "", ".hidden", "x.json", "con:", "end."])
def test_a_name_that_is_no_file_name_is_refused(name: str, music: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["reference", "make", name, str(music / "peers")]) == 2
    assert "letters, digits" in capsys.readouterr().err


def test_a_reference_is_written_whole_or_not_at_all(music: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert made(music) == 0
    before = reference_path("indie-folk").read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert made(music, "--replace") == 2
    assert reference_path("indie-folk").read_bytes() == before
    assert [path.name for path in reference_path("indie-folk").parent.iterdir()] == ["indie-folk.json"]


def test_a_tempo_in_the_release_file_makes_the_bars(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert made(music) == 0
    write(tmp_path / "Song.wav", pink(1, -22.1))
    (tmp_path / "release.yaml").write_text(
        "title: Low Water\nartist: Ada Fenn\ntracks:\n  - file: Song.wav\n    title: Gull\n    bpm: 96\n",
        encoding="utf-8",
    )
    (song,) = compared(capsys, tmp_path)["songs"]
    assert (song["title"], song["bar_s"], song["bpm"]) == ("Gull", 2.5, 96)


def test_the_page_holds_the_terminals_texts_and_loads_nothing(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same bytes each time; a title that looks like markup is text; an existing file is left as it is."""
    assert made(music) == 0
    song = write(tmp_path / "<b>Song & Co.wav", pink(1, -22.1, 2.0))
    pages = [tmp_path / name for name in ("one.html", "two.html")]
    for page in pages:
        assert run(["compare", str(song), "-r", "indie-folk", "--html", str(page)]) == 0
    text = pages[0].read_text(encoding="utf-8")
    assert text == pages[1].read_text(encoding="utf-8")
    assert "&lt;b&gt;Song &amp; Co" in text
    assert "<b>" not in text
    assert "outside the middle half" in text
    assert "Differences are context, not a target." in text
    assert "script-src &#39;none&#39;" in text
    assert not any(word in text for word in ("http://", "https://", "<script", str(tmp_path)))
    points = text.partition('class="song" points="')[2].partition('"')[0].split()
    (found,) = document(capsys, "compare", song, "-r", "indie-folk")["songs"]
    assert len(points) == len(found["third_octaves"])
    assert run(["compare", str(song), "-r", "indie-folk", "--html", str(pages[0])]) == 2
    assert "a path that does not exist yet" in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="outside judge not installed: pdftotext")
def test_the_sheet_has_a_page_beside_the_reference_on_request(music: Path, tmp_path: Path) -> None:
    """The last page: what `compare` answers, the playlist's name and count; the same bytes each time; else no such
    page."""
    assert made(music) == 0
    song = tmp_path / "Song.wav"
    shutil.copy(music / "Song.wav", song)
    single = ["--title", "Low Water", "--artist", "Ada Fenn", "--isrc", "ZZOSL2600001"]

    def sheet(into: str, *options: str) -> Path:
        release_file = song.with_name("Song.release.yaml")
        what = [str(release_file)] if release_file.exists() else [str(song), *single]
        run(["build", *what, "--into", str(tmp_path / into), *options])
        return next((tmp_path / into).glob("*/data/delivery-sheet.pdf"))

    def pages(path: Path) -> list[str]:
        text = subprocess.run(["pdftotext", "-layout", path, "-"], check=True, capture_output=True, text=True).stdout
        return [" ".join(page.split()) for page in text.split("\f") if page.strip()]

    plain, beside = sheet("plain"), sheet("beside", "--reference", "indie-folk")
    without, shown = pages(plain), pages(beside)
    assert len(shown) == len(without) + 1
    assert not any("reference playlist" in page for page in without)
    for text in ("Beside the reference playlist", "indie-folk, 5 tracks", "below the median of the reference playlist",
                 "outside the middle half", "Integrated, LUFS", "Differences are context, not a target."):  # fmt: skip
        assert text in shown[-1], text
    assert sheet("again", "--reference", "indie-folk").read_bytes() == beside.read_bytes()


def test_a_build_beside_an_unknown_reference_writes_nothing(
    music: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    song = tmp_path / "Song.wav"
    shutil.copy(music / "Song.wav", song)
    arguments = ["build", str(song), "--title", "Low Water", "--artist", "Ada Fenn", "--into", str(tmp_path / "into")]
    assert run([*arguments, "--reference", "nobody"]) == 2
    assert "nobody" in capsys.readouterr().err
    assert not (tmp_path / "into").exists()
