"""Write the tables of countries and languages anew from the release of pycountry that the dev extras pin.

    python -m tests.iso.renew

pycountry carries the data of Debian's iso-codes with translations into all languages: 23 MB, of which the program
uses these 300 kB.
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pycountry

from delivery.iso import tables

COLUMNS = {
    "countries": ("alpha_2", "alpha_3", "numeric", "name", "official_name", "common_name"),
    "languages": ("alpha_3", "alpha_2", "bibliographic", "name", "inverted_name", "common_name"),
    "language_families": ("alpha_3", "name"),
}
HEAD = """\
# {standard}, from the iso-codes project (https://salsa.debian.org/iso-codes-team/iso-codes)
# as pycountry {version} has it; LGPL-2.1-or-later. Written by tests/iso/renew.py.
"""
STANDARDS = {"countries": "ISO 3166-1", "languages": "ISO 639-1, -2 and -3", "language_families": "ISO 639-5"}


def table(name: str) -> str:
    """The table *name* as it is stored."""
    records: Iterable[Any] = getattr(pycountry, name)
    columns = COLUMNS[name]
    lines = ["\t".join(getattr(one, column, "") for column in columns) for one in records]
    head = HEAD.format(standard=STANDARDS[name], version=version("pycountry"))
    return head + "\n".join(["\t".join(columns), *sorted(lines)]) + "\n"


def stored(name: str) -> Path:
    """Where it is stored."""
    return Path(tables.__file__).parent / f"{name}.tsv"


if __name__ == "__main__":
    for each in COLUMNS:
        stored(each).write_text(table(each), encoding="utf-8")
