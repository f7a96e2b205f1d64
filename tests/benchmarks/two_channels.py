"""One side inverted, and one side half a millisecond late, in real stereo; and false signs in the pieces as they are.

Run ``python -m tests.benchmarks.two_channels --tuned FOLDER --held-out FOLDER`` (each may be repeated): every Ogg, Opus
and MP3 file of half a megabyte or more below a folder is read, two minutes of it. The limits were chosen on pieces of
the Debian packages hyperrogue-music, singularity-music, asc-music and wesnoth-1.16-music; those of ufoai-music,
warzone2100-music, extremetuxracer-data, ardentryst, lincity-ng-data, fillets-ng-data, boswars-data, flare-game,
supertux-data, endless-sky-data, xmoto-data and trigger-rally-data were measured once, after that. pytest does not
collect it.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.facts import BLOCK_FRAMES
from delivery.meters import measure_blocks
from tests.benchmarks.figures import record
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
LEAST_BYTES, LONGEST_S, LATE_S = 500_000, 120, 0.0005
ENDINGS = {".ogg", ".opus", ".mp3"}
FIGURES = ("one_side_inverted", "channel_delay_frames")


def pieces(folders: list[Path]) -> Iterator[tuple[Path, Array, int]]:
    """Stereo pieces, each once, in order of their paths."""
    for path in sorted({path for folder in folders for path in folder.rglob("*") if path.suffix in ENDINGS}):
        if path.stat().st_size >= LEAST_BYTES and path.is_file():
            with soundfile.SoundFile(path) as file:
                if file.channels == 2:
                    yield path, file.read(LONGEST_S * file.samplerate, always_2d=True), file.samplerate


def found(sound: Array, rate_hz: int) -> tuple[bool, int]:
    readings = measure_blocks(facts(sound, rate_hz), cut(sound, BLOCK_FRAMES), only=FIGURES).readings
    inverted, delay = (readings[name].value for name in FIGURES)
    return bool(inverted), delay or 0


def late(sound: Array, frames: int) -> Array:
    """The right channel later by so much."""
    right = np.concatenate([np.zeros(frames), sound[: len(sound) - frames, 1]])
    return np.stack([sound[:, 0], right], axis=1)


def counted(folders: list[Path]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for path, sound, rate_hz in pieces(folders):
        frames = round(LATE_S * rate_hz)
        inverted, delay = found(sound, rate_hz)
        mirrored, moved = found(late(sound * [1.0, -1.0], frames), rate_hz)
        counts.update(pieces=1, inverted=mirrored, late=moved == frames)
        counts.update(falsely_inverted=inverted, falsely_late=delay != 0)
        if inverted or delay:
            print(f"{path.name}: {'inverted' if inverted else ''} {delay or ''}", flush=True)
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tuned", type=Path, default=[], action="append")
    parser.add_argument("--held-out", type=Path, default=[], action="append")
    options = parser.parse_args()
    tuned, held_out = counted(options.tuned), counted(options.held_out)
    rows = {
        "inverted": "right channel inverted (and 0.5 ms late), found",
        "late": "right channel 0.5 ms late (and inverted), found",
        "falsely_inverted": "as it is, reported as inverted",
        "falsely_late": "as it is, reported as late",
    }
    table = [
        [text, *(f"{each[name]} of {each['pieces']}" for each in (tuned, held_out))] for name, text in rows.items()
    ]
    print("\n".join(" | ".join(row) for row in table))
    if tuned and held_out:
        record("detectors", "two-channels", table)


if __name__ == "__main__":
    main()
