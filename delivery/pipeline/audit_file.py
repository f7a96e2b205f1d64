"""One file of a catalogue: what is measured of it, and which requirements it does not meet as it is.

`audited` is all the work on a file: a function of its path alone, so that it runs in any process on any machine.
"""

from __future__ import annotations

import base64
import functools
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.facts import METERED_FRAMES, refused_by_system
from delivery.dsp.likeness.landmarks import Found, Landmarks
from delivery.dsp.likeness.same_recording import decibels
from delivery.meters import figures, measure_blocks, sources_digest
from delivery.model.audit import TABLE_FIGURES
from delivery.model.carried import LABEL_COPY
from delivery.model.dual_mono import dual_mono_figures
from delivery.model.figure import Measurement, Reading, Subject
from delivery.model.finding import Answer, Finding
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.model.track import Track
from delivery.rules import Scope, judge, rules

if TYPE_CHECKING:
    from collections.abc import Iterable

    from delivery.meters.meter import Array

VERSION = 1
"""Of what `audited` returns besides figures."""
KEYS, FRAMES, LEVELS, TAGS = "landmark_keys", "landmark_frames", "level_curve", "isrcs_in_tags"
PER_DB = 100
"""Steps of the kept level curve."""
LABEL_COPY_FACTS = frozenset({"track", "release"})


@functools.cache
def audit_version() -> str:
    """What a kept result is valid for: the meters and everything else that `audited` reads with."""
    return f"{sources_digest('meters', 'dsp', 'audio', 'model', 'tags', 'formats')}, audit {VERSION}"


def audited(path: str) -> Measurement:
    """Measure a file in one pass: every figure that a rule may need, its landmarks, its level curve, codes in its tags.

    Raises
    ------
    Unreadable : it cannot be decoded to its end
    """
    from delivery.formats.carried import items_of

    file = Path(path)
    try:
        with open_sound(file, count=False) as sound:
            landmarks = Landmarks(sound.facts.rate_hz, sound.facts.channels)
            blocks = sound.blocks(METERED_FRAMES)
            measured = measure_blocks(sound.facts, _shared(blocks, landmarks))
    except OSError as problem:
        raise refused_by_system(file, problem) from problem
    found = landmarks.result()
    codes = [item.text for item in items_of(file) if item.kind == LABEL_COPY and item.field == "isrc"]
    return Measurement(
        {
            **{name: reading for name, reading in measured.items() if name in kept_figures()},
            KEYS: Reading(_text(found.keys.astype("<u8"))),
            FRAMES: Reading(_text(found.frames.astype("<i4"))),
            LEVELS: Reading(_text(_levels(measured.value("gating_powers")))),
            TAGS: Reading(tuple(codes)),
        }
    )


def landmarks_of(measurement: Measurement) -> Found:
    """The landmarks in what `audited` returned."""
    keys, frames = (base64.b64decode(measurement.value(name)) for name in (KEYS, FRAMES))
    return Found(np.frombuffer(keys, "<u8"), np.frombuffer(frames, "<i4"))


def levels_of(measurement: Measurement) -> NDArray[np.int16]:
    """The level curve in what `audited` returned: hundredths of a dB, every 0.1 s."""
    return np.frombuffer(base64.b64decode(measurement.value(LEVELS)), "<i2")


def powers_from(levels: NDArray[np.int16]) -> list[float]:
    """The mean squares of a stored level curve."""
    powers: list[float] = (10 ** (levels / (10 * PER_DB))).tolist()
    return powers


@functools.cache
def kept_figures() -> frozenset[str]:
    """Figures that are printed or that a rule about one file needs; long rows for pictures are left out."""
    by_rule = {name for rule in rules().values() for name in (*rule.needs, *rule.aided, rule.at)}
    printed = {figure.name for figure in figures().values() if figure.subject is not Subject.MATERIAL}
    return frozenset((by_rule | printed | {"audio_hash", "third_octave_db", *TABLE_FIGURES}) & set(figures()))


def narrowed(spec: Spec, *, with_label_copy: bool) -> Spec:
    """*spec* with the requirements that a file can answer as it lies: by its sound, and its track in a release file."""
    known = {*figures(), *(LABEL_COPY_FACTS if with_label_copy else ())}
    return _only(spec, Scope.TRACK, known)


def of_release(spec: Spec) -> Spec:
    """*spec* with the requirements that a release file can answer by itself: its label copy and codes."""
    return _only(spec, Scope.RELEASE, {"release"})


def _only(spec: Spec, scope: Scope, known: set[str]) -> Spec:
    by_id = rules()
    kept = (
        requirement
        for requirement in spec.requirements
        if by_id[requirement.rule].scope is scope and known.issuperset(by_id[requirement.rule].needs)
    )
    return replace(spec, requirements=tuple(kept))


def judged(
    spec: Spec, measurement: Measurement, release: Release | None = None, track: Track | None = None
) -> tuple[Finding, ...]:
    """Findings about a file as it is, without the conversions that *spec* permits.

    Parameters
    ----------
    spec : as `narrowed` made it
    release, track : of the release file that names it
    """
    facts = dict(dual_mono_figures(spec, measurement))
    if release is None or track is None:
        return judge(spec, facts, scope=Scope.TRACK, track=None, waivers=())
    facts |= {"track": Reading(track), "release": Reading(release)}
    accepted = tuple(each for each in release.accepted if each.is_about(measurement.value("audio_hash")))
    return judge(spec, facts, scope=Scope.TRACK, track=track.position, waivers=release.waivers, accepted=accepted)


def release_judged(spec: Spec, release: Release) -> tuple[Finding, ...]:
    """Findings about a release file; *spec* as `of_release` made it."""
    facts = {"release": Reading(release)}
    return judge(spec, facts, scope=Scope.RELEASE, track=None, waivers=release.waivers)


def is_open(finding: Finding) -> bool:
    """Whether a table of findings has a row for it."""
    return finding.answer not in (Answer.MET, Answer.ACCEPTED)


def _shared(blocks: Iterable[Array], landmarks: Landmarks) -> Iterator[Array]:
    for block in blocks:
        landmarks.update(block)
        yield block


def _levels(powers: object) -> NDArray[np.int16]:
    if not isinstance(powers, (tuple, list)) or not len(powers):
        return np.zeros(0, "<i2")
    return np.rint(PER_DB * decibels(powers)).astype("<i2")


def _text(values: NDArray[np.generic]) -> str:
    return base64.b64encode(values.tobytes()).decode("ascii")
