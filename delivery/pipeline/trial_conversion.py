"""Trial conversion of the loud passages: how high a master's peaks are after rate conversion.

Conversion removes the band above half the lower rate, and a peak that this band held down rises. The master's figures
do not predict by how much, so the loud passages are converted and measured: first a few hundredths of a second around
each of the highest peaks; then, if a limit is near, every second loud enough to reach it. A piece is cut at an instant
both rates share and has more audio around it than the length of the converter's filter, so its samples equal those of
the whole.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from delivery import __version__
from delivery.audio.blocks import open_sound
from delivery.audio.facts import SoundFacts
from delivery.chain import render_steps as steps
from delivery.chain.prediction import frames_at_cut
from delivery.chain.render import render
from delivery.chain.stream import Place
from delivery.errors import DeliveryError, Unfinished
from delivery.ledger.cache import MeasurementCache
from delivery.meters import measure_blocks, meters_version
from delivery.model.chain import Chain
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Source
from delivery.model.trial import ConvertedPeaks
from delivery.pipeline.read_spans import Span, read_spans
from delivery.pipeline.sources import Progress, side_by_side

Array = NDArray[np.float64]
Key = tuple[tuple[int, ...], int, int, bool]
"""Positions of the songs of a stream, rates, and whether it is cut into songs."""
Peaks = tuple[ConvertedPeaks | None, ...]
"""Peaks of each song of a stream; None if a song is silent or had nothing loud enough to look at."""

AROUND_S = 0.01
"""Audio before and after a piece. libsoxr's filter reaches less than 5 ms at every rate: with 10 ms the samples of a
piece are those of the whole conversion, within 3e-10 of full scale (tests/pipeline/test_trial_conversion.py)."""
PLACE_S = 0.02
"""Span examined before and after each of the highest peaks."""
PIECE_S = 8
"""Long spans are converted in pieces, so that memory does not grow with length."""
FADE_FRAMES = 256
"""A piece fades in and out within its surroundings: an edge would ring between the samples."""
GROWTH_DB = 3.0
"""Assumed growth of a peak where no trial has been made: more than was found in clipped music and noise."""
UNSEEN_DB = 0.5
"""Growth elsewhere beyond that at the highest peaks; nothing in 24 trials of clipped sound."""
SILENCE_DBFS = -200.0


@dataclass(frozen=True, slots=True)
class Stream:
    """Masters converted as one: a single song, or songs joined without a gap."""

    sources: tuple[Source, ...]
    from_hz: int
    to_hz: int
    cut: bool = True
    """Each song becomes its own file; False: they stay one file."""

    @property
    def key(self) -> Key:
        """What identifies its conversion."""
        return tuple(source.track.position for source in self.sources), self.from_hz, self.to_hz, self.cut

    @property
    def content(self) -> str:
        """Hash of the audio, for the cache key."""
        return "".join(source.sha256 for source in self.sources)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A trial to make."""

    stream: Stream
    limit_dbfs: float
    """Lowest level that matters: peaks known to be below it need not be exact."""


def peaks_of(wanted: Wanted) -> Peaks:
    """As `converted_peaks`."""
    return converted_peaks(wanted.stream, wanted.limit_dbfs)


def try_conversions(
    wanted: Sequence[Wanted],
    cache: MeasurementCache | None,
    workers: int,
    progress: Progress,
    peaks: Callable[[Wanted], Peaks] = peaks_of,
) -> dict[Key, Peaks]:
    """Make each trial once, for the lowest of its limits.

    Parameters
    ----------
    peaks : makes a trial, here or elsewhere

    A master that can no longer be read gives no peaks; the next step that reads it reports why.
    """
    todo: dict[Key, Wanted] = {}
    for one in wanted:
        before = todo.get(one.stream.key)
        if before is None or one.limit_dbfs < before.limit_dbfs:
            todo[one.stream.key] = one
    if not todo:
        return {}
    work: Callable[[Wanted], Peaks] = lambda one: _kept(one, cache, peaks)  # noqa: E731
    found = side_by_side(work, list(todo.values()), workers, "trying conversions", progress)
    return dict(zip(todo, found, strict=True))


def _kept(wanted: Wanted, cache: MeasurementCache | None, peaks: Callable[[Wanted], Peaks]) -> Peaks:
    """From the cache, or tried and stored there."""
    stream = wanted.stream
    what = f"{stream.from_hz} to {stream.to_hz}, limit {wanted.limit_dbfs:.3f}, {'cut' if stream.cut else 'one file'}"
    version = f"{meters_version()}, delivery {__version__}, {what}"
    kept = cache.get(stream.content, version) if cache else None
    if kept:
        return tuple(ConvertedPeaks(*row) if row else None for row in kept.value("converted_peaks"))
    try:
        found = peaks(wanted)
    except Unfinished:
        raise
    except DeliveryError:
        return tuple(None for _ in stream.sources)
    if cache:
        rows = tuple(astuple(one) if one else () for one in found)
        cache.put(stream.content, version, Measurement({"converted_peaks": Reading(rows)}))
    return found


def converted_peaks(stream: Stream, limit_dbfs: float) -> Peaks:
    """Highest peaks of each song of *stream* after rate conversion.

    Parameters
    ----------
    limit_dbfs : peaks near it are found exactly; of lower ones a few are examined

    Raises
    ------
    Unreadable : a master cannot be read to its end
    """
    trial = _Trial(stream)
    trial.look([_around_highest(source) for source in stream.sources], compare=True)
    tried = math.isfinite(trial.growth_db)
    growth_db = max(0.0, trial.growth_db) + UNSEEN_DB if tried else GROWTH_DB
    more = [_loud_seconds(source, limit_dbfs - growth_db) for source in stream.sources]
    if any(more):
        trial.look(more)
    return trial.found()


def finished(
    source: Source,
    chain: Chain,
    names: Collection[str],
    cache: MeasurementCache | None,
    place: Place | None = None,
) -> Measurement:
    """Figures of the file that *chain* makes of *source*: made in a temporary folder, measured and deleted.

    Parameters
    ----------
    names : figures wanted; those of the same meters are included
    place : in the stream of songs that it is part of

    Raises
    ------
    what rendering raises
    """
    version = f"{meters_version()}, delivery {__version__}, {' '.join(sorted(names))} of {chain.steps} {chain.target}"
    version += f", with {place.stream.content}" if place else ""
    kept = cache.get(source.sha256, version) if cache else None
    if kept:
        return kept
    assert source.measurement
    with TemporaryDirectory(prefix="delivery-") as folder:
        file = Path(folder) / f"trial.{chain.target.container}"
        render(source.track.file, chain, file, source.measurement.value("audio_hash"), place)
        with open_sound(file, count=False) as sound:
            found = measure_blocks(sound.facts, sound.blocks(), only=names)
    if cache:
        cache.put(source.sha256, version, found)
    return found


def _around_highest(source: Source) -> list[Span]:
    """Spans around the separate peaks that the meters kept."""
    measured = source.measurement
    assert measured
    rate_hz, reach = measured.value("rate_hz"), round(PLACE_S * measured.value("rate_hz"))
    places = measured.value("highest_places") or ()
    at = [round(at_s * rate_hz) for at_s, _, _ in places]
    return _merged((max(0, frame - reach), min(measured.value("frames"), frame + reach)) for frame in sorted(at))


def _highest_dbtp(source: Source, span: Span) -> float:
    """True peak of the highest of these peaks in *span*; infinite if none of them lies there."""
    assert source.measurement
    rate_hz = source.measurement.value("rate_hz")
    places = source.measurement.value("highest_places") or ()
    return max((dbtp for at_s, _, dbtp in places if span[0] <= round(at_s * rate_hz) <= span[1]), default=math.inf)


def _loud_seconds(source: Source, least_dbtp: float) -> list[Span]:
    """Seconds whose true peak reaches the given level."""
    measured = source.measurement
    assert measured
    rate_hz, frames = measured.value("rate_hz"), measured.value("frames")
    curve: Sequence[float] = measured.value("peak_curve_dbtp") or ()
    loud = [second for second, dbtp in enumerate(curve) if dbtp >= least_dbtp]
    return _merged(
        (second * rate_hz, min(frames, (second + 1) * rate_hz)) for second in loud if second * rate_hz < frames
    )


def _merged(spans: Iterable[Span]) -> list[Span]:
    """Spans in order, touching ones merged."""
    merged: list[Span] = []
    for begins, ends in spans:
        if merged and begins <= merged[-1][1]:
            merged[-1] = merged[-1][0], max(ends, merged[-1][1])
        else:
            merged.append((begins, ends))
    return merged


class _Trial:
    """The highest peaks of each song so far, and the largest growth found where the master was measured too."""

    def __init__(self, stream: Stream) -> None:
        self._stream = stream
        self._best: list[ConvertedPeaks | None] = [None] * len(stream.sources)
        self._offsets = list(itertools.accumulate((_frames(source) for source in stream.sources), initial=0))
        self.growth_db = -math.inf

    def found(self) -> Peaks:
        return tuple(self._best)

    def look(self, spans: Sequence[Sequence[Span]], *, compare: bool = False) -> None:
        """Convert and measure *spans*, in frames from the start of each song.

        Parameters
        ----------
        compare : the spans are around peaks that the meters kept: note how much these grow, as ``growth_db``
        """
        pieces = [(song, piece) for song, each in enumerate(spans) for span in each for piece in self._cut(song, span)]
        around = [self._with_surroundings(piece) for _, piece in pieces]
        read = read_spans(self._stream.sources, self._stream.from_hz, around)
        for (song, piece), (begins, _), block in zip(pieces, around, read, strict=True):
            found = self._measure(song, piece, begins, block)
            if found and compare:
                offset = self._offsets[song]
                before = _highest_dbtp(self._stream.sources[song], (piece[0] - offset, piece[1] - offset))
                self.growth_db = max(self.growth_db, found.true_peak_dbtp - before)

    def _cut(self, song: int, span: Span) -> Iterator[Span]:
        offset, most = self._offsets[song], PIECE_S * self._stream.from_hz
        for begins in range(span[0], span[1], most):
            yield offset + begins, offset + min(span[1], begins + most)

    def _with_surroundings(self, piece: Span) -> Span:
        """The piece with its surroundings, beginning at an instant both rates share."""
        from_hz = self._stream.from_hz
        period, around = from_hz // math.gcd(from_hz, self._stream.to_hz), round(AROUND_S * from_hz)
        return (piece[0] - around) // period * period, piece[1] + around

    def _measure(self, song: int, piece: Span, begins: int, block: Array) -> ConvertedPeaks | None:
        """Measure one piece, given as the audio of the stream from frame *begins* on."""
        from_hz, to_hz = self._stream.from_hz, self._stream.to_hz
        converted = steps.rated(block, from_hz, to_hz)
        first = begins * to_hz // from_hz
        song_begins, song_ends = (self._converted(self._offsets[at]) - first for at in (song, song + 1))
        start, stop = max(song_begins, piece[0] * to_hz // from_hz - first), piece[1] * to_hz // from_hz + 1 - first
        stop = min(song_ends, stop)
        magnitudes = np.abs(converted[start:stop]).max(axis=1, initial=0.0)
        if not magnitudes.any():
            return None
        edges = (song_begins, song_ends) if self._stream.cut else (-first, self._converted(self._offsets[-1]) - first)
        at = int(magnitudes.argmax())
        found = ConvertedPeaks(
            20 * math.log10(float(magnitudes[at])),
            _true_peak_dbtp(converted, to_hz, (start, stop), edges),
            (start + at - song_begins) / to_hz,
        )
        self._best[song] = _higher(self._best[song], found)
        return found

    def _converted(self, frame: int) -> int:
        return frames_at_cut(frame, self._stream.from_hz, self._stream.to_hz)


def _higher(best: ConvertedPeaks | None, found: ConvertedPeaks) -> ConvertedPeaks:
    if best is None:
        return found
    at_s = found.at_s if found.sample_peak_dbfs > best.sample_peak_dbfs else best.at_s
    return ConvertedPeaks(
        max(best.sample_peak_dbfs, found.sample_peak_dbfs), max(best.true_peak_dbtp, found.true_peak_dbtp), at_s
    )


def _true_peak_dbtp(x: Array, rate_hz: int, piece: Span, edges: Span) -> float:
    """True peak of the frames *piece* of *x*; the surroundings fade, for a cut would ring, except at the ends of the
    file."""
    begins, ends = max(edges[0], piece[0] - FADE_FRAMES, 0), min(edges[1], piece[1] + FADE_FRAMES, len(x))
    part = x[begins:ends].copy()
    if begins > edges[0]:
        part[: piece[0] - begins] *= _rising(piece[0] - begins)
    if ends < edges[1]:
        part[len(part) - (ends - piece[1]) :] *= _rising(ends - piece[1])[::-1]
    facts = SoundFacts(Path(), "wav", "RIFF", "float", rate_hz, part.shape[1], len(part), 64, 0)
    found = measure_blocks(facts, [part], only=("true_peak_dbtp",)).value("true_peak_dbtp")
    return SILENCE_DBFS if found is None else float(found)


def _rising(frames: int) -> Array:
    return np.sin(np.linspace(0, np.pi / 2, frames, endpoint=False))[:, None] ** 2


def _frames(source: Source) -> int:
    assert source.measurement
    return int(source.measurement.value("frames"))
