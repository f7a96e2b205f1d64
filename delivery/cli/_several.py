"""Check and build of several releases: a line for each, what to settle, one total."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.release_state import ReleaseState


def refuse_options_of_one(stated: Mapping[str, object]) -> None:
    """Refuse options that make sense for one release only.

    Raises
    ------
    Unusable : one of them was given
    """
    from delivery.errors import Unusable

    for option, value in stated.items():
        if value:
            raise Unusable(option, "several releases", "one release", "Name that release alone.")


def print_states(
    states: Generator[ReleaseState], count: int, everything: bool, as_json: bool, fetched: Mapping[Path, str]
) -> int:
    """Take the states as they come and print them at the end, after Ctrl-C as well; the worst exit code.

    Parameters
    ----------
    count : releases in all
    everything : every sentence of every release
    fetched : release files here -> the addresses that they were fetched from
    """
    found: list[ReleaseState] = []
    try:
        with closing(states):
            for state in states:
                found.append(replace(state, address=_edge.shown_address(fetched.get(state.path, ""))))
    except KeyboardInterrupt:
        _print(found, everything, as_json)
        _edge.say(f"Stopped after {len(found)} of {count} releases. The next run continues from here.")
        raise
    _print(found, everything, as_json)
    return max((_edge.exit_code(state.result) for state in found), default=0)


MOST_NOTES = 20
"""Sentences on codes and files, of all releases together, before --all is needed."""


def _print(states: Sequence[ReleaseState], everything: bool, as_json: bool) -> None:
    if as_json:
        from delivery.report.data.releases import releases_document

        _edge.print_json(releases_document(states))
        return
    from delivery.report.text.releases import releases_short

    _edge.show(releases_short(states, Path.cwd(), everything))
    first: dict[str, str] = {}
    for state in states:
        for note in state.notes:
            first.setdefault(note, state.title)  # what the ledger says about itself, it says for each
    notes = [f"{title}: {note}" for note, title in first.items()]
    kept = notes if everything else notes[:MOST_NOTES]
    for note in kept:
        _edge.say(note)
    if len(notes) > len(kept):
        _edge.say(f"and {len(notes) - len(kept)} more: --all")
