"""How much a lossy coder changes the level: tones, noise of many frequencies, free music.

    python -m tests.benchmarks.coder_levels

Sixteen tones of 1 s (440 to 3333 Hz at -3 to -30 dBFS), 8 s of noise from 200 to 4000 Hz at -20 dBFS, and 10 s of each
of three pieces of free music, where a Debian package of it is installed. Only with the music does the table go into the
guide.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from delivery.audio.codecs import CODECS, CodedForm
from tests.audio.test_encode import band_noise, decoded, encoded, tone_gains_db
from tests.benchmarks.figures import markdown, record, tables
from tests.music import PIECES, loud_master
from tests.signals import Array

MUSIC_S, MUSIC_PEAK_DBFS = 10.0, -3.0
"""The peak leaves room for what AAC adds; its encoder lowers frames above -0.45 dBFS by itself."""
EDGE = 8_000
"""Frames at either end that are left out: the coder's own start and end."""


def constant_rates(least_kbps: int, most_kbps: int) -> list[CodedForm]:
    known: Sequence[int] = CODECS["mp3"].kbps(44_100, 2)  # type: ignore[misc]
    return [CodedForm("mp3", 44_100, 2, kbps) for kbps in known if least_kbps <= kbps <= most_kbps]


def variable_rates(first: int, last: int) -> list[CodedForm]:
    return [CodedForm("mp3", 44_100, 2, vbr_quality=quality) for quality in range(first, last + 1)]


def coders() -> dict[str, list[CodedForm]]:
    """Row of the table -> the forms it sums up."""
    return {
        "MP3 128 to 320 kbit/s": constant_rates(128, 320),
        "MP3 32 to 112 kbit/s": constant_rates(32, 112),
        "MP3 V0 to V4": variable_rates(0, 4),
        "MP3 V5": variable_rates(5, 5),
        "MP3 V6 to V9": variable_rates(6, 9),
        **{f"AAC {kbps} kbit/s": [CodedForm("aac", 44_100, 2, kbps)] for kbps in (256, 128, 64)},
        **{f"Opus {kbps} kbit/s": [CodedForm("opus", 48_000, 2, kbps)] for kbps in (256, 128, 64)},
    }


def change_db(folder: Path, form: CodedForm, sound: Array) -> float:
    """Level of the decoded copy over that of *sound*, (frames, channels), in dB."""
    copy = decoded(encoded(folder, form, sound))
    return float(20 * np.log10(copy[EDGE:-EDGE].std() / sound[EDGE:-EDGE].std()))


@cache
def music() -> tuple[Array, ...]:
    """Three pieces; each coder takes their samples at its own rate, since the level alone is compared."""
    return tuple(loud_master(piece, MUSIC_S, MUSIC_PEAK_DBFS)[0] for piece in PIECES[:3])


def span(changes_db: Sequence[float]) -> str:
    """'-0.002 to +0.001', or one value where they print alike; empty without any."""
    texts = list(dict.fromkeys(f"{round(change, 3) + 0.0:+.3f}" for change in sorted(changes_db)))
    return " to ".join(dict.fromkeys((texts[0], texts[-1]))) if texts else ""


def row(name: str, forms: Sequence[CodedForm], folder: Path) -> tuple[str, ...]:
    tones = [tone_gains_db(folder, form) for form in forms]
    noises = [change_db(folder, form, band_noise(form.rate_hz, 8, 200, 4_000, -20)) for form in forms]
    pieces = [change_db(folder, form, piece) for form in forms for piece in music()]
    means = [float(gains.mean()) for gains in tones]
    single = max(float(np.abs(gains).max()) for gains in tones)
    return name, span(means), f"{single:.3f}", span(noises), span(pieces)


def main() -> None:
    rows = []
    for name, forms in coders().items():
        with TemporaryDirectory(prefix="levels-") as folder:
            rows.append(row(name, forms, Path(folder)))
        print(" | ".join(rows[-1]), flush=True)
    if len(PIECES) >= 3:
        record("conversion", "level-after-encoding", rows)
        print(markdown(tables("conversion")["level-after-encoding"]))


if __name__ == "__main__":
    main()
