"""Write the generated files of the specs folder of this checkout."""

from __future__ import annotations

import json
from pathlib import Path

from delivery.schema import catalogue, spec_schema
from delivery.schema.figures_page import page, with_descriptions

SPECS = Path(__file__).resolve().parents[2] / "specs"


def generated() -> dict[str, str]:
    """File name -> text, for each generated file."""
    schema = json.dumps(spec_schema(), indent=2, ensure_ascii=False) + "\n"
    documents = json.loads((SPECS / "output.schema.json").read_text(encoding="utf-8"))
    described = json.dumps(with_descriptions(documents), indent=2, ensure_ascii=False) + "\n"
    return {
        "spec.schema.json": schema,
        "catalogue.md": catalogue(),
        "figures.md": page(),
        "output.schema.json": described,
    }


def main() -> None:
    for name, text in generated().items():
        (SPECS / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
