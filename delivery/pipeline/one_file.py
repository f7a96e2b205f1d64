"""One sound file and one spec without a release: which requirements are met, and the steps that would meet them.

Requirements about label copy, names, artwork and the album are left out: they need a release.
"""

from __future__ import annotations

from dataclasses import replace

from delivery.chain import plan as planner
from delivery.formats import containers
from delivery.meters import figures
from delivery.model.chain import Chain
from delivery.model.dual_mono import dual_mono_figures
from delivery.model.figure import Measurement
from delivery.model.finding import Finding
from delivery.model.release import Waiver
from delivery.model.spec import Spec
from delivery.rules import Scope, rules
from delivery.rules import judge as judge_facts


def judge(spec: Spec, measurement: Measurement, waivers: tuple[Waiver, ...] = ()) -> tuple[Finding, ...]:
    """Judge *measurement* by *spec*'s requirements on audio: at least one finding for each.

    The file is judged as it is, without the conversions that the spec permits; ``plan`` gives those.

    Parameters
    ----------
    measurement : as ``delivery.measure`` returns it
    waivers : musts that pass although they are not met

    Returns
    -------
    Findings by rule id, then place.
    """
    facts = dict(dual_mono_figures(spec, measurement))
    return judge_facts(sound_only(spec), facts, scope=Scope.TRACK, track=None, waivers=waivers)


def plan(spec: Spec, measurement: Measurement) -> Chain:
    """The fewest steps from the measured master to the file that *spec* requires.

    The planner takes only steps that the spec permits: judge the outcome, not the plan.
    """
    return planner.plan(spec, measurement, containers())


def sound_only(spec: Spec) -> Spec:
    """*spec* with only the requirements that a sound file can answer by itself."""
    by_id, known = rules(), set(figures())
    answerable = tuple(
        requirement
        for requirement in spec.requirements
        if by_id[requirement.rule].scope is Scope.TRACK and known.issuperset(by_id[requirement.rule].needs)
    )
    return replace(spec, requirements=answerable)
