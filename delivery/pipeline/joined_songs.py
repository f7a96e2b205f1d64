"""Songs that continue into each other are made in one piece: which they are, and where each one stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from delivery.chain.joined import Song, cut_from_stream, streams
from delivery.chain.stream import Master, Place, Stream
from delivery.model.album import Join
from delivery.model.chain import Chain
from delivery.model.part import Delivery, Part, Source
from delivery.model.spec import Spec


def songs(sources: Sequence[Source], chains: Sequence[Chain | None]) -> list[Song | None]:
    """What decides which of them are made in one piece; None where nothing will be made."""
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


def in_one_piece(
    spec: Spec,
    sources: Sequence[Source],
    chains: Sequence[Chain | None],
    joins: Sequence[Join],
    numbers: Mapping[int | None, str],
) -> tuple[list[Chain | None], list[tuple[int, ...]]]:
    """The chains, cut from their streams, and the positions of each stream; empty for songs that are made alone.

    A disc or side is one file, which joins its songs itself.
    """
    found = streams(songs(sources, chains), joins) if spec.carrier is None else {}
    each = [found.get(source.track.position, ()) for source in sources]
    cut = [
        cut_from_stream(chain, stream, source.track.position, numbers) if chain and stream else chain
        for source, chain, stream in zip(sources, chains, each, strict=True)
    ]
    return cut, [tuple(song.position for song in stream) for stream in each]


def place(planned: Delivery, part: Part) -> Place | None:
    """Where the song of *part* stands among those it is made in one piece with."""
    if len(part.stream) < 2:
        return None
    sources = {source.track.position: source.measurement for source in planned.for_spec(part.spec).sources}
    files = {source.track.position: source.track.file for source in planned.sources}
    chains = {each.track: each.chain for each in planned.of_spec(part.spec)}
    masters = []
    for position in part.stream:
        measured, chain = sources[position], chains[position]
        assert measured
        assert chain
        masters.append(Master(files[position], chain, measured.value("frames"), measured.value("audio_hash")))
    first = sources[part.stream[0]]
    assert first
    stream = Stream(tuple(masters), first.value("rate_hz"), first.value("channels"))
    return Place(stream, part.stream.index(part.track))
