"""What a command may load: no encoders, reports or spreadsheets that the command does not use."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

import delivery
from delivery.__main__ import run
from tests.signals import noise

SLOW = {"Cython", "PIL", "av", "cryptography", "fontTools", "jinja2", "jsonschema", "openpyxl", "pyloudnorm"}
SLOW |= {"reportlab", "ruamel", "scipy", "soxr", "uharfbuzz"}
"""Packages that take longer to load than a short file takes to measure."""
PROGRAM = """
import json, sys
from delivery.__main__ import run
run(json.loads(sys.argv[1]))
print(json.dumps(sorted(sys.modules)))
"""
MEASURING = {"blake3", "delivery", "numpy", "platformdirs", "typer"}
"""All that a plain WAV is measured with, beside Python itself ..."""
MEASURING |= {"annotated_doc", "colorama", "shellingham"}
"""... what typer brings, on one system or another ..."""
MEASURING |= {"cython_runtime", "reportlab_mods", "reportlab_settings"}
"""... and names without a file: of compiled loops, and in the place of a user's settings for pages."""
PARTS = {
    "absolute",
    "audio",
    "cli",
    "dsp",
    "errors",
    "ledger",
    "meters",
    "model",
    "own_folders",
    "pipeline",
    "regular",
    "report",
}
PARTS |= {"tags", "tasks"}
"""Packages of this program for the same."""


def modules(*words: str) -> set[str]:
    """Modules that are loaded when the command has ended."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, json.dumps(words)], capture_output=True, encoding="utf-8", check=True
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def loaded(*words: str) -> set[str]:
    """Top-level packages of these."""
    return {name.partition(".")[0] for name in modules(*words)}


@pytest.mark.parametrize("words", [("--help",), ("--version",), ("measure", "--help"), ("build", "--help")])
def test_help_loads_neither_numbers_nor_tables(words: tuple[str, ...]) -> None:
    assert not loaded(*words) & (SLOW | {"numpy", "rich", "soundfile", "mutagen"})


def test_the_version_is_printed_without_a_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    output = capsys.readouterr()
    assert output.out == f"{delivery.__version__}\n"
    assert output.err == ""


ENDING = """
import atexit, sys, threading
from delivery.__main__ import main

def late():
    threading.main_thread().join()
    print("late")

atexit.register(print, "at exit")
if "thread" in sys.argv:
    threading.Thread(target=late).start()
    sys.argv.remove("thread")
main()
"""


@pytest.mark.parametrize("thread", [(), ("thread",)])
@pytest.mark.parametrize(("words", "code"), [(("--version",), 0), (("measure", "nothing.wav"), 2)])
def test_a_quick_end_leaves_nothing_out(words: tuple[str, ...], code: int, thread: tuple[str, ...]) -> None:
    """Through a pipe, where lines are kept until the end: all is written, threads are waited for, the code arrives."""
    done = subprocess.run(
        [sys.executable, "-c", ENDING, *words, *thread], capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == code
    assert (f"{delivery.__version__}\n" in done.stdout) == (code == 0)
    assert ("nothing.wav: found nothing there" in done.stderr) == (code == 2)
    assert done.stdout.endswith("late\nat exit\n" if thread else "at exit\n")


@pytest.mark.skipif(os.name != "posix", reason="closing a stream is the shell's syntax")
@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_standard_streams_change_nothing_but_what_is_seen(tmp_path: Path, closed: str) -> None:
    """The next file opened would take the number of a closed stream, and printed lines would go into it."""
    song = tmp_path / "Low Water.wav"
    soundfile.write(song, np.zeros((44_100, 2)), 44_100, "PCM_16")
    before = song.read_bytes()
    words = ["sh", "-c", f'"$0" -m delivery measure "$1" {closed}', sys.executable, str(song)]
    done = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    assert ("Low Water.wav" in done.stdout) == (">&-" not in closed.replace("2>&-", ""))
    assert done.stderr == ""
    assert song.read_bytes() == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_last_line_that_cannot_be_written_is_reported() -> None:
    """However late: by the command, or as Python ends."""
    command = [sys.executable, "-m", "delivery", "--version"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, encoding="utf-8", check=False)
    assert done.returncode != 0
    assert "No space left on device" in done.stderr or "no space left on device" in done.stderr


@pytest.mark.parametrize("words", [("open",), ("history", "Low Water"), ("report", "--month", "2026-11")])
def test_looking_into_the_ledger_loads_no_numbers(words: tuple[str, ...]) -> None:
    assert not loaded(*words) & (SLOW | {"numpy", "soundfile", "mutagen"})


@pytest.mark.parametrize("options", [(), ("--json",), ("--csv",)])
def test_measuring_a_file_loads_nothing_that_only_a_delivery_needs(tmp_path: Path, options: tuple[str, ...]) -> None:
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000)
    assert not loaded("measure", "--no-cache", *options, str(path)) & SLOW


@pytest.mark.parametrize("options", [("--no-cache",), ()])
def test_a_plain_wav_is_measured_with_few_modules(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...]
) -> None:
    """Each of these lists is all there is: whatever else a command loads costs every short run its time."""
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000, subtype="PCM_24")
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    found = modules("measure", *options, str(path))
    top = {name.partition(".")[0] for name in found}
    assert {name for name in top - sys.stdlib_module_names if not name.startswith("_")} <= MEASURING
    assert {name.split(".")[1] for name in found if name.startswith("delivery.")} - {"__main__"} <= PARTS
    assert "delivery.model.release" not in found, "a file that is measured has no label copy"
    assert "delivery.model.spec" not in found
    assert "delivery.model.finding" not in found, "nothing is judged"
    assert "delivery.dsp.events.continuity" not in found
    assert "delivery.dsp.cutting.recording_curve" not in found
    assert "concurrent.futures" not in found, "one file needs no threads"
    assert "numpy.ma" not in found
    assert "numpy.polynomial" not in found
    assert "delivery.model.sections" not in found
    assert "--no-cache" not in options or "sqlite3" not in found, "without a cache no ledger is opened"


LOADED_WHEN_MEASURING = """
import sys
from delivery.pipeline import run, sources
measured = run.take_in
def take_in(*arguments, **named):
    print(*sys.modules, flush=True)
    return measured(*arguments, **named)
run.take_in = take_in
from delivery.__main__ import run
sys.exit(run(sys.argv[1:]))
"""


@pytest.mark.parametrize("command", ["check", "build"])
def test_masters_are_measured_before_what_follows_is_loaded(tmp_path: Path, command: str) -> None:
    """Else no other core has work for as long as half the program is loaded."""
    soundfile.write(tmp_path / "Low Water.wav", noise(48_000, 2), 48_000, subtype="PCM_24")
    text = "title: Low Water\nartist: Ada Fenn\ndeliver_to: [archive-bwf]\n"
    (tmp_path / "release.yaml").write_text(f"{text}tracks: [{{file: Low Water.wav, title: Low Water}}]\n", "utf-8")
    words = [sys.executable, "-c", LOADED_WHEN_MEASURING, command, str(tmp_path)]
    done = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode in (0, 1), done.stderr
    found = set(done.stdout.splitlines()[0].split())
    assert "delivery.meters.loudness" in found
    late = {"mutagen", "soxr", "reportlab", "rich", "importlib.metadata"}
    late |= {f"delivery.{name}" for name in ("pipeline.from_masters", "pack.papers", "report.view.make", "report.text")}
    assert not found & late


@pytest.mark.parametrize("words", [("measure",), ("check", "--spec", "cd-rate-16")])
def test_modules_are_not_searched_for_garbage_and_what_follows_is(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Twice: the second time everything is loaded, and nothing of the caller's is set aside."""
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000)
    code = f"""
import gc
from delivery.__main__ import run
counts = []
for _ in range(2):
    run([*{words!r}, "--no-cache", {str(path)!r}])
    assert gc.isenabled()
    counts.append(gc.get_freeze_count())
assert counts[0] > 10_000, counts
assert counts[1] <= counts[0], counts
"""
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


@pytest.mark.parametrize("words", [("check", "--spec", "cd-rate-16"), ("verify",), ("measure", "-w", "2")])
def test_what_is_typed_is_read_without_the_library_for_it(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Texts, paths, switches and whole numbers; typer would load pydantic for each."""
    assert "pydantic" not in loaded(*words, str(tmp_path / "nothing"))


@pytest.mark.parametrize("typed", ["0", "65", "two", "1.5"])
def test_an_impossible_number_is_refused_with_the_librarys_message(
    typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    from delivery.__main__ import run

    assert run(["measure", "-w", typed, "x.wav"]) == 2
    assert "Invalid value for '--workers' / '-w': Input should be" in capsys.readouterr().err
