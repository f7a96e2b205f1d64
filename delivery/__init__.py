"""delivery: checks masters against delivery specs and packs releases.

    import delivery

    spec = delivery.load_spec("cd-rate-16")
    measurement = delivery.measure("Low Water.wav")
    for finding in delivery.judge(spec, measurement):
        print(finding.rule, finding.answer)
    for step in delivery.plan(spec, measurement).steps:
        print(step.kind, step.sentence)

A whole release:

    request = delivery.resolve_request("album/release.yaml")
    delivery.check(request)                       # a Delivery: every figure and finding; nothing is written
    built = delivery.build(request, "deliveries")  # the package, whole or not at all
    delivery.verify(built.package)

Names are imported when they are first used. Every error raised is a ``DeliveryError`` with one clear message.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.errors import DeliveryError as DeliveryError
    from delivery.errors import Faulty as Faulty
    from delivery.errors import Occupied as Occupied
    from delivery.errors import Unfinished as Unfinished
    from delivery.errors import Unreadable as Unreadable
    from delivery.errors import Unusable as Unusable
    from delivery.intake import load_release as load_release
    from delivery.intake import load_spec as load_spec
    from delivery.intake import load_studio as load_studio
    from delivery.meters import figures as figures
    from delivery.meters import figures_by_subject as figures_by_subject
    from delivery.meters import measure as measure
    from delivery.model.chain import Chain as Chain
    from delivery.model.chain import Step as Step
    from delivery.model.chain import StepKind as StepKind
    from delivery.model.chain import Target as Target
    from delivery.model.figure import Figure as Figure
    from delivery.model.figure import Measurement as Measurement
    from delivery.model.figure import Reading as Reading
    from delivery.model.finding import Answer as Answer
    from delivery.model.finding import Finding as Finding
    from delivery.model.finding import Result as Result
    from delivery.model.finding import Weight as Weight
    from delivery.model.part import Delivery as Delivery
    from delivery.model.part import Part as Part
    from delivery.model.part import Source as Source
    from delivery.model.release import Acceptance as Acceptance
    from delivery.model.release import Release as Release
    from delivery.model.release import Track as Track
    from delivery.model.release import Waiver as Waiver
    from delivery.model.spec import Spec as Spec
    from delivery.pipeline import Built as Built
    from delivery.pipeline import Options as Options
    from delivery.pipeline import Request as Request
    from delivery.pipeline import build as build
    from delivery.pipeline import check as check
    from delivery.pipeline import resolve_request as resolve_request
    from delivery.pipeline.one_file import judge as judge
    from delivery.pipeline.one_file import plan as plan
    from delivery.pipeline.verify import Checked as Checked
    from delivery.pipeline.verify import verify as verify
    from delivery.rules import Rule as Rule
    from delivery.rules import rule_ids as rule_ids

__version__ = "0.2.0"

_MODULES = {
    "errors": "DeliveryError Faulty Occupied Unfinished Unreadable Unusable",
    "intake": "load_release load_spec load_studio",
    "meters": "figures figures_by_subject measure",
    "model.chain": "Chain Step StepKind Target",
    "model.figure": "Figure Measurement Reading",
    "model.finding": "Answer Finding Result Weight",
    "model.part": "Delivery Part Source",
    "model.release": "Acceptance Release Track Waiver",
    "model.spec": "Spec",
    "pipeline": "Built Options Request build check resolve_request",
    "pipeline.one_file": "judge plan",
    "pipeline.verify": "Checked verify",
    "rules": "Rule rule_ids",
}
"""Module -> the public names it holds."""
_MODULE_OF = {name: module for module, names in _MODULES.items() for name in names.split()}

__all__ = ["__version__", *sorted(_MODULE_OF)]


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)


def __dir__() -> list[str]:
    return __all__
