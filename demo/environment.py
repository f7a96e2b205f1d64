"""The clone's own environment, ``.venv``: made once, renewed when pyproject.toml or a compiled loop changes.

Standard library only.
Shared by ``demo/run.py`` and ``tests/run.py``, which start under whatever Python there is and go on inside.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import time
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
MARKER = FOLDER / "delivery-installed.json"

NO_NETWORK = (
    "could not find a version that satisfies",
    "no matching distribution",
    "failed to establish a new connection",
    "name resolution",
    "getaddrinfo failed",
    "network is unreachable",
    "read timed out",
    "connection refused",
)


def python() -> Path:
    """The interpreter inside the environment."""
    return FOLDER / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def inside() -> bool:
    """True when the running interpreter is the environment's own."""
    return Path(sys.prefix).resolve() == FOLDER.resolve()


def version() -> str:
    """Of the environment's Python, such as '3.11'; empty when it does not run."""
    script = "import sys; print('%d.%d' % sys.version_info[:2])"
    if inside():
        return f"{sys.version_info[0]}.{sys.version_info[1]}"
    if not python().exists():
        return ""
    reported = run([str(python()), "-I", "-S", "-c", script])
    return reported.stdout.strip() if reported.returncode == 0 else ""


def wanted() -> dict[str, str]:
    """What an installation depends on: the requirements, what is compiled, its Python, and where the clone lies."""
    loops = sorted((ROOT / "delivery" / "dsp").rglob("*.pxd"))
    sources = (*(path.with_suffix(kind) for path in loops for kind in (".pxd", ".py")), ROOT / "hatch_build.py")
    return {
        "pyproject": hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest(),
        "compiled": hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest(),
        "python": version(),
        "root": str(ROOT),
    }


def installed() -> dict[str, str]:
    """What was installed last, as the marker says; empty when nothing was, or it was left half-way."""
    try:
        found = json.loads(MARKER.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def suffices(extras: str) -> bool:
    """True when the environment holds these requirements with these extras ('' or 'dev'; 'dev' holds both)."""
    found = dict(installed())
    return found.pop("extras", None) in (extras, "dev") and found == wanted()


def run(command: list[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        check=False,
    )


def tail(text: str, lines: int = 14) -> str:
    return "\n".join("    " + line for line in text.strip().splitlines()[-lines:])


def give_up(message: str) -> NoReturn:
    """End with one clear message on lines of its own."""
    print(flush=True)
    sys.exit(message)


def make_folder() -> None:
    """An environment with pip in .venv; one that no longer runs, or is too old, is made anew."""
    usable = version() and tuple(map(int, version().split("."))) >= (3, 11)
    if usable and run([str(python()), "-m", "pip", "--version"]).returncode == 0:
        return
    if find_spec("venv") is None or find_spec("ensurepip") is None:
        give_up(
            f"This Python ({sys.executable}) cannot make environments: its venv or ensurepip module is missing.\n"
            "On Debian and Ubuntu:  sudo apt-get install python3-venv   Then run this command again."
        )
    made = run([sys.executable, "-m", "venv", "--clear", str(FOLDER)])
    if made.returncode != 0:
        give_up(f"The environment {FOLDER} could not be made. Python says:\n{tail(made.stdout)}")


def install(extras: str) -> None:
    """Install the clone, editable, with its requirements; the marker is written last."""
    what = f".[{extras}]" if extras else "."
    pip = [str(python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    done = faster(pip, what) if extras == "dev" else None
    if done is None:
        done = run([*pip, "-e", what])
    if done.returncode == 0:
        marker = {**wanted(), "extras": extras}
        MARKER.write_text(json.dumps(marker, indent=1), encoding="utf-8", newline="\n")
        return
    offline = any(sign in done.stdout.lower() for sign in NO_NETWORK)
    reason = (
        "pip could not fetch the requirements: is this machine online, or a package index set for pip?"
        if offline
        else "pip could not install the requirements."
    )
    give_up(f"{reason} The environment in .venv is unfinished; run this command again. pip says:\n{tail(done.stdout)}")


def faster(pip: list[str], what: str) -> subprocess.CompletedProcess[str] | None:
    """Install *what* by uv, one of its own requirements: it fetches side by side and compiles the loops meanwhile.

    None where that fails, for pip may know an index that uv does not.
    """
    uv = [str(python()), "-m", "uv", "pip", "install", "--quiet", "--python", str(python())]
    anew = ["--reinstall-package", "delivery"]  # uv would not notice a loop that was changed
    for command in ([*pip, "uv"], [*uv, *anew, "-e", what]):
        done = run(command)
        if done.returncode != 0:
            return None
    return done


def ready(extras: str = "") -> Path:
    """The environment's interpreter, with everything installed; says one line when that takes a while.

    Parameters
    ----------
    extras : '' for the program alone, 'dev' for the tests' needs as well

    Raises
    ------
    SystemExit : with one clear message, when the environment cannot be made
    """
    if not suffices(extras):
        keep = "dev" if installed().get("extras") == "dev" else extras
        started = time.monotonic()
        print("Setting up .venv (a minute or two, only when the requirements changed) ... ", end="", flush=True)
        MARKER.unlink(missing_ok=True)
        make_folder()
        install(keep)
        print(f"done in {time.monotonic() - started:.0f} s.", flush=True)
    return python()


def call(command: list[str], folder: Path | None = None, variables: Mapping[str, str] | None = None) -> int:
    """Run *command* on this terminal with UTF-8 text in any locale; its exit code. An interrupt is the command's."""
    process = subprocess.Popen(command, cwd=folder, env={**os.environ, "PYTHONUTF8": "1", **(variables or {})})
    while True:
        try:
            return process.wait()
        except KeyboardInterrupt:
            continue
