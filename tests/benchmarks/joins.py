"""What is audible where songs continue into each other: the error at the cuts and elsewhere, for every coder.

    python -m tests.benchmarks.joins

A tone over three tracks at 24/96, and real music where a Debian package of free music is installed, each song a file of
its own, decoded as players do that know gapless figures, and joined without a gap. Beside it the same songs made by
themselves. In dBFS, peak, against the conversion of the whole. The tone and the worst of the pieces go into the guide.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from delivery.model.chain import Target
from tests import joined
from tests.benchmarks.figures import record
from tests.music import PIECES, loud_master
from tests.signals import Array, sine

SECONDS = 6
FORMS = {
    "16 bit, 44.1 kHz": (Target("wav", "pcm", 44_100, 2, 16), "tpdf"),
    "16 bit, 44.1 kHz, shaped": (Target("wav", "pcm", 44_100, 2, 16), "improved-e-9"),
    "24 bit, 48 kHz": (Target("flac", "pcm", 48_000, 2, 24), "tpdf"),
    "32-bit float, 48 kHz": (Target("wav", "float", 48_000, 2, 32), "tpdf"),
    "ALAC 24 bit, 44.1 kHz": (Target("m4a", "pcm", 44_100, 2, 24), "tpdf"),
    "MP3 320 kbit/s": (Target("mp3", "mp3", 44_100, 2, None, 320), ""),
    "MP3 192 kbit/s": (Target("mp3", "mp3", 44_100, 2, None, 192), ""),
    "MP3 128 kbit/s": (Target("mp3", "mp3", 44_100, 2, None, 128), ""),
    "MP3 V0": (Target("mp3", "mp3", 44_100, 2, None, None, 0), ""),
    "AAC 256 kbit/s": (Target("m4a", "aac", 44_100, 2, None, 256), ""),
    "AAC 128 kbit/s": (Target("m4a", "aac", 44_100, 2, None, 128), ""),
    "Opus 192 kbit/s": (Target("opus", "opus", 48_000, 2, None, 192), ""),
    "Opus 160 kbit/s": (Target("opus", "opus", 48_000, 2, None, 160), ""),
    "Opus 96 kbit/s": (Target("opus", "opus", 48_000, 2, None, 96), ""),
}


def sounds() -> Iterator[tuple[str, Array, int]]:
    yield "tone 997 Hz, -6 dBFS", sine(997, 96_000, SECONDS, level_dbfs=-6) * [1.0, 1.0], 96_000
    for piece in PIECES[:3]:
        music, rate_hz = loud_master(piece, SECONDS, peak_dbfs=-3.0)
        yield piece.stem, 0.5 * music, 96_000 if rate_hz == 48_000 else 88_200  # played faster, so that a rate changes


def measured(sound: Array, rate_hz: int, name: str, *, alone: bool) -> tuple[float, float]:
    target, dither = FORMS[name]
    cuts = [len(sound) // 3 + 17, 2 * len(sound) // 3 + 101]
    with TemporaryDirectory(prefix="joins-") as folder:
        chain = joined.chain_to(target, rate_hz, dither)
        stream = joined.cut_up(Path(folder), sound, rate_hz, cuts, chain)
        songs = joined.made(Path(folder) / "made", stream, alone=alone)
        if alone:  # their lengths are rounded one by one
            missing = joined.frames_at_cut(len(sound), rate_hz, target.rate_hz) - sum(map(len, songs))
            songs[-1] = np.pad(songs[-1], ((0, max(0, missing)), (0, 0)))[: len(songs[-1]) + missing]
        return joined.errors(songs, sound, rate_hz, target.rate_hz, cuts)


def rows_of(sound: Array, rate_hz: int) -> dict[str, tuple[float, float, float]]:
    """Form -> error at the cuts, elsewhere, and at the cuts with each song made by itself, in dBFS."""
    return {
        name: (*measured(sound, rate_hz, name, alone=False), measured(sound, rate_hz, name, alone=True)[0])
        for name in FORMS
    }


def main() -> None:
    print("| sound | file | at the cuts, dBFS | elsewhere, dBFS | at the cuts, each song by itself |")
    print("|---|---|--:|--:|--:|")
    found = []
    for label, sound, rate_hz in sounds():
        found.append(rows_of(sound, rate_hz))
        for name, (near, away, alone) in found[-1].items():
            print(f"| {label} | {name} | {near:.1f} | {away:.1f} | {alone:.1f} |", flush=True)
    tone, *pieces = found
    if pieces:  # without the music there is no table for the guide
        worst = {name: tuple(max(each) for each in zip(*(one[name] for one in pieces), strict=True)) for name in FORMS}
        record("conversion", "joins", [(name, *(f"{v:.1f}" for v in (*tone[name], *worst[name]))) for name in FORMS])


if __name__ == "__main__":
    main()
