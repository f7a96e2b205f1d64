"""Loops are compiled for several sets of instructions: every variant gives every figure bit for bit."""

from __future__ import annotations

import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from delivery.dsp import peaks

SUFFIX = str(sysconfig.get_config_var("EXT_SUFFIX"))
OWN = Path(str(peaks.__file__)).parent
AVAILABLE = [Path(folder).name for folder in peaks.__path__ if Path(folder).name.startswith("_")]
"""What this processor would choose; each of the sets above it includes those below."""
BELOW = {"_avx512": ("_avx512", "_avx2", ""), "_avx2": ("_avx2", "")}

FIGURES = """
import sys
from delivery.dsp import processor
variant = sys.argv[1]
processor.folders = lambda package: [*([f"{package[0]}/{variant}"] if variant else []), *package]
from pathlib import Path
from delivery.dsp.peaks import _loops
assert (Path(_loops.__file__).parent.name == variant) == bool(variant), _loops.__file__
import numpy as np
from delivery.audio.facts import SoundFacts
from delivery.meters import measure_blocks
for rate_hz, seconds in ((44_100, 12), (96_000, 6)):
    frames = rate_hz * seconds
    t = np.arange(frames)[:, None] / rate_hz
    noise = np.random.default_rng(1).standard_normal((frames, 2))
    x = np.clip((0.3 + 0.3 * np.sin(5 * t)) * noise + 0.3 * np.sin(700 * t), -0.9, 0.9)
    x = np.rint(x * 2**23) / 2**23
    facts = SoundFacts(Path("x.wav"), "wav", "RIFF", "pcm", rate_hz, 2, frames, 24, frames * 6)
    blocks = (np.asfortranarray(x[at : at + 65_536]) for at in range(0, frames, 65_536))
    for name, reading in measure_blocks(facts, blocks).items():
        print(rate_hz, name, repr(reading))
"""


@pytest.mark.skipif(not AVAILABLE, reason="no variant for this processor")
def test_every_variant_gives_the_same_figures() -> None:
    """No flag lets the compiler fuse or reorder: readings are equal to the last digit, whatever the lanes."""
    variants = [name for name in BELOW[AVAILABLE[0]] if (OWN / name / f"_loops{SUFFIX}").exists()]
    assert len(variants) > 1
    printed = {name: _figures(name) for name in variants}
    assert all(text.count("\n") > 200 for text in printed.values())
    assert len(set(printed.values())) == 1


def _figures(variant: str) -> str:
    command = [sys.executable, "-c", FIGURES, variant]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout
