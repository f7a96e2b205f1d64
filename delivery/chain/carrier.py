"""Start and end of every song on a carrier's part, in samples and frames. Pure arithmetic.

A gap is silence, and the song after it begins on a frame, so the silence may be up to a frame longer than stated. A gap
of zero makes the songs one stream: not a sample is inserted, the later song begins where the earlier ends, and its mark
is the frame that contains this instant (a mark must never come late). Marks may be set early and ends late (``Marks``):
they move within the silence; no sample moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, groupby, pairwise

from delivery.chain.joined import alike, feeds_back
from delivery.chain.prediction import converted_frames
from delivery.model.carrier import Carrier, Index, Pressing, Programme, Song
from delivery.model.chain import Chain, StepKind
from delivery.model.release import Release, Track
from delivery.model.subcode import IndexPoint


@dataclass(frozen=True, slots=True)
class Segment:
    """Songs made as one stream: those joined without a gap while the rate changes or noise is shaped.

    Rate conversion looks a few milliseconds around each instant. A song converted by itself would meet silence where
    its neighbour continues, and ring there; so neighbours are converted together. Noise shaping feeds back the errors
    of earlier samples. Every other step works on single samples and treats each song by itself, so a song that needs no
    step gets none.
    """

    songs: tuple[Song, ...]

    @property
    def begins(self) -> int:
        """First frame of the segment in the image."""
        return self.songs[0].begins

    @property
    def length(self) -> int:
        """Length in frames."""
        return self.songs[-1].ends - self.begins


@dataclass(frozen=True, slots=True)
class Marks:
    """Frames by which index 1 precedes a song, and the next index 0 follows it, where the silence is long enough."""

    early: int = 0
    late: int = 0

    def within(self, silence: int) -> tuple[int, int]:
        """Both, limited to the given frames of silence: the early start has priority over the late end."""
        early = min(self.early, silence)
        return early, min(self.late, silence - early)


EXACT = Marks()


def parts_of(release: Release, carrier: Carrier) -> list[tuple[str, tuple[Track, ...]]]:
    """Label and tracks of each disc or side, in release order; without stated sides, everything is on side A."""
    return [(label, tuple(tracks)) for label, tracks in groupby(release.tracks, lambda track: _label(track, carrier))]


def programmes(
    release: Release, spec: str, carrier: Carrier, frames: Mapping[int, int], chains: Mapping[int, Chain]
) -> tuple[Programme, ...]:
    """Plan every part of the carrier.

    Parameters
    ----------
    frames : samples of each master, by track position
    chains : planned steps, by track position
    """
    return tuple(
        _programme(release, spec, carrier, label, tracks, frames, chains)
        for label, tracks in parts_of(release, carrier)
    )


def lay_out(
    lengths: Sequence[int], gaps: Sequence[int], frame: int, marks: Marks = EXACT, pregaps: Sequence[int] = ()
) -> tuple[tuple[Song, ...], int]:
    """Place songs one after another; return them and the total length.

    Parameters
    ----------
    lengths, gaps : samples of each song, and of the silence before it; the first gap precedes the first song
    frame : samples of a frame
    marks : how early and late marks are placed; they change only ``mark`` and ``pause``
    pregaps : samples of each song before its index 1, if any; such a mark is never moved

    Returns
    -------
    Songs whose ``position`` is their number, and the total in samples, a whole number of frames.
    """
    songs: list[Song] = []
    at = 0
    for number, (length, gap, pregap) in enumerate(
        zip(lengths, gaps, pregaps or [0] * len(lengths), strict=True), start=1
    ):
        joined = bool(songs) and gap == 0
        begins = at if joined else _up(at + gap, frame)
        mark = pause = begins // frame
        if not joined:
            silent_from = min(mark, _up(at, frame) // frame)
            early, late = (replace(marks, early=0) if pregap else marks).within(mark - silent_from)
            mark, pause = mark - early, silent_from + (late if songs else 0)
        if pregap:
            mark = (begins + pregap) // frame
        if songs and not joined:
            songs[-1] = replace(songs[-1], padding=_up(at, frame) - at)
        songs.append(Song(number, number, begins, length, 0, mark, pause, joined, pregap=pregap))
        at = begins + length
    total = _up(at, frame)
    if songs:
        songs[-1] = replace(songs[-1], padding=total - at)
    return tuple(songs), total


def gap_samples(gap_s: float | None, rate_hz: int) -> int:
    """A stated gap in samples, halves rounded up; none if none is stated."""
    exact = Fraction(str(gap_s or 0)) * rate_hz
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)


def segments(programme: Programme, chains: Mapping[int, Chain]) -> tuple[Segment, ...]:
    """The streams of a programme, in order."""
    made: list[list[Song]] = []
    for song in programme.songs:
        if made and song.joined and _as_one(chains[made[-1][-1].position], chains[song.position]):
            made[-1].append(song)
        else:
            made.append([song])
    return tuple(Segment(tuple(songs)) for songs in made)


def _as_one(before: Chain, chain: Chain) -> bool:
    return chain.step(StepKind.RATE) is not None or (feeds_back(chain) and alike(StepKind.REQUANTISE, before, chain))


def _programme(
    release: Release,
    spec: str,
    carrier: Carrier,
    label: str,
    tracks: Sequence[Track],
    frames: Mapping[int, int],
    chains: Mapping[int, Chain],
) -> Programme:
    frame, rate_hz = carrier.frame_samples, chains[tracks[0].position].target.rate_hz
    first_pause = _up(gap_samples(carrier.first_pause_s, rate_hz), frame)
    gaps = [gap_samples(track.gap_before_s, rate_hz) for track in tracks]
    gaps[0] = max(0, gaps[0] - first_pause) if carrier.in_frames else 0  # a side begins with its first song
    lengths = list(_lengths(tracks, gaps, frames, chains))
    marks = Marks(carrier.mark_early_frames, carrier.mark_late_frames)
    pregaps = [_pregap(track, carrier, chains[track.position]) for track in tracks]
    songs, total = lay_out(lengths, gaps, frame, marks, pregaps)
    named = tuple(
        replace(song, position=track.position, indices=_indices(track, song, chains[track.position], frame))
        for track, song in zip(tracks, songs, strict=True)
    )
    pressing = _pressing(release, carrier)
    return Programme(spec, label, carrier, pressing, rate_hz, named, total, first_pause // frame)


def _pressing(release: Release, carrier: Carrier) -> Pressing:
    """Size and speed: the release takes precedence over the spec; a disc has neither."""
    if carrier.kind != "vinyl":
        return carrier.pressing
    return Pressing(
        release.pressing.size_inch or carrier.pressing.size_inch,
        release.pressing.speed_rpm or carrier.pressing.speed_rpm,
    )


def _indices(track: Track, song: Song, chain: Chain, frame: int) -> tuple[Index, ...]:
    """Index 2 and later, each in the frame that contains it. A rule checks whether they are possible."""
    places = (song.begins + _samples(point, chain) for point in track.index_points)
    return tuple(Index(number, place // frame, place % frame) for number, place in enumerate(places, start=2))


def _pregap(track: Track, carrier: Carrier, chain: Chain) -> int:
    """Samples of the song before its index 1; marks exist on discs only."""
    return _samples(track.index_1, chain) if track.index_1 and carrier.in_frames else 0


def _samples(point: IndexPoint, chain: Chain) -> int:
    rate, to_hz = chain.step(StepKind.RATE), chain.target.rate_hz
    return point.samples(rate.settings["from_hz"] if rate else to_hz, to_hz)


def _lengths(
    tracks: Sequence[Track], gaps: Sequence[int], frames: Mapping[int, int], chains: Mapping[int, Chain]
) -> Iterator[int]:
    """Lengths of songs at the target's rate; songs of one stream share the rounding of the whole stream."""
    for stream in _streams(tracks, gaps):
        rate = chains[stream[0].position].step(StepKind.RATE)
        ends = list(accumulate(frames[track.position] for track in stream))
        if rate:
            ends = [converted_frames(end, rate.settings["from_hz"], rate.settings["to_hz"]) for end in ends]
        yield from (after - before for before, after in pairwise([0, *ends]))


def _streams(tracks: Sequence[Track], gaps: Sequence[int]) -> list[list[Track]]:
    streams: list[list[Track]] = []
    for track, gap in zip(tracks, gaps, strict=True):
        if streams and gap == 0:
            streams[-1].append(track)
        else:
            streams.append([track])
    return streams


def _label(track: Track, carrier: Carrier) -> str:
    return str(track.disc) if carrier.part == "disc" else track.side or "A"


def _up(samples: int, frame: int) -> int:
    """Round up to the next whole frame."""
    return -(-samples // frame) * frame
