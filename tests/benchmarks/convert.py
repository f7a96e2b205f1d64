"""24/96 to dithered 16/44.1, written and measured again, beside sox's best rate conversion and dither alone.

    python -m tests.benchmarks.convert [--seconds 240] [--turns 3]

One core. Both sides are given in seconds of processor time, the best of several alternating turns, so that a busy
machine disturbs both alike. Ours does more: it converts, dithers and writes, then opens the file again and takes every
figure of it, its audio hash among them. What is compiled is compiled before the clock starts.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from delivery.chain.render import render
from delivery.meters import measure
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.benchmarks.figures import record_cells, record_values
from tests.benchmarks.meters import song

FROM_HZ, TO_HZ, BITS = 96_000, 44_100, 16
REACH, DREAM = 0.55, 0.45
ROW = "24/96 to 16/44.1, dithered, written, measured again"
"""Of the table in the guide."""
AGAINST = "sox's best rate conversion and dither alone"
CHAIN = Chain(
    (
        Step(StepKind.RATE, "rate", "asked", {"from_hz": FROM_HZ, "to_hz": TO_HZ}),
        Step(StepKind.REQUANTISE, "dither", "asked", {"bits": BITS, "dither": "tpdf", "from_bits": 24}),
    ),
    Target("wav", "pcm", TO_HZ, 2, BITS),
)
SOX = ("sox", "--single-threaded", "-V1")


def processor_seconds() -> float:
    """Of this process and of children that have ended; finer than the hundredths of ``os.times``."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def spent(work: Callable[[], object]) -> float:
    before = processor_seconds()
    work()
    return processor_seconds() - before


def one_core() -> None:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


def ours(source: Path, target: Path) -> tuple[float, float]:
    """Processor seconds for converting and writing, and for measuring what was written."""
    target.unlink(missing_ok=True)
    return spent(lambda: render(source, CHAIN, target, "seed")), spent(lambda: measure(target))


def theirs(source: Path, target: Path) -> float:
    command = [*SOX, str(source), "-b", str(BITS), str(target), "rate", "-v", str(TO_HZ), "dither"]
    return spent(lambda: subprocess.run(command, check=True))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=int, default=240)
    parser.add_argument("--turns", type=int, default=3)
    options = parser.parse_args()
    if shutil.which("sox") is None:
        sys.exit("This comparison needs sox as well.")
    one_core()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        source = folder / "master.wav"
        soundfile.write(source, song(FROM_HZ, options.seconds), FROM_HZ, subtype="PCM_24")
        short = folder / "short.wav"
        soundfile.write(short, np.zeros((FROM_HZ, 2)), FROM_HZ, subtype="PCM_24")
        ours(short, folder / "ours.wav")
        turns = [(ours(source, folder / "ours.wav"), theirs(source, folder / "sox.wav")) for _ in range(options.turns)]
    converting, measuring = min((pair for pair, _ in turns), key=sum)
    other = min(sox for _, sox in turns)
    print(f"24/96 -> 16/44.1, {options.seconds} s of music, processor seconds, one core, best of {options.turns}")
    print(f"ours: convert, dither, write   {converting:6.2f} s")
    print(f"ours: open again, every figure {measuring:6.2f} s")
    print(f"ours                           {converting + measuring:6.2f} s")
    print(f"sox: rate -v, dither, write    {other:6.2f} s")
    print(f"ratio                          {(converting + measuring) / other:6.2f}    reach {REACH}, dream {DREAM}")
    took = {"ours_s": f"{converting + measuring:.2f}", "other_s": f"{other:.2f}"}
    record_values("conversion", "conversion-time", took)
    record_cells("speed", "against-other-tools", "ratio", {ROW: f"{(converting + measuring) / other:.2f}"})


if __name__ == "__main__":
    main()
