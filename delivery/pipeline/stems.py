"""Sum the stems of each song and compare the sum with the main mix."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from contextlib import ExitStack

import numpy as np

from delivery.audio.blocks import open_sound
from delivery.errors import Unreadable
from delivery.model.part import Source
from delivery.model.stems import StemSum

STEM = re.compile(r"\bstems?\b", re.IGNORECASE)
COMPARED = {"rate_hz": "sample rate", "channels": "number of channels", "frames": "length"}
FLOOR_DB = -200.0
"""Stands for a residual of zero; 32-bit samples reach -193 dB."""


def stem_sums(sources: Sequence[Source]) -> tuple[StemSum, ...]:
    """One for each title that has stems, in the order of the release.

    A stem is a track with the word "stem" in its version; its main mix is the track of the same title without version.
    """
    stems: dict[str, list[Source]] = defaultdict(list)
    mains: dict[str, Source] = {}
    for source in sources:
        title = source.track.title.casefold()
        if STEM.search(source.track.version):
            stems[title].append(source)
        elif not source.track.version:
            mains.setdefault(title, source)
    return tuple(_sum(mains.get(title), found) for title, found in stems.items())


def _sum(main: Source | None, stems: Sequence[Source]) -> StemSum:
    title, positions = stems[0].track.title, tuple(stem.track.position for stem in stems)
    if main is None:
        why = "no main mix: a track of the same title without a version"
        return StemSum(title, positions, why_missing=why)
    if why := _unlike(main, stems):
        return StemSum(title, positions, main.track.position, why_missing=why)
    try:
        residual_db = _residual_db(main, stems)
    except Unreadable as problem:
        return StemSum(title, positions, main.track.position, why_missing=str(problem))
    why = "the main mix is silent" if residual_db is None else ""
    return StemSum(title, positions, main.track.position, residual_db, why)


def _unlike(main: Source, stems: Sequence[Source]) -> str:
    """Why they cannot be summed sample by sample; empty if they can."""
    for source in (main, *stems):
        if source.measurement is None or main.measurement is None:
            return f"track {source.track.position} could not be measured"
        for figure, words in COMPARED.items():
            if source.measurement.value(figure) != main.measurement.value(figure):
                return f"track {source.track.position} differs from the main mix in {words}"
    return ""


def _residual_db(main: Source, stems: Sequence[Source]) -> float | None:
    """RMS of the sum minus the main mix, relative to the main mix, in dB; None if the main mix is silent.

    Raises
    ------
    Unreadable : a file that could be read before can no longer be read
    """
    left = whole = 0.0
    with ExitStack() as files:
        opened = [files.enter_context(open_sound(source.track.file)) for source in (main, *stems)]
        for mix, *parts in zip(*(sound.blocks() for sound in opened), strict=True):
            left += float(np.square(sum(parts) - mix).sum())
            whole += float(np.square(mix).sum())
    if not whole:
        return None
    return max(FLOOR_DB, 10 * float(np.log10(left / whole))) if left else FLOOR_DB
