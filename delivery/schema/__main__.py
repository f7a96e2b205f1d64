"""Write the generated files of the specs folder of this checkout."""

from __future__ import annotations

import json
from pathlib import Path

from delivery.schema import catalogue, spec_schema

SPECS = Path(__file__).resolve().parents[2] / "specs"


def generated() -> dict[str, str]:
    """File name -> text, for each generated file."""
    schema = json.dumps(spec_schema(), indent=2, ensure_ascii=False) + "\n"
    return {"spec.schema.json": schema, "catalogue.md": catalogue()}


def main() -> None:
    for name, text in generated().items():
        (SPECS / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
