"""Languages of ISO 639-1, -2 and -3, and the families of ISO 639-5."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from delivery.iso.tables import rows


@dataclass(frozen=True, slots=True)
class Language:
    """Codes and English names; empty where the standard has none."""

    alpha_3: str
    """ISO 639-3, and 639-2/T where that has the language."""
    alpha_2: str
    bibliographic: str
    """ISO 639-2/B."""
    name: str
    inverted_name: str
    """'Frisian, Western' for Western Frisian."""
    common_name: str

    @property
    def shortest(self) -> str:
        """The code of two letters, or of three where there is none of two."""
        return self.alpha_2 or self.alpha_3


def language_of(code: str) -> Language | None:
    """The language of two or three small letters; None: there is none. A family is no language."""
    return _by_code().get(code)


def find_language(text: str) -> Language | None:
    """The language of this code or English name, in capitals or not; None: there is none.

    A text that is the code of one language and the name of another ('en', 'Ko', 'Ga') is taken for the code.
    """
    return _by_code().get(text.lower()) or _by_name().get(text.lower())


def is_family(alpha_3: str) -> bool:
    """True for a family or group of languages (ISO 639-5)."""
    return alpha_3 in _families()


@cache
def _all() -> tuple[Language, ...]:
    return tuple(Language(*row) for row in rows("languages"))


@cache
def _by_code() -> dict[str, Language]:
    return {code: one for one in _all() for code in (one.alpha_3, one.alpha_2, one.bibliographic) if code}


@cache
def _by_name() -> dict[str, Language]:
    """The names of all count before their inverted and common ones."""
    named = {name.lower(): one for one in _all() for name in (one.common_name, one.inverted_name) if name}
    return named | {one.name.lower(): one for one in _all()}


@cache
def _families() -> frozenset[str]:
    return frozenset(row[0] for row in rows("language_families"))
