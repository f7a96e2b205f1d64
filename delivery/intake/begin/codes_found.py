"""Recording codes in a master: in each of its tag formats and in its name. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from delivery.model.codes import CODES

_JOINT = "[-\u2010\u2011 ]?"
_CODE = re.compile(
    rf"(?<![A-Za-z0-9])[A-Za-z]{{2}}{_JOINT}[A-Za-z0-9]{{3}}{_JOINT}[0-9]{{2}}{_JOINT}[0-9]{{5}}(?![A-Za-z0-9])"
)


def codes_in(found: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """ISRC in storage form -> where it was found, in order of first sight.

    Parameters
    ----------
    found : place and text; a text may hold several codes
    """
    codes: dict[str, list[str]] = {}
    for where, text in found:
        for match in _CODE.findall(text):
            places = codes.setdefault(CODES["isrc"].stored(match), [])
            if where not in places:
                places.append(where)
    return codes


def to_choose(found: Sequence[tuple[str, str]]) -> list[str]:
    """'ZZ-OSL-26-00001 (ID3, file name)' for each of several codes; empty if there is at most one."""
    codes = codes_in(found)
    if len(codes) < 2:
        return []
    return [f"{CODES['isrc'].printed(code)} ({', '.join(places)})" for code, places in codes.items()]
