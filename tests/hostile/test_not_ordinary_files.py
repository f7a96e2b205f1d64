"""Pipes, devices and sockets under the name of a master, a cover or a text file: refused at once, never waited for."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path

import pytest

from delivery.__main__ import UNFORESEEN, run
from delivery.audio.blocks import sound_facts
from delivery.errors import Faulty, Unreadable, Unusable
from delivery.intake import look_at_artwork
from delivery.intake.sheet.read import grids_in
from delivery.intake.yaml.text import read_document
from delivery.ledger.file_state import file_sha256
from delivery.regular import open_regular, read_regular
from tests.albums import Song, write_album

pytestmark = pytest.mark.skipif(os.name == "nt", reason="no such files there")

KINDS = ("pipe", "socket", "device", "endless device")


@pytest.fixture(params=KINDS)
def odd(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No ordinary file; opening the pipe in the usual way would wait for ever."""
    path = tmp_path / "a.wav"
    if request.param == "pipe":
        os.mkfifo(path)
    elif request.param == "socket":
        monkeypatch.chdir(tmp_path)  # the system bounds the length of a socket's path
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind("a.wav")
    else:
        path.symlink_to("/dev/null" if request.param == "device" else "/dev/zero")
    return path


def test_every_reader_refuses_it(odd: Path) -> None:
    with pytest.raises(OSError, match=r"not a file"):
        open_regular(odd)
    for reader in (sound_facts, file_sha256):
        with pytest.raises(Unreadable, match=r"pipe|socket|device"):
            reader(odd)
    with pytest.raises(Unusable, match=r"pipe|socket|device"):
        look_at_artwork(odd)
    with pytest.raises(Unusable, match=r"pipe|socket|device"):
        grids_in(odd, {})
    with pytest.raises(Faulty, match=r"pipe|socket|device"):
        read_document(odd)


def test_measure_answers_with_one_message(odd: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["measure", "--no-cache", str(odd)]) == 2
    output = capsys.readouterr()
    assert "not a file" in output.out + output.err
    assert "Traceback" not in output.err


def test_a_release_file_that_is_a_pipe(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "release.yaml")
    assert run(["check", str(tmp_path / "release.yaml")]) == 2
    assert "a named pipe, not a file" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["studio.yaml", "release.yaml"])
@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir], ids=["a named pipe", "a folder"])
def test_a_file_beside_the_masters_is_refused_not_overlooked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, make: Callable[[Path], None]
) -> None:
    """Without it, other specs than the studio's own would be in force, or label copy would go unchecked."""
    write_album(tmp_path, [Song("One", seconds=1.0)], ["archive-bwf"])
    (tmp_path / name).unlink(missing_ok=True)
    make(tmp_path / name)
    assert run(["check", str(tmp_path), "--no-cache"]) == 2
    message = capsys.readouterr().err
    assert f"{name}: found " in message
    assert "named pipe" in message or "a folder" in message


def test_a_file_outside_the_folder_of_the_release_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An untrusted release file may name any file of this machine, and have it measured and delivered."""
    (tmp_path / "album").mkdir()
    release = write_album(tmp_path / "album", [Song("One", seconds=1.0)], ["archive-bwf"])
    (master,) = (tmp_path / "album").glob("*.wav")
    assert run(["check", str(release), "--no-cache"]) in (0, 1)
    assert "outside its folder" not in capsys.readouterr().err
    master.rename(tmp_path / master.name)
    text = release.read_text(encoding="utf-8")
    assert master.name in text
    release.write_text(text.replace(master.name, f"../{master.name}"), encoding="utf-8")
    assert run(["check", str(release), "--no-cache"]) in (0, 1)
    said = " ".join(capsys.readouterr().err.split())
    assert "The release file names a file outside its folder: " in said


def test_no_more_is_read_than_requested(tmp_path: Path) -> None:
    """Files that a system makes up state a size of 0; the stated size is not what is trusted."""
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert read_regular(path, 3) == b"1234"
    assert read_regular(path, 5) == b"12345"
    if Path("/proc/self/maps").exists():
        assert len(read_regular(Path("/proc/self/maps"), 100)) == 101


def test_an_unforeseen_error_is_one_message_with_its_own_exit_code(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """EX_SOFTWARE of sysexits.h; 1 would say that a master does not meet its spec."""

    def broken(*_: object, **__: object) -> None:
        raise AttributeError("'NoneType' object has no attribute 'name'")

    monkeypatch.setattr("delivery.cli.make_command", lambda _name: broken)
    assert run(["start", "a"]) == UNFORESEEN == 70
    output = capsys.readouterr().err
    assert "AttributeError: 'NoneType' object has no attribute 'name'" in output
    assert "Traceback" not in output
    monkeypatch.setenv("DELIVERY_TRACEBACK", "1")
    assert run(["start", "a"]) == UNFORESEEN
    assert "Traceback" in capsys.readouterr().err
