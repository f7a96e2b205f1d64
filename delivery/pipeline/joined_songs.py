"""Songs joined without a gap are made in one piece: which songs, and the place of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from delivery.chain.joined import Song, beside, cut_from_stream, lenders, streams
from delivery.chain.stream import Master, Place, Stream
from delivery.model.album import Join
from delivery.model.chain import Chain
from delivery.model.part import Delivery, Part, Source
from delivery.model.spec import Spec


def songs(sources: Sequence[Source], chains: Sequence[Chain | None]) -> list[Song | None]:
    """The fields that decide which songs are made in one piece; None if nothing will be made."""
    return [
        Song(
            source.track.position,
            source.measurement.value("frames"),
            source.measurement.value("rate_hz"),
            source.measurement.value("channels"),
            chain,
        )
        if chain and source.measurement
        else None
        for source, chain in zip(sources, chains, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class Together:
    """How a song is made together with its neighbours."""

    chain: Chain | None
    stream: tuple[int, ...] = ()
    """Positions of the songs made in one piece with it, itself included; empty: it is made separately."""
    lenders: tuple[int | None, int | None] = (None, None)
    """Positions of neighbours at another rate whose audio reaches into it."""


def together(
    spec: Spec,
    sources: Sequence[Source],
    chains: Sequence[Chain | None],
    joins: Sequence[Join],
    numbers: Mapping[int | None, str],
) -> list[Together]:
    """For each master its chain, as part of a stream or with its neighbours' audio as context.

    A disc or side is one file, which joins its songs itself.
    """
    if spec.carrier is not None:
        return [Together(chain) for chain in chains]
    all_songs = songs(sources, chains)
    found, lent = streams(all_songs, joins), lenders(all_songs, joins)
    made = []
    for source, chain in zip(sources, chains, strict=True):
        position = source.track.position
        stream, beside_it = found.get(position, ()), lent.get(position, (None, None))
        if chain and stream:
            chain = cut_from_stream(chain, stream, position, numbers)
        if chain and any(beside_it):
            chain = beside(chain, beside_it, numbers)
        before, after = (song.position if song else None for song in beside_it)
        made.append(Together(chain, tuple(song.position for song in stream), (before, after)))
    return made


def place(planned: Delivery, part: Part) -> Place | None:
    """Where *part* begins in its stream; None: it is made by itself."""
    own = part.stream or (part.track,)
    if len(own) < 2 and not any(part.lenders):
        return None
    before, after = (_stream(planned, part.spec, (each,)) if each else None for each in _ends(planned, part, own))
    return Place(replace(_stream(planned, part.spec, own), before=before, after=after), own.index(part.track))


def _ends(planned: Delivery, part: Part, own: tuple[int, ...]) -> tuple[int | None, int | None]:
    """Context for the first and last song of the stream; it may reach into all of them."""
    lent = {each.track: each.lenders for each in planned.of_spec(part.spec)}
    return lent[own[0]][0], lent[own[-1]][1]


def _stream(planned: Delivery, spec: str, positions: Sequence[int]) -> Stream:
    """The masters at *positions*, all of one form, joined without a gap."""
    sources = {source.track.position: source.measurement for source in planned.for_spec(spec).sources}
    files = {source.track.position: source.track.file for source in planned.sources}
    chains = {each.track: each.chain for each in planned.of_spec(spec)}
    masters = []
    for position in positions:
        measured, chain = sources[position], chains[position]
        assert measured
        assert chain
        masters.append(Master(files[position], chain, measured.value("frames"), measured.value("audio_hash")))
    first = sources[positions[0]]
    assert first
    return Stream(tuple(masters), first.value("rate_hz"), first.value("channels"))
