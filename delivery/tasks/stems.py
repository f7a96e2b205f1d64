"""Stems against the main mix: their sum, and which of them is at fault."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.facts import SoundFacts
from delivery.audio.forward import Forward, forward
from delivery.compare.stem_faults import Windows, stem_faults
from delivery.errors import Unusable
from delivery.model.stem_check import StemCheck, StemFault
from delivery.pipeline.sound_files import sound_files
from delivery.pipeline.sources import Progress, quiet

Array = NDArray[np.float64]

WINDOWS, WINDOW_S, MARGIN_S = 12, 3.0, 0.5
SUMS_DB = -60.0
"""Stems whose sum differs by less add up. Common practice, no source."""
FLOOR_DB = -200.0


def check_stems(main: Path, paths: Sequence[Path], progress: Progress = quiet) -> StemCheck:
    """Add up the stems and compare the sum with *main*.

    Parameters
    ----------
    paths : sound files, or folders of them; the main is left out where it lies among them

    Raises
    ------
    Unusable : fewer than two stems, or a file that is no sound file
    """
    files = [file for path in paths for file in sound_files(path) if file.resolve() != main.resolve()]
    if len(files) < 2:
        raise Unusable("--stems", f"{len(files)} stem", "two or more", "Name the files, or their folder.")
    facts, own = sound_facts(main), {file: sound_facts(file) for file in files}
    names = [file.stem for file in files]
    unlike = tuple(_unlike(facts, own))
    residual_db = _residual_db(main, files, facts, {}, progress)
    if residual_db is None or residual_db <= SUMS_DB:
        return StemCheck(main.name, tuple(names), facts.rate_hz, residual_db, unlike=unlike)
    faults = stem_faults(names, _windows(main, files, facts))
    mended = _residual_db(main, files, facts, dict(zip(names, _by_name(names, faults), strict=True)), progress)
    return StemCheck(main.name, tuple(names), facts.rate_hz, residual_db, faults, mended if faults else None, unlike)


def _by_name(names: Sequence[str], faults: Sequence[StemFault]) -> list[StemFault]:
    own = {fault.stem: fault for fault in faults}
    return [own.get(name, StemFault(name, 0, 0.0, inverted=False)) for name in names]


def _unlike(main: SoundFacts, stems: Mapping[Path, SoundFacts]) -> Iterator[str]:
    for file, facts in stems.items():
        if facts.rate_hz != main.rate_hz:
            yield f"{file.name} has {facts.rate_hz} Hz, the main {main.rate_hz} Hz."
        elif facts.frames != main.frames:
            way = "longer" if facts.frames > main.frames else "shorter"
            yield f"{file.name} is {abs(facts.frames - main.frames)} samples {way} than the main."
        if facts.channels != main.channels:
            yield f"{file.name} has {facts.channels} channel{'' if facts.channels == 1 else 's'}, not {main.channels}."


def _residual_db(
    main: Path, stems: Sequence[Path], facts: SoundFacts, faults: Mapping[str, StemFault], progress: Progress
) -> float | None:
    """Of the whole, with these faults corrected; None where the main is silent."""
    left = whole = 0.0
    rate_hz = facts.rate_hz
    with ExitStack() as files:
        mix, *parts = (files.enter_context(forward(file, rate_hz)) for file in (main, *stems))
        starts = range(0, facts.frames, rate_hz)
        for done, start in enumerate(starts):
            progress("adding up stems", done, len(starts))
            frames = min(rate_hz, facts.frames - start)
            rest = mix.read(start, frames).T.copy()
            whole += float(np.einsum("ij,ij->", rest, rest))
            for file, part in zip(stems, parts, strict=True):
                rest -= _mended(part, start, frames, faults.get(file.stem), len(rest))
            left += float(np.einsum("ij,ij->", rest, rest))
    if not whole:
        return None
    return max(FLOOR_DB, 10 * float(np.log10(left / whole))) if left else FLOOR_DB


def _mended(stem: Forward, start: int, frames: int, fault: StemFault | None, channels: int) -> Array:
    """(channels, frames) of a stem at its right place; mono goes to every channel."""
    late, gain = (fault.late_frames, 10 ** (-fault.gain_db / 20)) if fault else (0, 1.0)
    planar = stem.read(start + late, frames).T * (-gain if fault and fault.inverted else gain)
    return planar if len(planar) == channels else np.broadcast_to(planar.mean(axis=0), (channels, frames))


def _windows(main: Path, stems: Sequence[Path], facts: SoundFacts) -> Windows:
    """Spread over the main; the channels added up."""
    rate_hz = facts.rate_hz
    margin = round(MARGIN_S * rate_hz)
    frames = min(round(WINDOW_S * rate_hz), max(facts.frames - 2 * margin, 1))
    starts = np.linspace(0, max(facts.frames - frames - 2 * margin, 0), WINDOWS).astype(int).tolist()
    found = []
    for file in (main, *stems):
        with forward(file, rate_hz) as sound:
            found.append(np.stack([_one_channel(sound.read(start, frames + 2 * margin)) for start in starts]))
    return Windows(found[0], np.stack(found[1:]), margin)


def _one_channel(sound: Array) -> Array:
    """The first and 0.7 of the second; a mono stem as it goes to both."""
    return sound[:, 0] + 0.7 * sound[:, -1]
