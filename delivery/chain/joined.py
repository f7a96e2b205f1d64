"""Which songs continue into each other and are therefore made in one piece. Pure.

Only steps that look beyond a single sample need this: rate conversion, error feedback, lossy encoders. All others treat
each song by itself, and a song that needs no step stays bit-identical.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from delivery.chain.prediction import frames_at_cut
from delivery.dsp.writing.dither import settling_frames
from delivery.model.album import Cut, Join
from delivery.model.chain import Chain, Step, StepKind

FEW = 4
"""Songs of a stream that are named one by one."""
_OF_A_MASTER = ("from_bits", "frames_before")


@dataclass(frozen=True, slots=True)
class Song:
    """The fields that decide whether a song is made in one piece with its neighbour."""

    position: int
    """Position on the release."""
    frames: int
    rate_hz: int
    channels: int
    """Frames, rate and channels of the master."""
    chain: Chain


def streams(songs: Sequence[Song | None], joins: Sequence[Join]) -> dict[int, tuple[Song, ...]]:
    """For each song made in one piece with others, all songs of that piece in order, itself included; by position.

    Parameters
    ----------
    songs : in track order; None if nothing will be made
    joins : between neighbours, as the album's samples show them
    """
    continues = {(join.before, join.after) for join in joins if continues_by(join)}
    found: list[list[Song]] = []
    for before, song in pairwise([None, *songs]):
        if song is None:
            continue
        if before and (before.position, song.position) in continues and _of_one_piece(before, song):
            found[-1].append(song)
        else:
            found.append([song])
    return {song.position: tuple(songs) for songs in found if len(songs) > 1 and _lasting(songs) for song in songs}


def lenders(songs: Sequence[Song | None], joins: Sequence[Join]) -> dict[int, tuple[Song | None, Song | None]]:
    """For each song converted beside a neighbour of another rate: the one before it and the one after.

    Such songs are not one stream, since each rate has its own clock; but neither meets silence at the cut.
    """
    continues = {(join.before, join.after) for join in joins if continues_by(join)}
    found: dict[int, tuple[Song | None, Song | None]] = {}
    for before, after in pairwise(songs):
        if before and after and (before.position, after.position) in continues and _of_unlike_rates(before, after):
            found[before.position] = (found.get(before.position, (None, None))[0], after)
            found[after.position] = (before, None)
    chains = {song.position: song.chain for song in songs if song}
    return {position: lent for position, lent in found.items() if _borrows(chains[position])}


def continues_by(join: Join) -> bool:
    """True if a gap of 0 is stated; or none is stated and the audio continues across the cut, proven or likely."""
    if join.gap_s is not None:
        return join.gap_s == 0
    return join.cut in (Cut.CONTINUOUS, Cut.UNPROVEN)


def cut_from_stream(chain: Chain, stream: Sequence[Song], position: int, numbers: Mapping[int | None, str]) -> Chain:
    """*chain* with the song's place in the stream added to its first step that looks beyond a sample.

    Parameters
    ----------
    numbers : printed track number by position
    """
    before = sum(song.frames for song in stream if song.position < position)
    named = _companions(stream, position, numbers)
    first = next(step for step in chain.steps if looks_around(step))
    because = f"{first.because}; in one piece with {named} (joined without a gap)"
    marked = replace(first, because=because, settings={**first.settings, "frames_before": before})
    return replace(chain, steps=tuple(marked if step is first else step for step in chain.steps))


def _companions(stream: Sequence[Song], position: int, numbers: Mapping[int | None, str]) -> str:
    """'tracks 1 and 2', for few others; for more, 'the rest of tracks 1 to 14', the same length for every song."""
    if len(stream) > FEW:
        return f"the rest of tracks {numbers[stream[0].position]} to {numbers[stream[-1].position]}"
    *head, last = [numbers[song.position] for song in stream if song.position != position]
    return f"tracks {', '.join(head)} and {last}" if head else f"track {last}"


def beside(chain: Chain, lent: Sequence[Song | None], numbers: Mapping[int | None, str]) -> Chain:
    """*chain* with the neighbours of another rate added to its first step that looks beyond a sample."""
    first = next(step for step in chain.steps if looks_around(step))
    named = " and ".join(f"track {numbers[song.position]} at {song.rate_hz / 1000:g} kHz" for song in lent if song)
    settings = {"frames_before": 0, **first.settings}
    marked = replace(first, because=f"{first.because}; beside {named} (joined without a gap)", settings=settings)
    return replace(chain, steps=tuple(marked if step is first else step for step in chain.steps))


def cut_alike(chain: Chain, like: Chain) -> Chain:
    """*chain*, planned again for another gain, cut from its stream as *like* is."""
    marked = next((step for step in like.steps if "frames_before" in step.settings), None)
    if marked is None:
        return chain
    return replace(chain, steps=tuple(marked if step.kind is marked.kind else step for step in chain.steps))


def alike(kind: StepKind, one: Chain, other: Chain) -> bool:
    """True if both take that step with the same settings, whatever the masters' bit depths; or neither takes it."""
    each = [chain.step(kind) for chain in (one, other)]
    settings = [{key: step.settings[key] for key in step.settings if key not in _OF_A_MASTER} for step in each if step]
    return len(settings) != 1 and settings[:1] == settings[1:]


def feeds_back(chain: Chain) -> bool:
    """True if rounding depends on the errors of earlier samples: noise shaping."""
    rounding = chain.step(StepKind.REQUANTISE)
    return rounding is not None and settling_frames(rounding.settings["dither"]) > 0


def looks_around(step: Step) -> bool:
    """True if the step's output for a sample depends on its neighbours."""
    if step.kind is StepKind.REQUANTISE:
        return settling_frames(step.settings["dither"]) > 0
    return step.kind in (StepKind.RATE, StepKind.ENCODE)


def _of_one_piece(one: Song, other: Song) -> bool:
    forms = [(song.rate_hz, song.channels, song.chain.target.rate_hz) for song in (one, other)]
    return forms[0] == forms[1] and all(any(map(looks_around, song.chain.steps)) for song in (one, other))


def _of_unlike_rates(one: Song, other: Song) -> bool:
    """True for files of one form made from masters that differ only in rate."""
    forms = [(song.channels, song.chain.target.rate_hz) for song in (one, other)]
    return one.rate_hz != other.rate_hz and forms[0] == forms[1]


def _borrows(chain: Chain) -> bool:
    return any(step.kind in (StepKind.RATE, StepKind.ENCODE) for step in chain.steps)


def _lasting(songs: Sequence[Song]) -> bool:
    """True if every song has at least one sample at the new rate; a song of one sample might not."""
    cuts = [0]
    for song in songs:
        cuts.append(cuts[-1] + song.frames)
    at = [frames_at_cut(cut, songs[0].rate_hz, songs[0].chain.target.rate_hz) for cut in cuts]
    return all(before < after for before, after in pairwise(at))
