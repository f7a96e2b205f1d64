"""Plan every part of a spec and judge the predicted result; nothing is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from delivery.audio.codecs import CODECS, encoder_missing
from delivery.chain.album_gain import AlbumGain, album_gain
from delivery.chain.plan import plan
from delivery.chain.prediction import predict
from delivery.formats import containers, extension
from delivery.formats.registry import codec_of
from delivery.model.album import Join
from delivery.model.chain import Chain, StepKind
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Part, Source
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack.names import MAX_BYTES, distinct, fields_of, file_name
from delivery.pipeline import metadata
from delivery.pipeline.album import loudness_together
from delivery.pipeline.joined_songs import together
from delivery.pipeline.judge_part import KINDS_KEPT, TAGS_READ, judge_file, tags_read
from delivery.pipeline.predicted import Trials, expected
from delivery.pipeline.unsettled import unsettled
from delivery.rules.feasible import obstacles


def predict_parts(
    release: Release,
    spec: Spec,
    sources: tuple[Source, ...],
    joins: Sequence[Join],
    found: Trials,
    numbers: Mapping[int | None, str],
) -> tuple[Part, ...]:
    """Plan every track for *spec* and judge the predicted result; nothing is written.

    Parameters
    ----------
    release, sources : as the spec receives them
    joins : between neighbours, as the album's samples show them
    found : peaks found by trial conversions
    numbers : how reports number the tracks, by position
    """
    masters = expected(release, spec, sources, joins, found)
    measured = [(numbers[s.track.position], master) for s, master in zip(sources, masters, strict=True) if master]
    gain = album_gain(spec, measured, loudness_together(sources, dual_mono=spec.dual_mono).value)
    chains = [_chain(spec, master, gain) for master in masters]
    made = together(spec, sources, chains, joins, numbers)
    names = _names(release, spec, sources, [each.chain for each in made])
    return tuple(
        replace(_predict(release, spec, source, master, each.chain, name), stream=each.stream, lenders=each.lenders)
        for source, master, each, name in zip(sources, masters, made, names, strict=True)
    )


def _chain(spec: Spec, master: Measurement | None, gain: AlbumGain | None) -> Chain | None:
    if master is None:
        return None
    if gain is None:
        return plan(spec, master, containers())
    return plan(spec, master, containers(), gain_db=gain.gain_db, gain_because=gain.because)


def _names(release: Release, spec: Spec, sources: tuple[Source, ...], chains: list[Chain | None]) -> tuple[str, ...]:
    most_bytes = spec.limit("name_max_bytes") or MAX_BYTES
    wanted = [
        file_name(
            spec.name_template,
            fields_of(release, source.track, chain.target, spec.id),
            extension(chain.target.container),
            max_bytes=most_bytes,
            ascii_only=bool(spec.limit("name_ascii")),
        )
        if chain
        else f"track {source.track.position}"
        for source, chain in zip(sources, chains, strict=True)
    ]
    return distinct(wanted, max_bytes=most_bytes)


def _predict(
    release: Release, spec: Spec, source: Source, master: Measurement | None, chain: Chain | None, name: str
) -> Part:
    position = source.track.position
    if master is None or chain is None:
        return Part(spec.id, position, None, (), name, problem=source.problem)
    passage, carried = metadata.predict(release, spec, source, chain)
    kept = Reading(metadata.kinds_kept(release, spec, source, chain))
    deliverable = predict(master, chain).with_readings({TAGS_READ: tags_read(chain, carried), KINDS_KEPT: kept})
    findings = judge_file(release, spec, source, deliverable, name)
    stopped = obstacles(spec.id, position, deliverable, chain, _no_encoder(chain))
    open_requirements = () if stopped else unsettled(spec, deliverable, chain)
    return Part(spec.id, position, chain, (*findings, *stopped), name, unsettled=open_requirements, passage=passage)


def _no_encoder(chain: Chain) -> str:
    """Why *chain* cannot be carried out on this machine; empty if it can."""
    coding = codec_of(chain.target.container, chain.target.coding)
    if coding not in CODECS or chain.step(StepKind.COPY) or not encoder_missing(coding):
        return ""
    return f"no encoder for {CODECS[coding].title} on this machine"
