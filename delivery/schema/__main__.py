"""Write the generated files of the specs folder of this checkout."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from delivery.schema import catalogue, spec_schema
from delivery.schema.figures_page import page, with_descriptions
from delivery.schema.label_copy import documents_schema, release_schema

SPECS = Path(__file__).resolve().parents[2] / "specs"


def generated() -> dict[str, str]:
    """File name -> text, for each generated file."""
    return {
        "spec.schema.json": _text(spec_schema()),
        "catalogue.md": catalogue(),
        "figures.md": page(),
        "output.schema.json": _text(documents_schema(with_descriptions(_committed("output.schema.json")))),
        "release.schema.json": _text(release_schema(_committed("release.schema.json"))),
    }


def _committed(name: str) -> dict[str, Any]:
    """A schema written by hand except for the parts filled in here."""
    schema: dict[str, Any] = json.loads((SPECS / name).read_text(encoding="utf-8"))
    return schema


def _text(schema: dict[str, Any]) -> str:
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def main() -> None:
    """Rewrite the generated files in specs/."""
    for name, text in generated().items():
        (SPECS / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
