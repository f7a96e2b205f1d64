"""Facts and findings about one part, predicted or written, and about the release as the parts make it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from delivery.chain.prediction import predict
from delivery.formats import containers
from delivery.model.album import ALBUM_LOUDNESS
from delivery.model.approval import ApprovalState
from delivery.model.carried import Item
from delivery.model.chain import Chain, StepKind
from delivery.model.dual_mono import dual_mono_figures
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Finding
from delivery.model.part import Part, Source, unapproved
from delivery.model.release import Acceptance, Release
from delivery.model.spec import Spec
from delivery.pipeline.album import loudness_of
from delivery.rules import Scope, judge

TAGS_READ, KINDS_KEPT = "tags_read", "kinds_kept"
"""Facts that describe what a file carries besides audio, and what the spec lets through."""


def release_facts(
    release: Release,
    spec: Spec,
    sources: tuple[Source, ...],
    parts: tuple[Part, ...],
    album: Mapping[str, float],
    artwork: Reading,
) -> dict[str, Reading]:
    """Facts for the rules about the release itself."""
    tracks = tuple(
        (source.track, predicted_figures(source, part.chain) if source.measurement else Measurement({}))
        for source, part in zip(sources, parts, strict=True)
    )
    return {
        "release": Reading(_as_approved(release, sources)),
        "tracks": Reading(tracks),
        "album": Reading(album) if album else Reading.missing("not every track could be measured"),
        ALBUM_LOUDNESS: album_loudness(spec, sources, parts),
        "artwork": artwork,
        "approval": Reading(_approval_state(release, sources)),
    }


def album_as_shipped(
    release: Release, spec: Spec, sources: tuple[Source, ...], parts: tuple[Part, ...]
) -> tuple[Finding, ...]:
    """Judge *spec*'s requirements on album loudness again on the written files; empty if it has none."""
    required = tuple(requirement for requirement in spec.requirements if requirement.rule == ALBUM_LOUDNESS)
    facts = {ALBUM_LOUDNESS: album_loudness(spec, sources, parts)}
    only = replace(spec, requirements=required)
    return judge(only, facts, scope=Scope.RELEASE, track=None, waivers=release.waivers)


def album_loudness(spec: Spec, sources: tuple[Source, ...], parts: tuple[Part, ...]) -> Reading:
    """Loudness of written files, and of the predicted others, as one programme."""
    return loudness_of(_songs(sources, parts), dual_mono=spec.dual_mono)


def gain_db(part: Part) -> float:
    """Gain in a part's chain in dB; 0.0 if it has none."""
    step = part.chain.step(StepKind.GAIN) if part.chain else None
    return float(step.settings["gain_db"]) if step else 0.0


def judge_file(
    release: Release, spec: Spec, source: Source, measurement: Measurement, name: str
) -> tuple[Finding, ...]:
    """Findings about one file, planned or written, by *spec*'s requirements on tracks."""
    facts = {
        **dual_mono_figures(spec, measurement),
        "track": Reading(source.track),
        "release": Reading(release),
        "name": Reading(name),
    }
    return judge(
        spec,
        facts,
        scope=Scope.TRACK,
        track=source.track.position,
        waivers=release.waivers,
        accepted=_about(source, release),
    )


def tags_read(chain: Chain, items: tuple[Item, ...]) -> Reading:
    """Tags and chunks in the file; not measured for a copy whose container's tags cannot be read here, such as W64."""
    container = chain.target.container
    known = containers().get(container)
    if known and (known.tag_formats or not chain.step(StepKind.COPY)):
        return Reading(items)
    return Reading.missing(f"what a {container.upper()} file carries besides its sound is not read here")


def predicted_figures(source: Source, chain: Chain | None) -> Measurement:
    """What a planned file is expected to measure."""
    assert source.measurement
    assert chain
    return predict(source.measurement, chain)


def _about(source: Source, release: Release) -> tuple[Acceptance, ...]:
    """Acceptances about this master's samples: they apply to every file made from it."""
    audio_hash = source.measurement.value("audio_hash") if source.measurement else None
    return tuple(acceptance for acceptance in release.accepted if acceptance.is_about(audio_hash))


def _as_approved(release: Release, sources: tuple[Source, ...]) -> Release:
    """*release* without an approval that was given for other audio."""
    return replace(release, approval=None) if unapproved(release, sources) else release


def _approval_state(release: Release, sources: tuple[Source, ...]) -> ApprovalState:
    hashes = {source.track.position: source.audio_hash for source in sources}
    return ApprovalState(release.approval, hashes, release.track_count)


def _songs(sources: tuple[Source, ...], parts: tuple[Part, ...]) -> list[tuple[int, Measurement | None, float]]:
    """Each song's written file, or its master with the planned gain."""
    return [
        (part.track, part.shipped.measurement, 0.0) if part.shipped else (part.track, source.measurement, gain_db(part))
        for source, part in zip(sources, parts, strict=True)
    ]
