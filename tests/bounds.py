"""A quick selection of tests at the lowest versions pyproject.toml allows, and on a newer Python.

``.venv/bin/python tests/bounds.py`` runs it, and with ``tests`` as an argument all of them.
Each has an environment of its own in ``.venv-bounds``, kept for the next time. The selection goes through every
library that reads or writes sound, tags, pictures, pages and seals, and through the compiled loops.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

VARIABLES = {"PYTHONDONTWRITEBYTECODE": "", "OPENBLAS_NUM_THREADS": "1"}
"""As in ``tests/run.py``."""
ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv-bounds"
NEWER = "3.13"
QUICK = (
    "tests/audio/test_encode.py",
    "tests/dsp/test_compiled.py",
    "tests/intake/test_artwork.py",
    "tests/judges/test_tags.py",
    "tests/pack/test_seal.py",
    "tests/report/test_type.py",
    "tests/tags/test_embedding.py",
)


def python_of(version: str) -> str | None:
    """The command of a Python of *version* that starts; a version manager's stand-in may be there and not start."""
    beside = Path.home() / ".pyenv/versions"
    places = [shutil.which(f"python{version}"), *sorted(map(str, beside.glob(f"{version}.*/bin/python{version}")))]
    for command in filter(None, places):
        if subprocess.run([command, "-c", "import venv"], check=False, capture_output=True).returncode == 0:
            return command
    return None


def installed(name: str, python: str, *how: str) -> Path:
    """The interpreter of an environment *name*, filled by uv (from PyPI) the way *how* says.

    To uv an editable build fits every Python, also one whose loops were compiled for another: it is made anew.
    """
    inside = FOLDER / name / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
    uv = [sys.executable, "-m", "uv"]
    subprocess.run([*uv, "venv", "--quiet", "--allow-existing", "--python", python, str(FOLDER / name)], check=True)
    into = [*uv, "pip", "install", "--quiet", "--python", str(inside), "--reinstall-package", "delivery", *how]
    subprocess.run([*into, "--editable", ".[dev]"], cwd=ROOT, check=True)
    return inside


def tried(what: str, python: Path, tests: tuple[str, ...]) -> int:
    """Run *tests* in the environment of *python*; pytest's exit code."""
    begun = time.monotonic()
    print(f"\n-- {what}", flush=True)
    command = [str(python), "-m", "pytest", "-q", "-n", "auto", "-m", "not slow", "-p", "no:cacheprovider", "--sample"]
    code = subprocess.run([*command, *tests], cwd=ROOT, env={**os.environ, **VARIABLES}, check=False).returncode
    print(f"-- {what}: {time.monotonic() - begun:.0f} s", flush=True)
    return code


def main() -> int:
    tests = tuple(sys.argv[1:]) or QUICK
    newer = python_of(NEWER)
    here = f"Python {sys.version_info[0]}.{sys.version_info[1]}"
    lowest = installed("lowest", sys.executable, "--resolution", "lowest-direct")
    code = tried(f"lowest versions, {here}", lowest, tests)
    if newer is None:
        print(f"\n!!! NOT TRIED on Python {NEWER}: this machine has none that starts.")
        return code
    return tried(f"newest versions, Python {NEWER}", installed("newer", newer, "--upgrade"), tests) or code


if __name__ == "__main__":
    sys.exit(main())
