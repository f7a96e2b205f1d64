"""Accept a remark about one recording, identified by its audio hash; the acceptance is written into the release file.

An acceptance is not a waiver. A waiver lets a *must* that is not met pass, in a named person's responsibility.
An acceptance states that what a rule *remarks* about this audio is intended; the remark is then not repeated, for every
file made from that master, until one of its samples changes.
"""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import add_acceptance
from delivery.meters import identify
from delivery.model.finding import Answer, Finding, Weight
from delivery.model.release import Acceptance, Track
from delivery.pipeline.request import Request
from delivery.rules import acceptable, rules


def accept(request: Request, release_file: Path, rule: str, position: int, by: str, why: str) -> Acceptance:
    """Accept the remark of *rule* about the track at *position*, and write the acceptance into *release_file*.

    Raises
    ------
    Unusable : unknown rule or track, a rule not about audio, a must in every spec, or accepted already
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    refuse_rule(request, rule)
    track = _track(request, position)
    audio_hash = str(identify(track.file).value("audio_hash"))
    made = Acceptance(rule, position, audio_hash, by.strip(), why.strip())
    for known in request.release.accepted:
        if known.rule == rule and known.is_about(audio_hash):
            found = f"{rule} of track {position} accepted already, by {known.by}"
            raise Unusable(release_file.name, found, "one acceptance", "No action needed.")
    add_acceptance(release_file, made)
    return made


def remarked_tracks(findings: tuple[Finding, ...], rule: str) -> tuple[int, ...]:
    """Positions of the tracks on which *rule* gives a remark, in order."""
    return tuple(
        sorted({one.track for one in findings if one.rule == rule and one.answer is Answer.NOT_MET and one.track})
    )


def refuse_rule(request: Request, name: str) -> None:
    """Refuse a rule that cannot be accepted.

    Raises
    ------
    Unusable : unknown rule, a rule not about one file's audio, or a must in every spec
    """
    rule = rules().get(name)
    if rule is None:
        raise Unusable(
            name, "no such rule", "the id of a rule", "Take it from the rule column of what 'delivery check' prints."
        )
    if not acceptable(rule):
        remedy = "Correct the release file, or waive it: delivery waive."
        raise Unusable(name, "a rule about names, codes or the release", "a rule about one file's sound", remedy)
    required = [requirement for spec in request.specs if (requirement := spec.required().get(rule.id))]
    if required and rule.weight is Weight.FACT and all(requirement.must for requirement in required):
        remedy = f"Waive it instead: delivery waive RELEASE {name}:TRACK --by NAME --why TEXT"
        raise Unusable(name, "a must in every spec", "something that is only remarked", remedy)


def _track(request: Request, position: int) -> Track:
    try:
        return request.release.track(position)
    except KeyError:
        wanted = f"a position from 1 to {len(request.release.tracks)}"
        raise Unusable(request.release.path.name, f"track {position}", wanted, "Count through all discs.") from None
