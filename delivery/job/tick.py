"""Ticking a remark as intended: for one recording, by its audio hash, written into the release file.

A tick is no waiver. A waiver lets a shortfall of a *must* through, in somebody's name, whatever the file holds. A tick
says that what a rule *remarks* about this very audio is meant so; the remark is then quiet, for every file made from
that master, until one of its samples changes.
"""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import add_tick
from delivery.job.intent import Intent
from delivery.judge import rules, tickable
from delivery.measure import identify
from delivery.model.finding import Weight
from delivery.model.release import Intended, Track


def tick(intent: Intent, release_file: Path, rule: str, position: int, by: str, why: str) -> Intended:
    """Tick what *rule* remarks about the track at *position*, and keep it in *release_file*.

    Raises
    ------
    Unusable : no such rule or track, a rule that is not about sound, one that every spec makes a must, ticked already
    Faulty, Unfinished : the release file is not right, or cannot be written; nothing is changed
    """
    _refuse_rule(intent, rule)
    track = _track(intent, position)
    audio_hash = str(identify(track.file).value("audio_hash"))
    made = Intended(rule, position, audio_hash, by.strip(), why.strip())
    for known in intent.release.intended:
        if known.rule == rule and known.is_about(audio_hash):
            raise Unusable(release_file.name, f"{rule} ticked already, by {known.by}", "one tick", "Nothing is to do.")
    add_tick(release_file, made)
    return made


def _refuse_rule(intent: Intent, name: str) -> None:
    rule = rules().get(name)
    if rule is None:
        raise Unusable(
            name, "no such rule", "the id of a rule", "Take it from the rule column of what 'delivery check' prints."
        )
    if not tickable(rule):
        remedy = "Correct the release file, or waive it: delivery build --allow-shortfall."
        raise Unusable(name, "a rule about names, codes or the release", "a rule about one file's sound", remedy)
    asked = [requirement for spec in intent.specs if (requirement := spec.asked().get(rule.asks))]
    if asked and rule.weight is Weight.FACT and all(requirement.must for requirement in asked):
        remedy = f"Waive it instead: delivery build --allow-shortfall {name}:TRACK --by NAME --why TEXT"
        raise Unusable(name, "a must in every spec", "something that is only remarked", remedy)


def _track(intent: Intent, position: int) -> Track:
    try:
        return intent.release.track(position)
    except KeyError:
        wanted = f"a position from 1 to {len(intent.release.tracks)}"
        raise Unusable(intent.release.path.name, f"track {position}", wanted, "Count through all discs.") from None
