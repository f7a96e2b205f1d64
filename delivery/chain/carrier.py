"""Where every song of a carrier's part begins and ends, in whole samples and frames. Pure, and only sums.

A gap of some length is silence, and the song after it begins on a frame; the silence is what was asked, and less than
a frame more. No gap means that the songs are one stream: nothing is put between them, not a sample, so the later one
begins wherever the earlier one ends, and its mark is the frame that this instant is in (a mark must never come late).
Marks may be asked early and ends late (``Marks``): they move within the silence that is there, and no sample moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, groupby, pairwise

from delivery.chain.joined import alike, feeds_back
from delivery.chain.plan import converted_frames
from delivery.model.carrier import Carrier, Index, Pressing, Programme, Song
from delivery.model.chain import Chain, StepKind
from delivery.model.release import Release, Track
from delivery.model.subcode import IndexPoint


@dataclass(frozen=True, slots=True)
class Segment:
    """Songs that are made as one stream: those that run on into each other while the rate changes or noise is shaped.

    Rate conversion looks a few milliseconds around each instant. A song converted by itself hears silence where its
    neighbour goes on, and rings there; so neighbours are converted together. Noise shaping feeds back the errors of
    the samples before. Every other step looks at single samples and treats each song by itself: what needs nothing
    gets nothing.
    """

    songs: tuple[Song, ...]

    @property
    def begins(self) -> int:
        return self.songs[0].begins

    @property
    def length(self) -> int:
        return self.songs[-1].ends - self.begins


@dataclass(frozen=True, slots=True)
class Marks:
    """Frames by which index 1 stands before a song, and the next index 0 behind it, where there is silence enough."""

    early: int = 0
    late: int = 0

    def within(self, silence: int) -> tuple[int, int]:
        """Both, of so many frames of silence: that a song is never begun late counts before how it ends."""
        early = min(self.early, silence)
        return early, min(self.late, silence - early)


EXACT = Marks()


def parts_of(release: Release, carrier: Carrier) -> list[tuple[str, tuple[Track, ...]]]:
    """Label and tracks of each disc or side, in release order; a release that names no sides is all on side A."""
    return [(label, tuple(tracks)) for label, tracks in groupby(release.tracks, lambda track: _label(track, carrier))]


def programmes(
    release: Release, spec: str, carrier: Carrier, frames: Mapping[int, int], chains: Mapping[int, Chain]
) -> tuple[Programme, ...]:
    """Every part of the carrier, laid out.

    Parameters
    ----------
    frames : samples of each master, by track position
    chains : what will be done to each, by track position
    """
    return tuple(
        _programme(release, spec, carrier, label, tracks, frames, chains)
        for label, tracks in parts_of(release, carrier)
    )


def lay_out(
    lengths: Sequence[int], gaps: Sequence[int], frame: int, marks: Marks = EXACT, pregaps: Sequence[int] = ()
) -> tuple[tuple[Song, ...], int]:
    """Songs one after the other, and how long it all is.

    Parameters
    ----------
    lengths, gaps : samples of each song, and of the silence before it; the first gap is silence in front of all
    frame : samples of a frame
    marks : how early and late marks are asked; they change no place but ``mark`` and ``pause``
    pregaps : samples of each song before its index 1, where any has some; such a mark is never moved

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
    """A stated gap in samples, halves rounded up; none where none is stated."""
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
    """The release's word counts before the spec's; a disc of the same release has no size and no speed to speak of."""
    if carrier.kind != "vinyl":
        return carrier.pressing
    return Pressing(
        release.pressing.size_inch or carrier.pressing.size_inch,
        release.pressing.speed_rpm or carrier.pressing.speed_rpm,
    )


def _indices(track: Track, song: Song, chain: Chain, frame: int) -> tuple[Index, ...]:
    """Index 2 and what follows: each in the frame its place lies in. Whether they are possible is for a rule to say."""
    places = (song.begins + _samples(point, chain) for point in track.index_points)
    return tuple(Index(number, place // frame, place % frame) for number, place in enumerate(places, start=2))


def _pregap(track: Track, carrier: Carrier, chain: Chain) -> int:
    """Samples of the song that stand before its index 1; marks exist on discs alone."""
    return _samples(track.index_1, chain) if track.index_1 and carrier.in_frames else 0


def _samples(point: IndexPoint, chain: Chain) -> int:
    rate, to_hz = chain.step(StepKind.RATE), chain.target.rate_hz
    return point.samples(rate.settings["from_hz"] if rate else to_hz, to_hz)


def _lengths(
    tracks: Sequence[Track], gaps: Sequence[int], frames: Mapping[int, int], chains: Mapping[int, Chain]
) -> Iterator[int]:
    """Samples of each song at the target's rate; songs of one stream share the rounding of the whole stream."""
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
    """The next whole frame."""
    return -(-samples // frame) * frame
