"""An ordinary run takes the cases of a long test that its mark states, and all of every other test."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.thoroughness import evenly

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("count", "most", "places"),
    [(5, 0, []), (5, 1, [2]), (5, 2, [0, 4]), (9, 3, [0, 4, 8]), (3, 3, [0, 1, 2]), (2, 7, [0, 1]), (0, 2, [])],
)
def test_cases_are_evenly_spread(count: int, most: int, places: list[int]) -> None:
    assert evenly(count, most) == places


def test_an_ordinary_run_leaves_out_cases_of_marked_tests_alone(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text("from tests.conftest import *\n", encoding="utf-8")
    (tmp_path / "test_made.py").write_text(
        "import pytest\n"
        "@pytest.mark.thorough(2)\n@pytest.mark.parametrize('case', range(9))\ndef test_swept(case): pass\n"
        "@pytest.mark.thorough\ndef test_long(): pass\n"
        "@pytest.mark.parametrize('case', range(3))\ndef test_whole(case): pass\n",
        encoding="utf-8",
    )

    def collected(*words: str) -> set[str]:
        command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-c", str(ROOT / "pyproject.toml")]
        command += ["--rootdir", str(tmp_path), "--import-mode=prepend", str(tmp_path), *words]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        return {line.partition("::")[2] for line in done.stdout.splitlines() if "::" in line}

    whole = {f"test_whole[{number}]" for number in range(3)}
    assert collected("--sample") == {*whole, "test_swept[0]", "test_swept[8]"}
    assert collected() == {*whole, *(f"test_swept[{number}]" for number in range(9)), "test_long"}
