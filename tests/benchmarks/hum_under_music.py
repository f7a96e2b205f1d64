"""Mains hum planted in real music, all through the piece: in how many pieces it is found, and false ones.

Run ``python -m tests.benchmarks.hum_under_music --folder FOLDER``; pytest does not collect it. Every piece of 40 s or
more below the folders is taken, up to 4 minutes from its middle. The hum has two to four harmonics, in a quarter of the
pieces mostly the second (as rectifiers leave it), and a frequency that wanders as that of a power grid does; it is in
one channel or in both. Once it is under the music alone, and once under a minute of it with quiet parts of four kinds.
``--record`` writes the tables of the guide; these are of the Debian packages warzone2100-music, extremetuxracer-data,
ardentryst, lincity-ng-data, fillets-ng-data, boswars-data, flare-game, supertux-data, endless-sky-data and xmoto-data,
in this order, with ``--every 3 --planted 3``.
"""

from __future__ import annotations

import argparse
import zlib
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks.discontinuities import read, stored
from tests.benchmarks.dithered_clipping import music
from tests.benchmarks.figures import record
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
MAINS_HZ = {"50 Hz": (50.0, 0.075), "60 Hz": (60.0, 0.075), "16.7 Hz": (16.7, 0.06)}
"""Nominal frequency, and most that a piece's mean is off."""
LEVELS_DBFS = (-40, -50, -60, -70, -80)
PLANTED_S = 120
"""Of a piece, for the planted ones."""
QUIET_DBFS = (-60, -70, -80, -90)
QUIET_S = 60
"""Of a piece that is given quiet parts."""
FIGURES = ("hum_places", "hum_hz", "hum_throughout")


def hum(frames: int, rate_hz: int, mains_hz: float, rng: np.random.Generator) -> Array:
    """(frames,) hum with an rms of 1; its frequency changes by some hundredths of 1 Hz over minutes."""
    seconds = np.arange(-(-frames // rate_hz) + 1)
    wander_hz = np.cumsum(rng.standard_normal(len(seconds))) * 0.002 * mains_hz / 50
    hz = mains_hz + np.interp(np.arange(frames) / rate_hz, seconds, wander_hz - wander_hz.mean())
    phase = 2 * np.pi * np.cumsum(hz) / rate_hz
    levels = {1: 1.0, 2: rng.uniform(0.1, 0.8), 3: rng.uniform(0.1, 0.8), 4: rng.uniform(0, 0.3)}
    if rng.random() < 0.25:
        levels = {1: 0.1, 2: 1.0, 4: 0.5}
    made = sum(level * np.sin(number * phase + rng.uniform(0, 6)) for number, level in levels.items())
    return np.asarray(made / np.std(made))


def _noise(shape: tuple[int, int], rate_hz: int, slope: float, level_dbfs: float, rng: np.random.Generator) -> Array:
    """Noise whose power falls with frequency to the *slope*: 0 is white."""
    hz = np.maximum(np.fft.rfftfreq(shape[0], 1 / rate_hz), 20.0)
    spectra = np.fft.rfft(rng.standard_normal(shape), axis=0) * hz[:, None] ** (-slope / 2)
    made = np.fft.irfft(spectra, shape[0], axis=0)
    return np.asarray(made / np.std(made) * 10 ** (level_dbfs / 20))


def hiss_before(music: Array, rate_hz: int, rng: np.random.Generator) -> Array:
    """Four seconds of white noise at -75 dBFS before it."""
    return np.concatenate([_noise((4 * rate_hz, music.shape[1]), rate_hz, 0.0, -75, rng), music])


def room_before(music: Array, rate_hz: int, rng: np.random.Generator) -> Array:
    """Six seconds of a room at -60 dBFS before it (noise that falls by 6 dB an octave)."""
    return np.concatenate([_noise((6 * rate_hz, music.shape[1]), rate_hz, 2.0, -60, rng), music])


def gaps(music: Array, rate_hz: int, _rng: np.random.Generator) -> Array:
    """Three gaps of 3 s in it."""
    gain = np.ones(len(music))
    for share in (0.25, 0.5, 0.75):
        first = round(share * len(music))
        gain[first : first + 3 * rate_hz] = 0.0
    return music * np.convolve(gain, np.full(rate_hz // 20, 20 / rate_hz), "same")[:, None]


def faded_in(music: Array, rate_hz: int, _rng: np.random.Generator) -> Array:
    """Faded in over ten seconds, from -80 dB."""
    gain_db = np.minimum(np.arange(len(music)) / rate_hz * 8 - 80, 0)
    return music * 10 ** (gain_db / 20)[:, None]


QUIET: tuple[Callable[[Array, int, np.random.Generator], Array], ...] = (hiss_before, room_before, gaps, faded_in)


def reported(sound: Array, rate_hz: int, bits: int) -> tuple[bool, float, bool]:
    """Whether there is hum, its frequency, and whether it was found under the music."""
    found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=FIGURES)
    return bool(found.value("hum_places")), float(found.value("hum_hz") or 0), bool(found.value("hum_throughout"))


def found_in_quiet(music: Array, rate_hz: int, bits: int, rng: np.random.Generator) -> list[tuple[str, int]]:
    """Quiet parts and levels at which hum of a randomly chosen supply is found, with its frequency."""
    found = []
    for kind in QUIET:
        sound = kind(music, rate_hz, rng)
        mains_hz, off_hz = list(MAINS_HZ.values())[rng.integers(len(MAINS_HZ))]
        made = hum(len(sound), rate_hz, mains_hz + rng.uniform(-off_hz, off_hz), rng)
        for level_dbfs in QUIET_DBFS:
            faulty = stored(sound + 10 ** (level_dbfs / 20) * made[:, None], bits, rng)
            heard, at_hz, _under = reported(faulty, rate_hz, bits)
            if heard and abs(at_hz - mains_hz) < 0.02 * mains_hz:
                found.append((kind.__name__, level_dbfs))
    return found


def _lower(text: str) -> str:
    return text[0].lower() + text[1:]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, required=True, action="append")
    parser.add_argument("--every", type=int, default=1, help="take every n-th piece")
    parser.add_argument("--planted", type=int, default=1, help="and plant in every n-th of these")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    planted, found = Counter[tuple[str, int]](), Counter[tuple[str, int]]()
    in_quiet, every = Counter[tuple[str, int]](), 0
    pieces, minutes, false = 0, 0.0, Counter[str]()
    for number, path in enumerate(list(music(given.folder))[:: given.every]):
        sound, rate_hz = read(path)
        bits = 16 if number % 2 else 24
        rng = np.random.default_rng(zlib.crc32(path.name.encode()))
        pieces, minutes = pieces + 1, minutes + len(sound) / rate_hz / 60
        any_hum, hz, under = reported(stored(sound, bits, rng), rate_hz, bits)
        false["quiet"] += any_hum and not under
        false["music"] += under
        if any_hum:
            print(f"{path.name}: {hz:.2f} Hz{' under the music' if under else ''}", flush=True)
        for name, (mains_hz, off_hz) in {} if number % given.planted or any_hum else MAINS_HZ.items():
            sound = sound[: PLANTED_S * rate_hz]
            made = hum(len(sound), rate_hz, mains_hz + rng.uniform(-off_hz, off_hz), rng)
            sides = np.ones(sound.shape[1]) if rng.random() < 0.5 else np.eye(sound.shape[1])[0]
            for level_dbfs in LEVELS_DBFS:
                faulty = sound + 10 ** (level_dbfs / 20) * made[:, None] * sides
                heard, at_hz, _under = reported(stored(faulty, bits, rng), rate_hz, bits)
                planted[name, level_dbfs] += 1
                found[name, level_dbfs] += heard and abs(at_hz - mains_hz) < 0.02 * mains_hz
        if number % given.planted == 0 and not any_hum:
            every += 1
            in_quiet.update(found_in_quiet(sound[: QUIET_S * rate_hz], rate_hz, bits, rng))
    rows = [
        (f"{level} dBFS", *(f"{found[name, level]} of {planted[name, level]}" for name in MAINS_HZ))
        for level in LEVELS_DBFS
    ]
    quiet_rows = [
        (
            _lower((kind.__doc__ or "").rstrip(".")),
            *(f"{in_quiet[kind.__name__, level]} of {every}" for level in QUIET_DBFS),
        )
        for kind in QUIET
    ]
    clean = [(f"{pieces} pieces, {minutes:.0f} minutes", f"{false['quiet']}", f"{false['music']}")]
    for row in (*rows, *quiet_rows, *clean):
        print("| " + " | ".join(row) + " |")
    if given.record:
        record("detectors", "hum-under-music", rows)
        record("detectors", "hum-in-quiet-parts", quiet_rows)
        record("detectors", "false-hum", clean)


if __name__ == "__main__":
    main()
