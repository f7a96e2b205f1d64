"""The loops that are compiled when the package is installed: the same sources as plain Python give the same results."""

from __future__ import annotations

import hashlib
import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from delivery.dsp import processor
from delivery.dsp.blocks import _integers as integers
from delivery.dsp.events import _breaks as breaks
from delivery.dsp.events import _copies as copies
from delivery.dsp.events.layout import AGAIN, AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, LONGEST_LAG, SLOTS
from delivery.dsp.history import _loops as history
from delivery.dsp.loudness import _loops as loudness
from delivery.dsp.loudness.k_weighting import STATE_SIZE, step_ends
from delivery.dsp.loudness.k_weighting_design import k_coefficients, unfolded
from delivery.dsp.peaks import _loops as peaks
from delivery.dsp.peaks import _search as search
from delivery.dsp.peaks.interpolation import bounds, interpolators
from delivery.dsp.stereo import _loops as stereo
from delivery.dsp.writing import _loops as writing
from delivery.dsp.writing.dither import Requantiser, dithers

ROOT = Path(__file__).resolve().parents[2]
RATE_HZ = 44_100


def sound(frames: int, seed: int = 7) -> np.ndarray:
    """(frames, 2) of white noise a little beyond full scale, with a quiet stretch in it."""
    x = (np.random.Generator(np.random.Philox(seed)).random((frames, 2)) - 0.5) * 2.002
    x[3 * (frames // 6) : 4 * (frames // 6)] *= 1e-4
    return np.asarray(x)


def plain(module: ModuleType) -> ModuleType:
    """The same module as plain Python."""
    source = ROOT / f"{module.__name__.replace('.', '/')}.py"
    spec = importlib.util.spec_from_file_location("plain", source)
    assert spec is not None
    assert spec.loader is not None
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


FIRST_SHIPPED = {
    ("none", 16): "0b039ec41d2cd7b394891c6ee133cbb2",
    ("none", 24): "8637430a81de4d08c8d085bc9c51b1f0",
    ("rpdf", 16): "7eb2608125117f09f8a731df38a0e53f",
    ("rpdf", 24): "3567677bedbb900b672ba41af3fffeff",
    ("tpdf", 16): "103b644037f8e9e530a8b32afce61e8b",
    ("tpdf", 24): "9061df975f29598d5d4817fc069e5a12",
    ("modified-e-2", 16): "6b1033f580ac71e7d31aef3bae220456",
    ("modified-e-2", 24): "9011e5c2202bd6bf795d56daa48f22be",
    ("modified-e-3", 16): "4b6c9fbcebcafe41b0bf204d56c36d29",
    ("modified-e-3", 24): "818935a3148f4c780912ab5f3c4af59a",
    ("modified-e-9", 16): "e21c06249e8578eafa5209458e1c7bd3",
    ("modified-e-9", 24): "dc7a830f55239fefef90ce019424cd63",
    ("improved-e-5", 16): "dd4861f1421100040df2bac9f3ddc42d",
    ("improved-e-5", 24): "35d602afd67b260ed9a71fe6f98d5335",
    ("improved-e-9", 16): "3cf96c7916ddbb58292a2bae46439c8f",
    ("improved-e-9", 24): "5d7a4209047727e220a2e11a1c64f20a",
    ("f-weighted-3", 16): "bc5787bf55042bb2a9fb3e6cfa4c1ba7",
    ("f-weighted-3", 24): "4b6e40be5794ce165e08d02a016531e7",
    ("f-weighted-9", 16): "773316f5dd527a19f793477cc04b5633",
    ("f-weighted-9", 24): "072897e245fd9b5d3030aa9fb622ba73",
}
"""Of 6000 frames of :func:`sound`: our own output, kept unchanged. What was dithered once never changes."""


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("dither", dithers())
def test_samples_that_ship_never_change(dither: str, bits: int) -> None:
    """Judge: what the first releases of the program wrote."""
    integers = Requantiser(bits, dither, RATE_HZ, 2, "seed").update(sound(6000))
    assert hashlib.sha256(integers.astype("<i4").tobytes()).hexdigest()[:32] == FIRST_SHIPPED[dither, bits]


@pytest.mark.parametrize("module", [breaks, copies, history, integers, loudness, peaks, search, stereo, writing])
def test_loops_are_compiled_here(module: ModuleType) -> None:
    """An installation without them would be a hundred times slower; the reason is then in the output of its build."""
    assert Path(str(module.__file__)).suffix in (".so", ".pyd")


def test_the_widest_variant_that_runs_here_is_chosen() -> None:
    folders = map(Path, processor.folders([str(ROOT / "delivery/dsp/peaks")]))
    assert Path(str(peaks.__file__)).parent == next(folder for folder in folders if folder.exists())


def test_k_weighting_is_the_same_uncompiled() -> None:
    x, ends = np.ascontiguousarray(sound(1000).T), step_ends(0, 1000, RATE_HZ)
    energies = []
    for module in (loudness, plain(loudness)):
        energies.append(np.zeros(len(ends)))
        state = np.zeros((2, STATE_SIZE))
        module.weighted_energy(x, ends, unfolded(k_coefficients(RATE_HZ)), np.ones(2), state, energies[-1])
    assert np.array_equal(*energies)


def test_peaks_between_samples_are_the_same_uncompiled() -> None:
    t = np.arange(1600) / RATE_HZ
    x = np.stack([0.95 * np.sin(2 * np.pi * 997 * t), 0.9 * np.sin(2 * np.pi * 1200 * t + 1)])
    rows = interpolators(RATE_HZ)
    found = []
    for module in (search, plain(search)):
        results = (np.zeros((2, 2)), np.zeros(1), np.zeros((3, 3)))
        module.scan(x, 0, 0, 0, np.array([441, 882, 1323]), rows, bounds(rows.shape[1]), *results)
        found.append(np.concatenate([result.ravel() for result in results]))
    assert np.array_equal(*found)


def test_sums_of_two_channels_are_the_same_uncompiled() -> None:
    left, right = np.ascontiguousarray(sound(1003).T)
    sums = []
    for module in (stereo, plain(stereo)):
        sums.append(np.zeros((2, 4)))
        module.pair_sums(left, right, np.array([441, 882]), np.zeros(4), sums[-1])
    assert np.array_equal(*sums)


def test_buffers_that_come_twice() -> None:
    """Two copies of 700 and of 64 frames, dithered to 16 bits, in noise: compiled and plain find these and no other."""
    x = sound(26_000)[:, 0] * 0.2
    for at, frames, lag in ((12_000, 700, 700), (20_000, 64, 100)):
        x[at : at + frames] = x[at - lag : at - lag + frames] + 1e-5
    rows = []
    for module in (copies, plain(copies)):
        found, steps = np.empty((20, AGAIN)), np.empty(len(x), np.int32)
        breaks.milliseconds(np.append(0.0, x), 1, *np.empty((2, len(x))), steps)
        slots = np.zeros(SLOTS, np.uint16)
        count = module.repeats(steps, 2 * LONGEST_LAG + 64, len(x) - LONGEST_LAG - 320, 1000, slots, found)
        rows.append(found[:count, [AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG]].tolist())
    assert rows[0] == rows[1] == [[13_000, 700, 700], [21_000, 64, 100]]


def test_an_installation_without_compiled_loops_warns_and_works() -> None:
    """One line on stderr, however many modules are missing; the results are right."""
    program = """
import sys
from importlib.machinery import SOURCE_SUFFIXES, FileFinder, SourceFileLoader
plain = FileFinder.path_hook((SourceFileLoader, SOURCE_SUFFIXES))
outside = sys.path_hooks[-1]
sys.path_hooks.insert(0, lambda path: plain(path) if "/delivery/dsp" in path.replace(chr(92), "/") else outside(path))
sys.path_importer_cache.clear()
import numpy as np
from delivery.dsp.events import _loops
from delivery.dsp.peaks.extremes import largest
assert _loops.__file__.endswith(".py"), _loops.__file__
print(largest(np.array([0.25, -0.5])))
"""
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd=ROOT)
    assert run.stdout.strip() == "0.5", run.stderr
    assert run.stderr.count("compiled loops are missing") == 1
