"""Predicted figures of each master under a spec, and the trial conversions they need."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from delivery.chain.carrier import programmes, segments
from delivery.chain.gain import gain_wanted_db
from delivery.chain.joined import streams
from delivery.chain.plan import plan
from delivery.chain.prediction import after_conversion
from delivery.formats import containers
from delivery.formats.capability import peak_ceiling
from delivery.model.album import Join
from delivery.model.chain import Chain, StepKind
from delivery.model.figure import Measurement
from delivery.model.part import Source
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pipeline.joined_songs import songs
from delivery.pipeline.trial_conversion import Key, Peaks, Stream, Wanted

Trials = Mapping[Key, Peaks]


def trials(release: Release, spec: Spec, sources: tuple[Source, ...], joins: Sequence[Join]) -> list[Wanted]:
    """Trial conversions that *spec* needs: none if no rate changes or nothing limits the peaks."""
    chains = _chains(spec, sources)
    limits = {
        source.track.position: _limit_dbfs(spec, source.measurement, chains[source.track.position])
        for source in sources
        if source.measurement and source.track.position in chains
    }
    wanted = []
    for stream in _streams(release, spec, sources, joins, chains):
        limit_dbfs = min(limits[source.track.position] for source in stream.sources)
        if math.isfinite(limit_dbfs):
            wanted.append(Wanted(stream, limit_dbfs))
    return wanted


def expected(
    release: Release, spec: Spec, sources: tuple[Source, ...], joins: Sequence[Join], found: Trials
) -> tuple[Measurement | None, ...]:
    """Each master's figures with its peaks after rate conversion; None for one that could not be measured."""
    peaks = {
        source.track.position: each
        for stream in _streams(release, spec, sources, joins, _chains(spec, sources))
        for source, each in zip(stream.sources, found.get(stream.key, ()), strict=False)
    }
    return tuple(
        after_conversion(source.measurement, peaks.get(source.track.position)) if source.measurement else None
        for source in sources
    )


def _chains(spec: Spec, sources: tuple[Source, ...]) -> dict[int, Chain]:
    """Chains by track position, for every master that can be measured and has only finite samples."""
    return {
        source.track.position: plan(spec, source.measurement, containers()) for source in sources if source.measurement
    }


def _streams(
    release: Release, spec: Spec, sources: tuple[Source, ...], joins: Sequence[Join], chains: Mapping[int, Chain]
) -> Iterator[Stream]:
    """Streams to convert, of all masters that change rate."""
    by_position = {source.track.position: source for source in sources}
    for positions in _together(release, spec, sources, joins, chains):
        group = tuple(by_position[position] for position in positions)
        rates = [chains[position].step(StepKind.RATE) for position in positions]
        forms = {(_value(source, "rate_hz"), _value(source, "channels")) for source in group}
        if rates[0] and len(forms) == 1 and not any(_value(source, "nonfinite_samples") for source in group):
            settings = rates[0].settings
            yield Stream(group, settings["from_hz"], settings["to_hz"], cut=spec.carrier is None)


def _together(
    release: Release, spec: Spec, sources: tuple[Source, ...], joins: Sequence[Join], chains: Mapping[int, Chain]
) -> list[tuple[int, ...]]:
    """Positions of the songs converted as one stream."""
    if spec.carrier is None or len(chains) < len(sources):
        found = streams(songs(sources, [chains.get(source.track.position) for source in sources]), joins)
        firsts = {position: found.get(position) for position in chains}
        return [
            tuple(song.position for song in stream) if stream else (position,)
            for position, stream in firsts.items()
            if not stream or stream[0].position == position
        ]
    frames = {source.track.position: _value(source, "frames") for source in sources}
    laid_out = programmes(release, spec.id, spec.carrier, frames, chains)
    return [
        tuple(song.position for song in segment.songs)
        for programme in laid_out
        for segment in segments(programme, chains)
    ]


def _limit_dbfs(spec: Spec, measurement: Measurement, chain: Chain) -> float:
    """Lowest level, before gain, at which a requirement depends on a peak after conversion; infinite: none does."""
    ceiling = peak_ceiling(chain.target)
    limits = [20 * math.log10(min(ceiling.magnitude, 1.0))] if ceiling else []
    if chain.target.bits or spec.conversions.gain == "down_to_ceiling":
        required = (spec.limit("true_peak_max_dbtp"), spec.limit("sample_peak_max_dbfs"))
        limits += [float(limit) for limit in required if limit is not None]
    return min(limits, default=math.inf) - max(0.0, gain_wanted_db(spec, measurement))


def _value(source: Source, figure: str) -> int:
    assert source.measurement
    return source.measurement.value(figure) or 0
