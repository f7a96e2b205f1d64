"""Several releases as one JSON document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from delivery.model.finding import Result
from delivery.model.release_state import ReleaseState


def releases_document(states: Sequence[ReleaseState]) -> dict[str, Any]:
    """``releases``, one entry each in the order checked, and ``totals``."""
    return {"releases": [_entry(state) for state in states], "totals": totals(states)}


def totals(states: Sequence[ReleaseState]) -> dict[str, Any]:
    """Number of releases, of each result, of files, and the length of all."""
    return {
        "releases": len(states),
        **{result.name.lower(): sum(state.result is result for state in states) for result in Result},
        "parts": sum(state.parts for state in states),
        "duration_s": round(sum(state.seconds for state in states), 3),
    }


def _entry(state: ReleaseState) -> dict[str, Any]:
    return {
        "path": state.address or state.path.as_posix(),
        "title": state.title,
        "result": state.result.value,
        "to_settle": list(state.to_settle),
        "questions": state.questions,
        "remarks": state.remarks,
        "problem": state.problem or None,
        "parts": state.parts,
        "duration_s": round(state.seconds, 3),
        "package": state.package.as_posix() if state.package else None,
        "unchanged": state.unchanged,
        "notes": list(state.notes),
    }
