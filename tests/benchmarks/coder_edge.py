"""What lossy coders leave, before and after a conversion of rate: in how many pieces it is found.

The band edge (`early_edge_hz`) and the zeros in their frames (`lossy_coder`) are searched.

Run ``python -m tests.benchmarks.coder_edge FOLDER`` after ``python -m tests.benchmarks.free_music FOLDER``; pytest
does not collect it. Music rendered without loss is coded by opusenc, lame and FFmpeg and decoded by FFmpeg; released
music is taken as its unknown encoders left it. The half that is held out is used, or with ``--tuning`` the other. Clean
are the rendered pieces, sounds made by code, and noise of full band through rate converters. ``--record`` writes the
tables of the guide.
"""

from __future__ import annotations

import argparse
import subprocess
import tempfile
import zlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks import free_music, intervals
from tests.benchmarks.converters import converted
from tests.benchmarks.discontinuities import stored
from tests.benchmarks.figures import record
from tests.benchmarks.planted.material import synthetic
from tests.benchmarks.planted.processing_history import dithered, limited
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
SECONDS = 15.0
EVERY, CODED = 2, 12
OPUSENC = ("opusenc", "--quiet", "--bitrate")
LAME = ("lame", "--quiet")
FFMPEG = ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a")
CODERS: dict[str, tuple[str, ...]] = {
    "Opus 64 (opusenc)": (*OPUSENC, "64", "{in}", "{out}.opus"),
    "Opus 96 (FFmpeg)": (*FFMPEG, "libopus", "-b:a", "96k", "{out}.opus"),
    "Opus 128 (opusenc)": (*OPUSENC, "128", "{in}", "{out}.opus"),
    "Opus 192 (FFmpeg)": (*FFMPEG, "libopus", "-b:a", "192k", "{out}.opus"),
    "Opus 256 (opusenc)": (*OPUSENC, "256", "{in}", "{out}.opus"),
    "MP3 128 (LAME)": (*LAME, "-b", "128", "{in}", "{out}.mp3"),
    "MP3 192 (LAME)": (*LAME, "-b", "192", "{in}", "{out}.mp3"),
    "MP3 V2 (LAME)": (*LAME, "-V", "2", "{in}", "{out}.mp3"),
    "MP3 256 (LAME)": (*LAME, "-b", "256", "{in}", "{out}.mp3"),
    "MP3 320 (LAME)": (*LAME, "-b", "320", "{in}", "{out}.mp3"),
    "MP3 192 (Shine)": (*FFMPEG, "libshine", "-b:a", "192k", "{out}.mp3"),
    "AAC 96 (FFmpeg)": (*FFMPEG, "aac", "-b:a", "96k", "{out}.m4a"),
    "AAC 128 (FFmpeg)": (*FFMPEG, "aac", "-b:a", "128k", "{out}.m4a"),
    "AAC 192 (FFmpeg)": (*FFMPEG, "aac", "-b:a", "192k", "{out}.m4a"),
    "AAC 256 (FFmpeg)": (*FFMPEG, "aac", "-b:a", "256k", "{out}.m4a"),
    "Vorbis q3": (*FFMPEG, "libvorbis", "-q:a", "3", "{out}.ogg"),
    "Vorbis q6": (*FFMPEG, "libvorbis", "-q:a", "6", "{out}.ogg"),
    "Vorbis q8": (*FFMPEG, "libvorbis", "-q:a", "8", "{out}.ogg"),
}
AS_RELEASED = "Vorbis of 64 to 320 kbit/s, as released"
LIVES = ("as decoded", "limited, 16 bits", "converted in rate by sox", "converted by FFmpeg")
CLEAN = (
    "tracker music, rendered without loss",
    "music-like sounds made by code",
    "noise of full band, lowered to 44.1 kHz by libsoxr, sox or FFmpeg",
)
NOISE_HZ = (48_000, 88_200, 96_000, 192_000)


def coded(sound: Array, rate_hz: int, command: tuple[str, ...], folder: Path) -> tuple[Array, int]:
    """Through an encoder and FFmpeg's decoder."""
    given, made, back = folder / "in.wav", folder / "out", folder / "back.wav"
    soundfile.write(given, sound.clip(-1, 1), rate_hz, subtype="PCM_24")
    subprocess.run([part.format(**{"in": given, "out": made}) for part in command], check=True, capture_output=True)
    coded_file = made.with_suffix(Path(command[-1]).suffix)
    decode = ["ffmpeg", "-v", "error", "-y", "-i", str(coded_file), "-c:a", "pcm_f32le", str(back)]
    subprocess.run(decode, check=True, capture_output=True)
    return soundfile.read(back, always_2d=True)


class Found(NamedTuple):
    """What a file shows: an early edge, and the coder that is named, or none."""

    edge: bool
    coder: str

    @property
    def frames(self) -> bool:
        return self.coder != "none"

    @property
    def either(self) -> bool:
        return self.edge or self.frames


def shown(sound: Array, rate_hz: int, bits: int) -> Found:
    """What is found in (frames, channels) of that word length."""
    found = measure_blocks(
        facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=["early_edge_hz", "lossy_coder"]
    )
    return Found(bool(found.value("early_edge_hz")), found.value("lossy_coder") or "none")


def lives(sound: Array, rate_hz: int, rng: np.random.Generator) -> dict[str, Found]:
    """What is found in each of LIVES; the beginning is cut off, so that frames begin anywhere."""
    other_hz = 44_100 if rate_hz == 48_000 else 48_000
    sound = 0.89 * sound[int(rng.integers(0, 3000)) :]
    found = {
        LIVES[0]: shown(dithered(sound, 24, rng), rate_hz, 24),
        LIVES[1]: shown(stored(limited(sound, rate_hz), 16, rng), rate_hz, 16),
    }
    for life, by in zip(LIVES[2:], ("sox", "FFmpeg"), strict=True):
        found[life] = shown(dithered(converted(sound, rate_hz, other_hz, by), 24, rng), other_hz, 24)
    return found


def _rng(*names: str) -> np.random.Generator:
    return np.random.default_rng(zlib.crc32("/".join(names).encode()))


def coded_pieces(root: Path, held_out: bool, most: int, folder: Path) -> Iterator[tuple[str, dict[str, Found]]]:
    """What every coder leaves of every second piece, up to so many; all pieces as they are come as CLEAN[0]."""
    for number, piece in enumerate(free_music.pieces(root, held_out=held_out, kind=free_music.RENDERED)):
        sound, rate_hz = free_music.read(root, piece, SECONDS)
        yield CLEAN[0], lives(sound, rate_hz, _rng(piece.name))
        for coder, command in CODERS.items() if number % EVERY == 0 and number < EVERY * most else ():
            decoded, at_hz = coded(sound, rate_hz, command, folder)
            yield coder, lives(decoded, at_hz, _rng(piece.name, coder))


def others(root: Path, held_out: bool) -> Iterator[tuple[str, dict[str, Found]]]:
    """What was released by unknown encoders, and what was never coded."""
    for piece in free_music.pieces(root, held_out=held_out, kind=free_music.RELEASED):
        sound, rate_hz = free_music.read(root, piece, SECONDS)
        yield AS_RELEASED, lives(sound, rate_hz, _rng(piece.name))
    for each in synthetic(range(int(held_out), 2, 2)):
        yield CLEAN[1], lives(each.sound, each.rate_hz, _rng(each.kind))
    for rate_hz in NOISE_HZ:
        for by in ("libsoxr", "sox", "FFmpeg"):
            rng = _rng(by, str(rate_hz))
            lowered = converted(0.1 * rng.standard_normal((10 * rate_hz, 1)), rate_hz, 44_100, by)
            yield CLEAN[2], {LIVES[0]: shown(dithered(lowered, 24, rng), 44_100, 24)}


def _share(found: list[dict[str, Found]], sign: str, chosen: Sequence[str]) -> str:
    """Share of the pieces, in those of these lives that they had, in which there is that sign."""
    of_each = [[getattr(by_life[life], sign) for life in chosen if life in by_life] for by_life in found]
    return intervals.found([(sum(each), len(each)) for each in of_each])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where free_music was unpacked")
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--coded", type=int, default=CODED, help="rendered pieces to code, of every second one")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    found: dict[str, list[dict[str, Found]]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        trials = coded_pieces(given.folder, not given.tuning, given.coded, Path(folder))
        for what, by_life in chain(others(given.folder, not given.tuning), trials):
            found[what].append(by_life)
            print(what, {life: tuple(one) for life, one in by_life.items()}, flush=True)
    tables = {
        name: [[coder, *(_share(found[coder], sign, [life]) for life in LIVES)] for coder in (*CODERS, AS_RELEASED)]
        for name, sign in (("coder-edge", "edge"), ("coder-frames", "frames"), ("coder-either", "either"))
    }
    tables["false-coder-edge"] = [
        [kind, *(_share(found[kind], sign, chosen) for sign in ("edge", "frames") for chosen in (LIVES[:2], LIVES[2:]))]
        for kind in CLEAN
    ]
    for name, table in tables.items():
        print(f"\n{name}")
        for row in table:
            print("| " + " | ".join(row) + " |")
        if given.record:
            record("history", name, table)


if __name__ == "__main__":
    main()
