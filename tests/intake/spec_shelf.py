"""A folder of invented spec files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_spec
from delivery.model.spec import Spec

FRAME = "title: T\nabout: A\nchecked: 2026-11-25\nsource: common practice, no source\n"
"""What every spec must say: four lines."""


@dataclass(frozen=True)
class Shelf:
    folder: Path

    def put(self, **texts: str) -> None:
        for name, text in texts.items():
            (self.folder / f"{name}.yaml").write_text(text, encoding="utf-8")

    def load(self, name: str) -> Spec:
        return load_spec(name, (self.folder,))

    def faults(self, name: str) -> list[str]:
        with pytest.raises(Faulty) as caught:
            self.load(name)
        return [str(fault) for fault in caught.value.faults]
