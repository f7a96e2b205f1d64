"""A verdict and the figure printed beside it never contradict each other, for every rule with a numeric limit.

The judge of each printed number is the rule itself: read back, it must get the answer that the measured one got.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.meters import figures
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding
from delivery.model.spec import bounds_of
from delivery.pipeline.request import numbers
from delivery.report.view.numbers import amount
from delivery.report.view.words import clock_beside
from delivery.rules import Rule, rules
from delivery.rules.bounds import bounded, bounds
from delivery.rules.carrier import minutes
from delivery.rules.verdict import judge
from tests.rules.case_files import requirement, spec_of

FIGURES = figures()
NAMES = numbers()
NEAR = [0.0, *(sign * 4 * 10.0**-power for power in range(1, 8) for sign in (1, -1)), 1.0, -1.0]
"""Distances from an edge: 0.004 is what 1.504 is beyond 1.5."""
_NUMBER = re.compile(r"[+-]?\d[\d,]*(?:\.\d+)?")


def has_edges(rule: Rule) -> bool:
    edges = {"at_least", "at_most"} & set(rule.limit.get("properties", {}))
    return rule.limit.get("type") in ("number", "integer") or bool(edges)


def figure_rules() -> list[Rule]:
    """Rules whose limit has edges, about single numbers."""
    return [rule for rule in rules().values() if has_edges(rule) and rule.needs[0] in NAMES]


def whole(rule: Rule) -> bool:
    """Counts have no decimals, so their printed figure is exact."""
    return rule.limit.get("type") == "integer"


def limit_of(rule: Rule, edge: float, side: str) -> Any:
    schema = rule.limit if "properties" not in rule.limit else rule.limit["properties"]["at_most"]
    edge = max(edge, schema.get("minimum", edge))
    edge = min(edge, schema.get("maximum", edge))
    edge = int(edge) if whole(rule) else edge
    return edge if "properties" not in rule.limit else {side: edge}


EDGES = st.floats(-70, 70).map(lambda edge: round(edge, 2)) | st.sampled_from([1.5, -1.0, 0.0, 0.005, -23.0])


def answer(rule: Rule, value: float, limit: Any) -> Finding:
    """What the engine answers about one figure, the others at nothing."""
    facts = {need: Reading(0) for need in rule.needs} | {rule.needs[0]: Reading(value), "channels": Reading(2)}
    (finding,) = judge(spec_of(requirement(rule.id, limit)), facts, scope=rule.scope, track=None, waivers=())
    return finding


def test_there_are_such_rules() -> None:
    known = {rule.id for rule in figure_rules()}
    assert len(known) >= 20
    assert {"balance_max_db", "true_peak_max_dbtp", "integrated_lufs", "album_integrated_lufs", "lead_in_s"} <= known


@pytest.mark.parametrize("rule", figure_rules(), ids=lambda rule: str(rule.id))
@given(
    edge=EDGES, side=st.sampled_from(["at_most", "at_least"]), off=st.sampled_from(NEAR), sign=st.sampled_from([1, -1])
)
@settings(max_examples=60)
def test_what_is_printed_gets_the_answer_that_was_given(
    rule: Rule, edge: float, side: str, off: float, sign: int
) -> None:
    limit = limit_of(rule, edge, side)
    at = limit[side] if isinstance(limit, dict) else limit
    value = sign * at + (round(off) if whole(rule) else off)
    found = answer(rule, value, limit)
    if found.answer is Answer.NOT_MEASURED:
        return
    met = found.answer is Answer.MET
    held = [bound for bound in bounds(rule, limit, NAMES) if bound.figure == rule.needs[0]]
    assert all(bound.holds(value) for bound in held) is met, "the bounds are those of the rule"
    if number := _NUMBER.search(found.found):
        text = float(number[0].replace(",", ""))
        assert (answer(rule, text, limit).answer is Answer.MET) is met, found.found
    name = "integrated_lufs" if rule.needs[0] == "album_integrated_lufs" else rule.needs[0]
    shown = float(amount(FIGURES[name], Reading(float(value)), tuple(held)).number)
    assert (answer(rule, shown, limit).answer is Answer.MET) is met, shown


def test_the_balance_that_looked_met() -> None:
    """1.504 dB under a limit of 1.5 fails, and prints 1.504; on the other side -1.504; 1.496 is met and printed."""
    rule = rules()["balance_max_db"]
    assert answer(rule, 1.504, 1.5).found == "1.504 dB more on the left"
    assert answer(rule, -1.504, 1.5).found == "1.504 dB more on the right"
    assert answer(rule, 1.4996, 1.5).found == "1.50 dB"
    assert answer(rule, 1.4954, 1.4958).found == "1.495 dB"
    spec = bounded(spec_of(requirement("balance_max_db", 1.5)), NAMES)
    for value, printed in ((1.504, "+1.504"), (-1.504, "-1.504"), (1.496, "+1.50"), (0.3, "+0.30")):
        assert amount(FIGURES["balance_db"], Reading(value), bounds_of("balance_db", (spec,))).number == printed


def test_no_figure_of_a_part_is_printed_as_if_it_met_what_it_missed() -> None:
    """The rows of a track's page take their limits from the specs the job was given, whatever figure it is."""
    from delivery.report.view.make import view_of
    from tests import samples

    specs = tuple(
        bounded(replace(spec, requirements=(*spec.requirements, requirement("balance_max_db", 1.5))), NAMES)
        for spec in samples.SPECS
    )
    whole_job = samples.delivery(1, specs)
    (source,) = whole_job.sources
    assert source.measurement
    tilted: Measurement = source.measurement.with_readings({"balance_db": Reading(1.504)})
    shown = view_of(replace(whole_job, sources=(replace(source, measurement=tilted),)), FIGURES)
    table = shown.tracks[0].figures
    assert table
    (row,) = [row for row in table.rows if row.label in ("Left minus right", "Channel balance")]
    assert row.cells[0] == "+1.504"


@given(st.floats(0.5, 3000), st.sampled_from(NEAR), st.integers(0, 3))
def test_rounded_lengths_stay_on_their_side_of_a_limit(limit_s: float, off: float, digits: int) -> None:
    """'23:00.0' is not printed of a side that is too long for 23:00."""
    limit_s = round(limit_s, 1)
    seconds = max(0.0, limit_s + off)
    printed = clock_beside(seconds, digits, [limit_s])
    shown = 0.0
    for piece in printed.split(":"):
        shown = round(shown * 60 + float(piece), 9)
    assert (shown > limit_s, shown < limit_s) == (seconds > limit_s, seconds < limit_s)
    assert (minutes(seconds, limit_s) != minutes(limit_s)) or not seconds > limit_s


def test_a_side_a_hundredth_too_long_is_printed_as_too_long() -> None:
    """1380.01 s of at most 23:00: to the tenth of a second it would look met."""
    from delivery.report.view.lengths import _length_text
    from tests.rules.case_files import programme_of

    programme = programme_of({"label": "A", "seconds": [1380.01]})
    assert _length_text(programme, [1170.0, 1380.0]) == "23:00.01"
    assert _length_text(programme, [1170.0]) == "23:00.0"
