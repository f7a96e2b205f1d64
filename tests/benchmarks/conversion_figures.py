"""The published page of figures about conversion: measures them again, prints the tables, draws the plots.

    python -m tests.benchmarks.conversion_figures [--into demo/figures]

Methods and limits are those of ``tests/standards/``; here stand the values themselves. Peaks of lossy copies of music
are printed where a Debian package of free music is installed, and left out, loudly, where none is.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from delivery.dsp.writing.dither import CURVES, Requantiser
from delivery.pipeline.after_codec import after_codec, codec_forms
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import take_in
from delivery.report.view.codecs import form_of
from tests.benchmarks.figures import markdown, record, record_values, tables
from tests.benchmarks.svg import Array, Axis, Line, chart
from tests.music import PIECES, loud_master
from tests.signals import noise, sine
from tests.standards import test_dither_theory as theory
from tests.standards import test_rate_conversion as rates

FRAMES = 2_100_000
CODECS = "mp3:320,mp3:128,aac:256,aac:128,opus:128"
SHOWN = ("modified-e-3", "modified-e-9", "improved-e-9", "f-weighted-9")


def db(power: Array | float) -> Array:
    return 10 * np.log10(np.maximum(power, 1e-30))


def stored(name: str, rows: list[tuple[str, ...]]) -> str:
    """Write a table into the guide's page; returns it as Markdown."""
    record("conversion", name, rows)
    return markdown(tables("conversion")[name])


def dither_rows() -> Iterator[tuple[str, ...]]:
    """Moments over ten constant inputs between two steps, and the total noise under a tone."""
    for dither, power, total_db in (("none", 1 / 12, -98.09), ("rpdf", 1 / 6, -95.08), ("tpdf", 1 / 4, -93.32)):
        held = theory.errors(theory.held(), dither)
        tone = theory.errors(sine(440 * np.sqrt(5), 44_100, 10, level_dbfs=-10), dither)
        swing = held.var(axis=0)
        yield (
            dither,
            f"{np.abs(held.mean(axis=0)).max():.4f}",
            f"{swing.min():.4f} to {swing.max():.4f}",
            f"{tone.var():.4f} ({power:.4f})",
            f"{db(tone.var() / 32_768**2 / 0.5):.2f} ({total_db:.2f})",
        )


def curve_rows() -> Iterator[tuple[str, ...]]:
    for curve in CURVES:
        found = theory.errors(np.full((FRAMES, 1), 100.3 / 32_768), curve.name)[:, 0]
        spectrum = db(theory.spectrum(found, 512) / 0.25)[1:-1]
        ideal = db(theory.ntf(curve, 512))[1:-1]
        apart, mean = spectrum - ideal, float(spectrum.mean())
        yield (
            curve.name,
            f"{db(found.var() / 0.25):+.2f}",
            f"{spectrum.min():.1f} at {(int(spectrum.argmin()) + 1) * 22.05 / 512:.1f} kHz",
            f"{spectrum.max():+.1f}",
            f"{np.sqrt((apart**2).mean()):.2f}",
            f"{mean:+.3f}",
        )


def tone_figures() -> tuple[str, str]:
    """Level of a 1 kHz tone at -100 dBFS in 16 bits, and its highest harmonic above the mean noise line."""
    lines = theory.lines(sine(1000, 48_000, 20, level_dbfs=-100), "tpdf")
    noise_line = np.sqrt(4 * 0.25 / (20 * 48_000))
    return (
        f"{20 * np.log10(lines[20_000] / 32_768):.2f}",
        f"{20 * np.log10(lines[40_000::20_000].max() / noise_line):.1f}",
    )


def rate_rows() -> Iterator[tuple[str, ...]]:
    for from_hz, to_hz in rates.PAIRS:
        frequencies_hz = list(np.linspace(50, 20_000, 60))
        x = rates.tones(frequencies_hz, from_hz)
        gains = db((rates.converted(x, from_hz, to_hz) ** 2).mean(axis=0) / (x**2).mean(axis=0))
        quiet = rates.below(noise(from_hz, 2), from_hz, 14_000)
        exact = rates.by_fft(quiet, from_hz, to_hz)
        null = db(((rates.converted(quiet, from_hz, to_hz) - exact) ** 2).sum() / (exact**2).sum())
        yield (
            f"{from_hz / 1000:g} to {to_hz / 1000:g} kHz",
            f"{np.abs(gains).max():.5f}",
            f"{alias_db(from_hz, to_hz):.0f}",
            f"{null:.0f}",
        )


def alias_db(from_hz: int, to_hz: int) -> float:
    """What full-scale tones beyond the new half-rate leave, or the images of tones below the old one, in dBFS."""
    if to_hz < from_hz:
        x = rates.tones(list(np.linspace(to_hz / 2 + 50, from_hz / 2 - 50, 40)), from_hz)
        return float(20 * np.log10(np.abs(rates.converted(x, from_hz, to_hz)).max()))
    x = rates.tones([997.0, 10_000.0, 19_900.0], from_hz)
    y = rates.converted(x, from_hz, to_hz)
    spectrum = np.abs(np.fft.rfft(y, axis=0)) * 2 / len(y)
    return float(20 * np.log10(spectrum[np.fft.rfftfreq(len(y), 1 / to_hz) > from_hz / 2].max()))


def changes_db(x: Array, rate_hz: int, folder: Path) -> list[float]:
    path = folder / "master.wav"
    soundfile.write(path, x, rate_hz, "PCM_24")
    trials = after_codec(take_in(bare_tracks((path,)), None, 1), codec_forms(CODECS), workers=2)[1]
    return [trial.change_db for trial in trials]


def codec_rows() -> Iterator[tuple[str, ...]]:
    """Change of the true peak: hard-clipped noise (five seeds), and loud masters made of each piece of music."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        clipped = [0.89 * np.clip(noise(44_100, 5, level_dbfs=-6, seed=seed), -1, 1) for seed in range(5)]
        of_noise = np.array([changes_db(x, 44_100, folder) for x in clipped])
        of_music = np.array([changes_db(*loud_master(piece, 20.0), folder) for piece in PIECES])
    for at, form in enumerate(codec_forms(CODECS)):
        music = of_music[:, at] if len(of_music) else np.full(1, np.nan)
        yield (
            form_of(form),
            f"{np.median(of_noise[:, at]):+.2f}",
            f"{of_noise[:, at].max():+.2f}",
            f"{np.median(music):+.2f}",
            f"{music.max():+.2f}",
        )


def shaped_plot() -> str:
    hz = np.arange(1, 512) * 22_050 / 512
    lines = []
    for name in ("tpdf", *SHOWN):
        found = theory.errors(np.full((FRAMES, 1), 100.3 / 32_768), name)[:, 0]
        lines.append(Line(name, hz, db(theory.spectrum(found, 512)[1:-1] / 0.25)))
    for curve in CURVES:
        if curve.name in SHOWN:
            lines.append(Line("", hz, db(theory.ntf(curve, 512)[1:-1])))
    across = Axis("frequency, Hz, at 44.1 kHz", (0, 4000, 8000, 12_000, 16_000, 20_000, 22_000))
    up = Axis("noise against flat dither, dB", (-40, -30, -20, -10, 0, 10, 20, 30, 40))
    drawn = [*lines[:5], *(Line("published", line.x, line.y) for line in lines[-1:])]
    return chart("Spectra of the dithers: 16-bit words, measured; one published curve over its own", across, up, drawn)


def tone_plot() -> str:
    """Spectra of a tone below the last bit, with dither; and above it, without."""

    def lines_db(level_dbfs: float, dither: str) -> Array:
        tone = sine(1000, 48_000, 20, level_dbfs=level_dbfs)
        integers = (Requantiser(16, dither, 48_000, 1, "theory").update(tone)[:, 0] >> 16) / 32_768
        return db(
            theory.spectrum(integers, 2400) * 6 / 4800
        )  # under a Hann window of 4800 a full-scale sine reads 0 dB

    hz = np.arange(2401) * 10.0
    keep = slice(10, 1001)
    across = Axis("frequency, Hz", (100, 200, 500, 1000, 2000, 5000, 10_000), logarithmic=True)
    up = Axis("dB re a full-scale sine", (-160, -150, -140, -130, -120, -110, -100, -90, -80))
    drawn = [
        Line("-90 dBFS, rounded without dither", hz[keep], lines_db(-90, "none")[keep]),
        Line("-100 dBFS, TPDF dither", hz[keep], lines_db(-100, "tpdf")[keep]),
    ]
    return chart("1 kHz about the last of 16 bits: harmonics without dither, none with it", across, up, drawn)


def passband_plot() -> str:
    """From an impulse on an instant both rates share."""
    drawn = []
    for from_hz, to_hz in ((96_000, 44_100), (48_000, 44_100), (96_000, 48_000), (44_100, 48_000)):
        common = int(np.gcd(from_hz, to_hz))
        shared = common // 10 or 1  # so many instants both rates share: a tenth of a second
        x = np.zeros((2 * shared * from_hz // common, 1))
        x[shared * from_hz // common] = 1.0
        y = rates.converted(x, from_hz, to_hz)[:, 0] * from_hz / to_hz
        hz = np.fft.rfftfreq(len(y), 1 / to_hz)
        keep = (hz > 20) & (hz <= min(from_hz, to_hz) / 2 * 0.97)
        step = max(1, int(keep.sum()) // 400)
        drawn.append(
            Line(
                f"{from_hz / 1000:g} to {to_hz / 1000:g}",
                hz[keep][::step],
                db(np.abs(np.fft.rfft(y)) ** 2)[keep][::step],
            )
        )
    across = Axis("frequency, Hz", (0, 4000, 8000, 12_000, 16_000, 18_000, 20_000, 22_000, 24_000))
    up = Axis("gain, dB", (-0.05, -0.04, -0.03, -0.02, -0.01, 0, 0.01, 0.02))
    return chart("Passband of the rate conversions (0.01 dB a line)", across, up, drawn)


def alias_plot() -> str:
    """The loudest sample that is left of a full-scale tone, by the tone's frequency."""
    drawn = []
    for from_hz, to_hz in ((96_000, 44_100), (96_000, 48_000), (192_000, 44_100)):
        hz = np.concatenate(
            [np.linspace(1000, 20_000, 20), np.linspace(20_200, 26_000, 60), np.linspace(26_500, 47_500, 43)]
        )
        y = rates.converted(rates.tones(list(hz), from_hz), from_hz, to_hz)
        drawn.append(Line(f"{from_hz / 1000:g} to {to_hz / 1000:g} kHz", hz, 20 * np.log10(np.abs(y).max(axis=0))))
    across = Axis("frequency of a full-scale tone, Hz", (0, 8000, 16_000, 22_050, 28_000, 36_000, 44_000, 48_000))
    up = Axis("highest sample of the result, dBFS", (-220, -180, -140, -100, -60, -20, 20))
    return chart(
        "What rate conversion leaves of tones: below the new half-rate all, above it nothing", across, up, drawn
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--into", type=Path, default=Path(__file__).resolve().parents[2] / "demo" / "figures")
    into = parser.parse_args().into
    into.mkdir(parents=True, exist_ok=True)
    plots = {"dither": shaped_plot, "tone": tone_plot, "passband": passband_plot, "aliases": alias_plot}
    for name, draw in plots.items():
        (into / f"{name}.svg").write_text(draw(), encoding="utf-8", newline="\n")
    print(stored("dither", list(dither_rows())), "\n")
    level, harmonic = tone_figures()
    record_values("conversion", "tone-under-dither", {"level": level, "harmonic": harmonic})
    print(markdown(tables("conversion")["tone-under-dither"]), "\n")
    print(stored("noise-shaping", list(curve_rows())), "\n")
    print(stored("resampling", list(rate_rows())), "\n")
    rows = list(codec_rows())
    if PIECES:
        print(stored("peaks-after-encoding", rows))
    else:
        print("\n".join(" | ".join(row) for row in rows))
        print("\n!!! NOT MEASURED on music: no free music installed (Debian: singularity-music).")


if __name__ == "__main__":
    main()
