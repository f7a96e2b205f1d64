"""Countries of ISO 3166-1."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from delivery.iso.tables import rows

REGIONAL_A = 0x1F1E6
"""Unicode's regional indicator A: two of these letters are printed as a flag."""


@dataclass(frozen=True, slots=True)
class Country:
    """Codes and English names; empty where the standard has none."""

    alpha_2: str
    alpha_3: str
    numeric: str
    name: str
    official_name: str
    common_name: str

    @property
    def flag(self) -> str:
        """As a pair of regional indicators."""
        return "".join(chr(REGIONAL_A + ord(letter) - ord("A")) for letter in self.alpha_2)


def country_of(alpha_2: str) -> Country | None:
    """The country of two capital letters; None: there is none."""
    return _by_code().get(alpha_2)


def find_country(text: str) -> Country | None:
    """The country of this code, English name or flag, in capitals or not; None: there is none."""
    return _by_text().get(text.lower())


@cache
def _by_code() -> dict[str, Country]:
    return {row[0]: Country(*row) for row in rows("countries")}


@cache
def _by_text() -> dict[str, Country]:
    found: dict[str, Country] = {}
    for one in _by_code().values():
        for text in (one.alpha_2, one.alpha_3, one.numeric, one.name, one.official_name, one.common_name, one.flag):
            found.setdefault(text.lower(), one)
    del found[""]
    return found
