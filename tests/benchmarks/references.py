"""What a reference playlist costs: measuring it, and a comparison once everything is in the cache.

Run ``python -m tests.benchmarks.references``; pytest does not collect it. Seconds of processor time, the best of some
turns, in one run: the playlist beside the same files measured by ``delivery measure``; the comparison beside a start
of the program that imports the same and does nothing.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import soundfile

from tests.benchmarks.meters import song

SONGS, SECONDS, RATE_HZ, TURNS = 5, 240, 44_100, 5
REACH_PLAYLIST, REACH_WARM_S = 1.15, 0.5
IMPORTS = (
    "import delivery.tasks.reference, delivery.report.data.reference, delivery.report.text.reference, jsonschema\n"
    "from delivery.cli import make_command; make_command()\n"
    "import delivery.cli._pair"
)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        _run(Path(folder))


def _run(folder: Path) -> None:
    peers = folder / "peers"
    peers.mkdir()
    one = song(RATE_HZ, SECONDS)
    for at in range(SONGS):
        soundfile.write(peers / f"{at}.wav", one * 10 ** (-at / 20), RATE_HZ, "PCM_24")
    command = [sys.executable, "-m", "delivery"]
    measured_s = _best([*command, "measure", "--no-cache", "--workers", "1", str(peers)], folder, 2)
    made = [*command, "reference", "make", "bench", str(peers), "--replace", "--workers", "1"]
    made_s = _best([*made, "--no-cache"], folder, 2)
    print(f"playlist of {SONGS} songs of {SECONDS} s: {made_s / measured_s:.2f} x delivery measure ({made_s:.2f} s of")
    print(f"processor time); to reach: {REACH_PLAYLIST}")
    _best(made, folder, 1)
    compare = [*command, "compare", str(peers / "2.wav"), "-r", "bench"]
    _best(compare, folder, 1)  # fills the cache
    warm_s = _best(compare, folder, TURNS)
    start_s = _best([sys.executable, "-c", IMPORTS], folder, TURNS)
    print(f"warm comparison: {warm_s:.2f} s, start-up alone {start_s:.2f} s: {warm_s - start_s:.2f} s beyond it")
    print(f"to reach: {REACH_WARM_S} s")


def _best(command: list[str], folder: Path, turns: int) -> float:
    """Least processor time of *command* over some turns, its children's included."""
    homes = {name: str(folder / "home") for name in ("XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME")}
    environment = {**os.environ, **homes}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    best = float("inf")
    for _ in range(turns):
        before = _children_s()
        subprocess.run(command, env=environment, check=True, capture_output=True)
        best = min(best, _children_s() - before)
    return best


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


if __name__ == "__main__":
    main()
