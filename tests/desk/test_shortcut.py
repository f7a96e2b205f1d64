"""The desk's entry in the system's menu: tried on Linux, by its content elsewhere."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path, PurePosixPath

import pytest

from delivery.desk.shortcut import shortcut

ODD = 'a "b" $c `d` \\e 100%'


def exec_words(text: str) -> list[str]:
    """Read an Exec key as the Desktop Entry Specification 1.5 says: escapes, then quotes, then field codes."""
    value = next(line for line in text.splitlines() if line.startswith("Exec=")).removeprefix("Exec=")
    value = value.replace("\\\\", "\\")
    words = [quoted or bare for quoted, bare in re.findall(r'"((?:[^"\\]|\\.)*)"|(\S+)', value)]
    return [re.sub(r"\\(.)", r"\1", word).replace("%%", "%") for word in words]


def test_linux_has_a_desktop_entry_that_works_with_odd_paths(tmp_path: Path) -> None:
    program = PurePosixPath("/home") / ODD / "python"
    made = shortcut("linux", Path(program), tmp_path)
    assert made.path == tmp_path / ".local/share/applications/delivery-desk.desktop"
    assert exec_words(made.text) == [str(program), "-m", "delivery", "desk"]
    assert made.text.startswith("[Desktop Entry]\nType=Application\n")
    judge = shutil.which("desktop-file-validate")
    if judge:
        (tmp_path / "one.desktop").write_text(made.text, encoding="utf-8")
        assert subprocess.run([judge, str(tmp_path / "one.desktop")], check=False).returncode == 0


def test_macos_has_a_command_file(tmp_path: Path) -> None:
    program = tmp_path / ODD / "python"
    program.parent.mkdir(parents=True)
    program.write_text('#!/bin/sh\nprintf "%s\\n" "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    made = shortcut("darwin", program, tmp_path)
    assert made.path == tmp_path / "Applications" / "Delivery desk.command"
    assert made.executable
    ran = subprocess.run(["/bin/sh", "-c", made.text], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["-m", "delivery", "desk"]


def test_windows_has_an_entry_in_the_start_menu(tmp_path: Path) -> None:
    roaming = {"APPDATA": str(tmp_path / "Roaming")}
    made = shortcut("win32", Path("/Programs/100% own/python.exe"), tmp_path, roaming)
    assert made.path.parent == tmp_path / "Roaming/Microsoft/Windows/Start Menu/Programs"
    assert made.path.suffix == ".bat"
    assert '"/Programs/100%% own/pythonw.exe" -m delivery desk\r\n' in made.text
    assert made.text.count("\n") == made.text.count("\r\n")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="desktop entries")
def test_the_command_installs_it_and_its_line_starts_this_program(tmp_path: Path) -> None:
    own = {**os.environ, "XDG_DATA_HOME": str(tmp_path)}
    command = [sys.executable, "-m", "delivery", "desk", "--install-shortcut"]
    ran = subprocess.run(command, env=own, capture_output=True, text=True, check=True)
    file = tmp_path / "applications" / "delivery-desk.desktop"
    assert str(file) in ran.stdout
    words = exec_words(file.read_text(encoding="utf-8"))
    shown = subprocess.run([*words, "--help"], env=own, capture_output=True, text=True, check=True)
    assert "Work in the browser" in shown.stdout
