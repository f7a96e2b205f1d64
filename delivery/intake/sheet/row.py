"""One track of a sheet. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a sheet: its values by field id."""

    row: int
    """As the spreadsheet counts."""
    values: Mapping[str, Any]
    places: Mapping[str, str] = field(default_factory=dict)
    """Field -> 'D7'."""

    def __getitem__(self, key: str) -> Any:
        return self.values.get(key)

    @property
    def description(self) -> str:
        """'row 2 ('Low Water', live)'."""
        version = f", {self['version']}" if self["version"] else ""
        return f"row {self.row} ({self['title']!r}{version})"
