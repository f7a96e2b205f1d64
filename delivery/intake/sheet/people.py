"""Names out of cells, with the shares and codes that stand beside them. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.refused import Refused, Told

PARTED = re.compile(r"\s*[;\n|]\s*|\s+/\s+")
SHARE = re.compile(r"\s*[(\[]?\s*(?P<number>[0-9]{1,3}(?:[.,][0-9]+)?)\s*%\s*[)\]]?\s*$")
ROLE = re.compile(r"\s*[(\[](?P<role>CA|AC|C/A|A/C|C|A|AR|AD|TR|SA)[)\]]\s*$")
ROLES: Mapping[str, tuple[str, ...]] = {
    "C": ("composer",), "A": ("lyricist",), "CA": ("composer", "lyricist"), "AC": ("composer", "lyricist"),
    "AR": ("arranger",), "AD": ("lyricist",), "TR": ("translator",), "SA": ("lyricist",),
}  # fmt: skip
"""As collecting societies abbreviate them. From memory."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands in the columns that tell of one person column."""

    share: tuple[float, ...] = ()
    ipi: tuple[str, ...] = ()
    society: tuple[str, ...] = ()
    publisher: tuple[str, ...] = ()


def names_in(cell: Cell) -> Told:
    """Parted by ';', '|', ' / ' or lines; by commas only where each part has two words ('Merrow, Ilse' is one)."""
    parts = [part for part in PARTED.split("\n".join(cell.lines)) if part]
    remark = ""
    if len(parts) == 1 and "," in parts[0]:
        pieces = [piece.strip() for piece in parts[0].split(",") if piece.strip()]
        if all(len(SHARE.sub("", piece).split()) > 1 for piece in pieces):
            parts = pieces
        else:
            remark = f"{cell.place}: {parts[0]!r} is read as one name; part several names with ';'"
    return Told(tuple(parts), remark)


def with_shares(names: Sequence[str]) -> list[tuple[str, float | None, tuple[str, ...]]]:
    """Name, share and roles of each: 'Ilse Merrow (CA) 50%'."""
    told = []
    for name in names:
        share = SHARE.search(name)
        bare = SHARE.sub("", name)
        role = ROLE.search(bare)
        bare = ROLE.sub("", bare).rstrip(" -–,")
        roles = ROLES[role["role"].replace("/", "")] if role else ()
        told.append((bare, float(share["number"].replace(",", ".")) if share else None, roles))
    return told


def shares_in(cell: Cell, many: int) -> tuple[float, ...]:
    """As many shares as there are persons; 0.5 in a cell shown as percent is 50.

    Raises
    ------
    Refused : no numbers, or not as many as persons
    """
    texts = [text for text in re.split(r"[;\n|]|\s+/\s+|%\s*[,/]?\s+|,\s+", "\n".join(cell.lines)) if text.strip()]
    numbers = [re.fullmatch(r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*%?", text.strip()) for text in texts]
    if not all(numbers):
        raise Refused("shares in percent, such as 50; 50", "Write one number for each person, parted by ';'.")
    if len(numbers) != many:
        raise Refused(f"{many} shares, one for each person", "Write one number for each person, parted by ';'.")
    return tuple(float(number[1].replace(",", ".")) for number in numbers if number)


def writers_of(names: Sequence[str], roles: tuple[str, ...], beside: Beside) -> list[dict[str, Any]]:
    """As the release file's `writers` has them; what is not told is left out."""
    told = []
    for index, (name, share, own) in enumerate(with_shares(names)):
        more: dict[str, Any] = {
            "share_percent": share if share is not None else _at(beside.share, index),
            "publisher": _at(beside.publisher, index),
            "society": _at(beside.society, index),
            "ipi": _at(beside.ipi, index),
        }
        told.append(
            {"name": name, "roles": own or roles, **{key: value for key, value in more.items() if value is not None}}
        )
    return told


def merged(writers: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Somebody who stands in two columns is one writer with both roles; shares told twice count once when equal."""
    by_name: dict[str, dict[str, Any]] = {}
    for writer in writers:
        known = by_name.setdefault(writer["name"].casefold(), {**writer, "roles": ()})
        if known is not writer and "share_percent" in writer and known["roles"]:
            before = known.get("share_percent", 0)
            known["share_percent"] = before + writer["share_percent"]
        known |= {key: value for key, value in writer.items() if key not in known}
        known["roles"] = tuple(dict.fromkeys((*known["roles"], *writer["roles"])))
    return list(by_name.values())


def _at(items: Sequence[Any], index: int) -> Any:
    return items[index] if index < len(items) else None
