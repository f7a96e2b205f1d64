"""A second opinion on integrated loudness: another library, with filters of its own, hears the same samples.

It reads the whole file into memory, and is only asked when somebody wants to know.
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
"""K-weighting worked out anew for each rate, where the library's default filters are further off."""
MOST_CHANNELS = 2
"""Beyond, the two meters do not agree which channel is which."""
MOST_SAMPLES = 250_000_000
"""Of all channels: about 20 minutes at 24/96 stereo. The other meter holds the whole file, three times, in 64 bits."""
LOUDNESS = "integrated_lufs"


def second_opinions(sources: Sequence[Source], progress: Progress = quiet) -> Mapping[int, SecondOpinion]:
    """What the other meter says, by the source's position."""
    told = {}
    for done, source in enumerate(sources, 1):
        told[source.track.position] = second_opinion(source)
        progress(source.track.file.name, done, len(sources))
    return told


def second_opinion(source: Source) -> SecondOpinion:
    """The other meter's loudness of *source*, and how far it is from ours; or why it has none."""
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
    """Why the question makes no sense; empty when it does."""
    if source.measurement is None:
        return source.problem
    if not source.measurement[LOUDNESS].exists:
        return source.measurement[LOUDNESS].why_missing
    channels = source.measurement.value("channels")
    if channels > MOST_CHANNELS:
        return f"{channels} channels, and it is asked about one or two"
    too_long = source.measurement.value("frames") * channels > MOST_SAMPLES
    return "too long: the other meter would hold all of it in memory" if too_long else ""


def _other_lufs(source: Source) -> float:
    import pyloudnorm

    with open_sound(source.track.file, count=False) as sound:
        whole = np.concatenate(list(sound.blocks()))
        return float(pyloudnorm.Meter(sound.facts.rate_hz, filter_class=FILTER).integrated_loudness(whole))
