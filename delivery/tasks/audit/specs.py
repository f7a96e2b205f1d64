"""The specs of an audit: named, or the studio's own."""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import load_specs, load_studio
from delivery.model.spec import Spec
from delivery.pipeline.request import numbers
from delivery.rules.bounds import bounded


def specs_for(names: tuple[str, ...]) -> tuple[Spec, ...]:
    """Load them; without names those that the studio file in force here names.

    Raises
    ------
    Unusable : none is named, or there is no such spec
    Faulty : one has faults
    """
    studio = load_studio(Path.cwd())
    named = names or studio.default_specs
    if not named:
        raise Unusable("audit", "no spec", "at least one", "Name one with --spec (see 'delivery spec list').")
    return tuple(bounded(spec, numbers()) for spec in load_specs(tuple(dict.fromkeys(named)), studio.spec_folders))
