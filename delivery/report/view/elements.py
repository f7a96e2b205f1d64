"""The smallest data types of a view, of which the others are composed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Amount:
    """One rounded number with its unit, or words where there is no number."""

    number: str
    """'-1.03', '4:03.250', 'yes', 'not measured'."""
    unit: str = ""
    exists: bool = True

    def __str__(self) -> str:
        return f"{self.number} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Verdict:
    """A result: stated by the word, repeated by the shape, never by colour alone."""

    word: str
    """'ready', 'ready with remarks', 'not ready', 'unusable', 'met', 'not met', 'waived'."""
    shape: str
    """'full', 'half', 'cross', 'ring' or 'bar'."""
    detail: str = ""
    """'11 of 12 files ready; 1 not ready'."""

    def __str__(self) -> str:
        return f"{self.word} ({self.detail})" if self.detail else self.word


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and its value."""

    label: str
    value: str
    wide: bool = False
    """In a line of its own, below the others."""
    code: bool = False
    """A checksum: whole and in one piece."""
