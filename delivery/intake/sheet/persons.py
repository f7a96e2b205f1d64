"""Composers, lyricists and what stands beside them in a row, as the release file has them. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.columns import OF_PERSON, PERSON
from delivery.intake.sheet.people import Beside, merged, shares_in, with_shares, writers_of
from delivery.intake.sheet.refused import Refused

ROLES: Mapping[str, tuple[str, ...]] = {
    "composer": ("composer",),
    "lyricist": ("lyricist",),
    "writer": ("composer", "lyricist"),
}
SLACK = 0.1
"""Thirds are written 33.33 or 33.3; their sum may miss 100 by so much."""


class Desk(Protocol):
    def remark(self, text: str) -> None: ...
    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None: ...
    def value(self, name: str, cell: Cell) -> Any: ...


def read_persons(desk: Desk, cells: Sequence[tuple[str, Cell]], instrumental: bool) -> dict[str, Any]:
    """`composers` and `lyricists` where only names are told, else `writers`; and `publishers` that are nobody's own.

    Parameters
    ----------
    cells : field id and cell, in the order of the columns
    """
    writers: list[dict[str, Any]] = []
    publishers: list[str] = []
    detailed = False
    for name, cell, beside in _groups(cells):
        roles = ("composer",) if name == "writer" and instrumental else ROLES[name]
        names = desk.value(name, cell) or ()
        told, left = _beside(desk, cell, names, beside)
        publishers += left
        some = writers_of(names, roles, told)
        detailed = detailed or any(len(writer) > 2 for writer in some) or any(own for _, _, own in with_shares(names))
        writers += some
    for writer in writers:
        if len(writer["name"].split()) == 1 and writer["name"].isalpha():
            desk.remark(f"{writer['name']!r} is one word; composers and lyricists are named by their legal names.")
    writers = merged(writers)
    _check_shares(desk, writers, cells)
    found: dict[str, Any] = {"publishers": tuple(publishers)} if publishers else {}
    if detailed:
        return {**found, "writers": tuple(writers)} if writers else found
    for role in ("composer", "lyricist"):
        named = tuple(writer["name"] for writer in writers if role in writer["roles"])
        found |= {f"{role}s": named} if named else {}
    return found


def _groups(cells: Sequence[tuple[str, Cell]]) -> list[tuple[str, Cell, dict[str, Cell]]]:
    """Each person column with the columns that tell of it, up to the next person; leading ones are the first's."""
    groups: list[tuple[str, Cell, dict[str, Cell]]] = []
    leading: dict[str, Cell] = {}
    for name, cell in cells:
        if name in PERSON:
            groups.append((name, cell, leading))
            leading = {}
        elif name in OF_PERSON:
            (groups[-1][2] if groups else leading).setdefault(name, cell)
    return groups


def _beside(desk: Desk, cell: Cell, names: Sequence[str], beside: Mapping[str, Cell]) -> tuple[Beside, list[str]]:
    told: dict[str, tuple[Any, ...]] = {}
    left: list[str] = []
    for name, other in beside.items():
        if other.empty:
            continue
        if not names and name != "publisher":
            desk.fault(
                f"{cell.place}",
                f"nobody, but {other.text!r} in {other.place}",
                "the person's legal name",
                "Fill in the name.",
            )
            continue
        if name == "share":
            told["share"] = _shares(desk, other, len(names))
            continue
        found = tuple(desk.value(name, other) or ())
        if name == "publisher" and len(found) != len(names):
            left += found
        elif len(found) > len(names):
            desk.fault(
                other.place,
                f"{len(found)} entries for {len(names)} persons",
                "one for each person",
                "Part them by ';' in the order of the names.",
            )
        else:
            told[name] = found
    return Beside(**told), left


def _shares(desk: Desk, cell: Cell, many: int) -> tuple[float, ...]:
    try:
        return shares_in(cell, many)
    except Refused as refused:
        desk.fault(f"{cell.place} Shares", repr(cell.shown or cell.text), refused.wanted, refused.remedy)
        return ()


def _check_shares(desk: Desk, writers: Sequence[Mapping[str, Any]], cells: Sequence[tuple[str, Cell]]) -> None:
    shares = [writer["share_percent"] for writer in writers if "share_percent" in writer]
    if not shares or abs(sum(shares) - 100) <= SLACK:
        return
    place = next((cell.place for name, cell in cells if name == "share" and not cell.empty), "")
    place = place or next(cell.place for name, cell in cells if name in PERSON and not cell.empty)
    sum_of = " + ".join(f"{share:g}" for share in shares)
    desk.fault(
        f"{place} Shares",
        f"{sum_of} = {sum(shares):g} %",
        "100 % for all writers of the track",
        "Ask the publisher for the split.",
    )
