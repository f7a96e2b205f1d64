"""Refuse to build a release with unconfirmed values from folder and file names; confirm them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.errors import NotConfirmed, Unusable, typed
from delivery.intake import confirm_values, load_release
from delivery.model.release import Release
from delivery.model.unconfirmed import ORDER, Unconfirmed, unconfirmed

EVERY_TRACK = "all"


def refuse_unconfirmed(release: Release) -> None:
    """Check that every value in *release* is stated or confirmed.

    Raises
    ------
    NotConfirmed : with each unconfirmed value, its line and how to confirm it
    """
    found = unconfirmed(release)
    if found:
        remedy = (
            "Correct what is wrong in the release file and delete its name from to_confirm; "
            f"or, when all of it is right: delivery confirm {typed(release.path)} --all"
        )
        raise NotConfirmed(release.path.name, tuple((line_of(release, one), shown(one)) for one in found), remedy)


def confirm(release_file: Path, addresses: Sequence[str], *, everything: bool = False) -> tuple[Unconfirmed, ...]:
    """Confirm values of *release_file* and return those confirmed now.

    Parameters
    ----------
    addresses : 'title' for the release's, 'title:3' for the third track's, 'title:all' for every track's
    everything : confirm all of them

    Raises
    ------
    Unusable : an address with nothing to confirm
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    found = unconfirmed(load_release(release_file))
    chosen = found if everything else _chosen(found, addresses, release_file.name)
    if chosen:
        confirm_values(release_file, {(one.key, one.track) for one in chosen})
    return chosen


def line_of(release: Release, one: Unconfirmed) -> str:
    """'line 12': place of the value in the release file."""
    return f"line {release.place(one.pointer).rpartition(':')[2]}"


def shown(one: Unconfirmed) -> str:
    """'title:3  'Low Water''; `delivery confirm` takes the first column."""
    return f"{one.address:12} {one.value if one.key == ORDER else repr(one.value)}"


def _chosen(found: Sequence[Unconfirmed], addresses: Sequence[str], name: str) -> tuple[Unconfirmed, ...]:
    chosen: dict[str, Unconfirmed] = {}
    for address in addresses:
        key, _, track = address.partition(":")
        every = track == EVERY_TRACK
        here = [one for one in found if one.address == address or (every and one.key == key and one.track)]
        if not here:
            left = ", ".join(one.address for one in found) or "nothing"
            raise Unusable(name, f"nothing to confirm as {address!r}", f"one of: {left}", "See 'delivery confirm'.")
        chosen |= {one.address: one for one in here}
    return tuple(one for one in found if one.address in chosen)
