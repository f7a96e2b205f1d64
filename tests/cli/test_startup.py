"""What a command may load: nobody waits for encoders, reports and spreadsheets that the command does not use."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile

from tests.signals import noise

SLOW = {"Cython", "PIL", "av", "cryptography", "fontTools", "jinja2", "jsonschema", "openpyxl", "pyloudnorm"}
SLOW |= {"reportlab", "ruamel", "scipy", "soxr", "uharfbuzz"}
"""Packages that take longer to load than a short file takes to measure."""
PROGRAM = """
import json, sys
from delivery.__main__ import run
run(json.loads(sys.argv[1]))
print(json.dumps(sorted({name.partition(".")[0] for name in sys.modules})))
"""


def loaded(*words: str) -> set[str]:
    """Top-level packages that are loaded when the command has ended."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, json.dumps(words)], capture_output=True, encoding="utf-8", check=True
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize("words", [("--help",), ("--version",), ("measure", "--help"), ("build", "--help")])
def test_help_loads_neither_numbers_nor_tables(words: tuple[str, ...]) -> None:
    assert not loaded(*words) & (SLOW | {"numpy", "rich", "soundfile", "mutagen"})


@pytest.mark.parametrize("options", [(), ("--json",), ("--csv",)])
def test_measuring_a_file_loads_nothing_that_only_a_delivery_needs(tmp_path: Path, options: tuple[str, ...]) -> None:
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000)
    assert not loaded("measure", "--no-cache", *options, str(path)) & SLOW
