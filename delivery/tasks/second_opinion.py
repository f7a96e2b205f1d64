"""A second opinion on integrated loudness: another library, with filters of its own, measures the same samples.

It reads the whole file into memory, so it runs only on request.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from importlib.metadata import version

import numpy as np

from delivery.audio.blocks import open_sound
from delivery.errors import Unreadable
from delivery.model.part import Source
from delivery.model.second_opinion import SecondOpinion
from delivery.pipeline.sources import Progress, quiet

FILTER = "DeMan"
"""K-weighting designed for each rate; the library's default filters are less exact."""
MOST_CHANNELS = 2
"""Beyond this the two meters disagree about the channel layout."""
MOST_SAMPLES = 250_000_000
"""Samples of all channels: about 20 minutes at 24/96 stereo. The other meter holds the whole file three times in
float64."""
LOUDNESS = "integrated_lufs"


def second_opinions(sources: Sequence[Source], progress: Progress = quiet) -> Mapping[int, SecondOpinion]:
    """Results of the other meter, by the source's position."""
    opinions = {}
    for done, source in enumerate(sources, 1):
        opinions[source.track.position] = second_opinion(source)
        progress(source.track.file.name, done, len(sources))
    return opinions


def second_opinion(source: Source) -> SecondOpinion:
    """Loudness of *source* by the other meter and its difference from ours; or why there is none."""
    program = f"pyloudnorm {version('pyloudnorm')} ({FILTER})"
    why = _unfit(source)
    if why:
        return SecondOpinion(program, why_missing=why)
    try:
        found = _other_lufs(source)
    except Unreadable as fault:
        return SecondOpinion(program, why_missing=str(fault))
    if not math.isfinite(found):
        return SecondOpinion(program, why_missing="it finds nothing above the gates")
    assert source.measurement
    return SecondOpinion(program, found, found - source.measurement.value(LOUDNESS))


def _unfit(source: Source) -> str:
    """Why the comparison makes no sense; empty if it does."""
    if source.measurement is None:
        return source.problem
    if not source.measurement[LOUDNESS].exists:
        return source.measurement[LOUDNESS].why_missing
    channels = source.measurement.value("channels")
    if channels > MOST_CHANNELS:
        return f"{channels} channels, and the other meter is used for one or two"
    too_long = source.measurement.value("frames") * channels > MOST_SAMPLES
    return "too long: the other meter would hold all of it in memory" if too_long else ""


def _other_lufs(source: Source) -> float:
    import pyloudnorm

    with open_sound(source.track.file, count=False) as sound:
        whole = np.concatenate(list(sound.blocks()))
        return float(pyloudnorm.Meter(sound.facts.rate_hz, filter_class=FILTER).integrated_loudness(whole))
