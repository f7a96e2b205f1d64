"""Names with the shares, roles and codes beside them. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from delivery.intake.sheet.shares import in_percent
from delivery.model.shares import add_up

SHARE = re.compile(
    r"\s*[(\[]?\s*(?:(?P<number>[0-9]{1,3}(?:[.,][0-9]+)?)\s*%|(?P<top>[0-9]{1,2})\s*/\s*(?P<bottom>[0-9]{1,2}))"
    r"\s*[)\]]?\s*$"
)
"""After a name: '50 %', '(33.3%)', '1/2'."""
BARE_SHARE = re.compile(r"(?P<name>.*[^\s\d/])\s+[(\[]?(?P<number>[0-9]{1,3}(?:[.,][0-9]+)?)[)\]]?$")
ROLE = re.compile(r"\s*[(\[](?P<role>CA|AC|C/A|A/C|C|A|AR|AD|TR|SA)[)\]]\s*$")
ROLES: Mapping[str, tuple[str, ...]] = {
    "C": ("composer",), "A": ("lyricist",), "CA": ("composer", "lyricist"), "AC": ("composer", "lyricist"),
    "AR": ("arranger",), "AD": ("lyricist",), "TR": ("translator",), "SA": ("lyricist",),
}  # fmt: skip
"""As collecting societies abbreviate them. From memory."""
DETAILS = ("share_percent", "publisher", "society", "ipi")


def with_shares(names: Sequence[str]) -> list[tuple[str, float | None, tuple[str, ...]]]:
    """Name, share and roles of each: 'Ilse Merrow (CA) 50%'."""
    people = []
    for name in names:
        share = SHARE.search(name)
        bare = SHARE.sub("", name)
        role = ROLE.search(bare)
        bare = ROLE.sub("", bare).rstrip(" -–,")
        roles = ROLES[role["role"].replace("/", "")] if role else ()
        people.append((bare, _percent(share) if share else None, roles))
    return people


def _percent(share: re.Match[str]) -> float:
    if share["number"]:
        return float(share["number"].replace(",", "."))
    return round(100 * int(share["top"]) / max(int(share["bottom"]), 1), 2)


def with_bare_shares(names: Sequence[str]) -> list[str] | None:
    """Names followed by bare numbers, 'Ilse Merrow 50', rewritten with percent; None if they do not add up."""
    found = [BARE_SHARE.fullmatch(name) for name in names]
    numbers = [float(one["number"].replace(",", ".")) for one in found if one]
    percent = in_percent(numbers)
    if len(numbers) < len(names) or not add_up(percent):
        return None
    return [f"{one['name'].rstrip(' -–,:')} {share:g}%" for one, share in zip(found, percent, strict=True) if one]


def writers_of(
    names: Sequence[str], roles: tuple[str, ...], details: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """In the form of the release file's `writers`; values not supplied are left out.

    Parameters
    ----------
    details : keys of each of *names*, from the columns beside
    """
    people = []
    for (name, share, own), beside in zip(with_shares(names), details, strict=True):
        more = {**beside, "share_percent": share if share is not None else beside.get("share_percent")}
        known = {key: more[key] for key in DETAILS if more.get(key) is not None}
        people.append({"name": name, "roles": own or roles, **known})
    return people


def merged(writers: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """A person in two columns is one writer with both roles; equal shares count once."""
    by_name: dict[str, dict[str, Any]] = {}
    for writer in writers:
        known = by_name.setdefault(writer["name"].casefold(), {**writer, "roles": ()})
        if known is not writer and "share_percent" in writer and known["roles"]:
            before = known.get("share_percent", 0)
            known["share_percent"] = before + writer["share_percent"]
        known |= {key: value for key, value in writer.items() if key not in known}
        known["roles"] = tuple(dict.fromkeys((*known["roles"], *writer["roles"])))
    return list(by_name.values())
