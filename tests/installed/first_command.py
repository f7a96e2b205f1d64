"""The first command after installing: no compiler on the path, an empty home, three seconds measured within two.

    python tests/installed/first_command.py            of the Python that runs it

Needs nothing but the installed program and the standard library. Prints the processor time and ends with 1 if it is
too long, if a figure is missing, or if the loops are not compiled.
"""

from __future__ import annotations

import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path

MOST_S = 2.0
SECONDS, RATE_HZ = 3, 44_100
COMPILERS = ("cc", "gcc", "clang", "cl", "zig")
LOOPS = "import delivery.dsp.peaks._loops as loops; print(loops.__file__)"


def tone(path: Path) -> Path:
    """Three seconds of 16-bit stereo: 997 Hz at -6 dBFS."""
    step = 2 * math.pi * 997 / RATE_HZ
    samples = (
        round(16_384 * math.sin(step * at)).to_bytes(2, "little", signed=True) * 2 for at in range(SECONDS * RATE_HZ)
    )
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(b"".join(samples))
    return path


def environment(home: Path) -> dict[str, str]:
    """This one without anything of the user's, and with a path that has no compiler on it."""
    kept = {name: value for name, value in os.environ.items() if name in ("SYSTEMROOT", "TEMP", "TMP")}
    homes = ("HOME", "USERPROFILE", "LOCALAPPDATA", "APPDATA", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")
    found = {**kept, "PATH": str(home), **dict.fromkeys(homes, str(home))}
    assert not any(shutil.which(name, path=found["PATH"]) for name in COMPILERS)
    return found


def timed(python: str) -> tuple[subprocess.CompletedProcess[str], float, float]:
    """What the first command of the Python *python* printed, its processor time and its time by the clock."""
    with tempfile.TemporaryDirectory() as name:
        home = Path(name) / "home"
        home.mkdir()
        sound, clean = tone(Path(name) / "tone.wav"), environment(home)
        begun, before = time.perf_counter(), os.times()
        words = [python, "-m", "delivery", "measure", "--json", str(sound)]
        done = subprocess.run(words, cwd=name, env=clean, capture_output=True, encoding="utf-8", check=False)
        wall_s, after = time.perf_counter() - begun, os.times()
    used_s = after.children_user + after.children_system - before.children_user - before.children_system
    return done, used_s, wall_s


def compiled() -> str:
    """Where the loops are."""
    with tempfile.TemporaryDirectory() as name:
        clean, words = environment(Path(name)), [sys.executable, "-c", LOOPS]
        return subprocess.run(
            words, cwd=name, env=clean, capture_output=True, encoding="utf-8", check=True
        ).stdout.strip()


def main() -> int:
    (done, used_s, wall_s), found = timed(sys.executable), compiled()
    if done.returncode != 0:
        print(done.stdout, done.stderr)
        return 1
    print(f"first command: {used_s:.2f} s of processor time, {wall_s:.2f} s by the clock (wanted: {MOST_S:g}); {found}")
    loudness = _named(json.loads(done.stdout), "integrated_lufs")
    return int((used_s or wall_s) > MOST_S or found.endswith(".py") or loudness is None)


def _named(value: object, name: str) -> object:
    """The first value of that name, anywhere inside."""
    if isinstance(value, dict):
        return (
            value[name]
            if name in value
            else next((v for e in value.values() if (v := _named(e, name)) is not None), None)
        )
    if isinstance(value, list):
        return next((v for each in value if (v := _named(each, name)) is not None), None)
    return None


if __name__ == "__main__":
    sys.exit(main())
