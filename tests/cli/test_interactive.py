"""On a terminal the user chooses which file a row is; in a pipe there is no question, and the sheet is refused."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.intake import load_release

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals here")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("Track A.wav", "Track B.wav"):
        soundfile.write(tmp_path / name, np.zeros((48_000, 2)), 48_000, subtype="PCM_24")
    (tmp_path / "copy.csv").write_text("No,Title\n1,Low Water\n2,Tally of Lamps\n", encoding="utf-8")
    return tmp_path


def command(folder: Path) -> list[str]:
    return [sys.executable, "-m", "delivery", "start", str(folder), "--label-copy", str(folder / "copy.csv")]


def own_home(folder: Path) -> dict[str, str]:
    names = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "HOME")
    return {**os.environ, **dict.fromkeys(names, str(folder / "home"))}


def on_a_terminal(folder: Path, answers: list[bytes]) -> tuple[str, int]:
    """What a terminal shows, each question answered in turn; and the exit code."""
    import pty

    pid, terminal = pty.fork()
    if pid == 0:
        os.execve(sys.executable, command(folder), own_home(folder))
    shown, requested = b"", 0
    while True:
        try:
            piece = os.read(terminal, 4096)
        except OSError:  # how Linux says that the other end is gone
            break
        if not piece:
            break
        shown += piece
        questions = sum(map(shown.count, (b"none of them [0]: ", b"[y/N]: ")))
        if questions > requested:
            if requested == len(answers):
                os.kill(pid, signal.SIGKILL)
                pytest.fail(f"a question without an answer: {shown.decode('utf-8')}")
            os.write(terminal, answers[requested] + b"\n")
            requested += 1
    os.close(terminal)
    return shown.decode("utf-8"), os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def test_answers_decide(folder: Path) -> None:
    shown, code = on_a_terminal(folder, [b"2", b"1"])
    assert code == 0, shown
    assert "Which file is row 2 ('Low Water')?" in shown
    assert "2  Track B.wav (0:01)" in shown
    pairs = [(track.title, track.file.name) for track in load_release(folder / "release.yaml").tracks]
    assert pairs == [("Low Water", "Track B.wav"), ("Tally of Lamps", "Track A.wav")]


def test_none_of_them_refuses_the_sheet(folder: Path) -> None:
    shown, code = on_a_terminal(folder, [b"0", b"0"])
    assert code == 2
    assert "row 2 ('Low Water')" in shown
    assert not (folder / "release.yaml").exists()


def test_no_questions_in_a_pipe(folder: Path) -> None:
    done = subprocess.run(
        command(folder), env=own_home(folder), capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL
    )
    assert done.returncode == 2
    assert "Which file" not in done.stdout
    assert "copy.csv B2 row 2 ('Low Water'): found no matching file, wanted a file for each row." in done.stderr
    assert not (folder / "release.yaml").exists()


def test_what_a_second_sheet_brings_is_shown_and_waits_for_a_yes(folder: Path) -> None:
    on_a_terminal(folder, [b"2", b"1"])
    path = folder / "release.yaml"
    before = path.read_bytes()
    (folder / "copy.csv").write_text("No,Title\n1,Low Waters\n2,Tally of Lamps\n", encoding="utf-8")
    shown, code = on_a_terminal(folder, [b"n"])
    assert (code, path.read_bytes()) == (2, before), shown
    assert "'Low Water', Title: was 'Low Water', now 'Low Waters'." in shown
    assert "Nothing was written" in shown
    shown, code = on_a_terminal(folder, [b"y"])
    assert code == 0, shown
    assert [track.title for track in load_release(path).tracks] == ["Low Waters", "Tally of Lamps"]


def test_a_conflict_is_a_question_on_a_terminal(folder: Path) -> None:
    on_a_terminal(folder, [b"2", b"1"])
    path = folder / "release.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("Low Water", "Low Tide"), encoding="utf-8")
    (folder / "copy.csv").write_text("No,Title\n1,Low Waters\n2,Tally of Lamps\n", encoding="utf-8")
    shown, code = on_a_terminal(folder, [b"2"])
    assert code == 0, shown
    assert "1  sheet: 'Low Waters'" in shown
    assert "2  release file: 'Low Tide'" in shown
    assert [track.title for track in load_release(path).tracks] == ["Low Tide", "Tally of Lamps"]
