"""Spans of masters that are joined without a gap, read from their files. Performs I/O."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from delivery.audio.forward import forward
from delivery.chain.plan import COPIED
from delivery.model.part import Source

Array = NDArray[np.float64]
Span = tuple[int, int]
"""First frame and one past the last."""


def read_spans(sources: Sequence[Source], rate_hz: int, spans: Sequence[Span]) -> Iterator[Array]:
    """The audio of each span, (frames, channels), with silence before the first song and after the last.

    Of files that can be entered anywhere only the spans are read. Each file is open while spans of it are wanted.

    Parameters
    ----------
    sources : measured masters of one rate
    spans : counted from the start of the first song; none begins before the one before it

    Raises
    ------
    Unreadable : a master cannot be read to the end of a span
    """
    edges = list(itertools.accumulate(map(_frames, sources), initial=0))
    songs = list(itertools.pairwise(edges))
    shares = [[_share(span, song) for span in spans if _meet(span, song)] for song in songs]
    parts = [_parts(*pair, rate_hz) for pair in zip(sources, shares, strict=True)]
    channels = _channels(sources[0])
    for span in spans:
        found = [next(part) for part, song in zip(parts, songs, strict=True) if _meet(span, song)]
        before, after = min(span[1], 0) - min(span[0], 0), max(span[1], edges[-1]) - max(span[0], edges[-1])
        yield np.concatenate([np.zeros((before, channels)), *found, np.zeros((after, channels))])


def _meet(span: Span, song: Span) -> bool:
    return span[0] < song[1] and song[0] < span[1]


def _share(span: Span, song: Span) -> Span:
    """The part of *span* that lies in *song*, counted from its start."""
    return max(span[0], song[0]) - song[0], min(span[1], song[1]) - song[0]


def _parts(source: Source, spans: Sequence[Span], rate_hz: int) -> Iterator[Array]:
    """The spans of one song; its file is opened for the first of them and closed with the last."""
    copied = source.measurement is not None and bool(source.measurement.value(COPIED))
    with forward(source.track.file, rate_hz) as sound:
        reading = (sound.read(begins, ends - begins) for begins, ends in spans)
        both = (np.repeat(part, 2, axis=1) if copied else part for part in reading)
        waiting = next(both)
        for part in both:
            yield waiting
            waiting = part
    yield waiting


def _channels(source: Source) -> int:
    assert source.measurement
    return int(source.measurement.value("channels"))


def _frames(source: Source) -> int:
    assert source.measurement
    return int(source.measurement.value("frames"))
