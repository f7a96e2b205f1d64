"""A program of its own: adds three rows to the table of label-copy fields, then delivers them everywhere; prints JSON.

The rows must be there before any other module of the program is imported, so this runs in a process of its own:
``python -m tests.contracts.added_fields FOLDER``.
"""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path
from typing import Any, cast

from delivery.intake import shipped_files
from delivery.model import fields
from delivery.model.fields.row import NOT_STORED, Field, Kept, People, Tag


def _tag(name: str) -> Tag:
    free = name.upper()
    return Tag(
        name, name, id3=f"TXXX:{free}", vorbis=free, mp4=f"free:{free}", info=NOT_STORED, bext=NOT_STORED,
        axml=NOT_STORED,
    )  # fmt: skip


ADDED = (
    Field(
        id="choir_leader", title="Choir leaders", meaning="several with ';'", words="choir leader|chorleitung",
        key="credits", kept=Kept.CREDIT, role="choir leader", people=People.PERSON, tag=_tag("choirleaders"),
        json_ld="contributor", required_as="choir_leaders", on_sheet="Credits",
    ),
    Field(
        id="dedication", title="Dedication", meaning="to whom the song is dedicated", words="dedication|widmung",
        key="dedication", kept=Kept.TEXT, example="for Ada", tag=_tag("dedication"), json_ld="abstract",
        required_as="dedication", on_sheet="Dedicated",
    ),
    Field(
        id="sponsor", title="Sponsor", meaning="who paid for it", words="sponsor|foerderer", of_release=True,
        key="sponsor", kept=Kept.TEXT, example="Ostrelune Fund", tag=_tag("sponsor"), json_ld="funder",
        required_as="sponsor", on_sheet="Sponsored by",
    ),
)  # fmt: skip
SHEET = """Sponsor;Ostrelune Fund
Release title;Harbour Arithmetic
Release artist;Merrow

No;Title;Chorleitung;Widmung
1;Low Water;Ilse Merrow & Tam Varrick;for Ada
"""
RELEASE = """title: Harbour Arithmetic
artist: Merrow
sponsor: Ostrelune Fund
tracks:
  - file: 01 Low Water.wav
    title: Low Water
    dedication: for Ada
    credits:
      - {name: Ilse Merrow, role: choir leader}
      - {name: Tam Varrick, role: choir leader}
"""


def _added() -> None:
    table = cast("dict[str, Field]", fields.FIELDS)
    for field in ADDED:
        table[field.id] = field


def _schemas_made_anew(folder: Path) -> dict[str, Any]:
    from delivery.schema.__main__ import SPECS, generated

    shutil.copytree(SPECS, folder)
    made = generated()
    for name, text in made.items():
        (folder / name).write_text(text, encoding="utf-8")
    shipped_files.shipped = lambda name, _package=folder: folder / name
    return {name: json.loads(text) for name, text in made.items() if name.endswith(".json")}


def _read_from_sheet(folder: Path) -> dict[str, Any]:
    from delivery.intake.sheet.read import grids_in
    from delivery.intake.sheet.rows import read_copy
    from delivery.intake.sheet.write import release_keys, spoken_of, track_keys

    sheet = folder / "sheet.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    copy = read_copy(grids_in(sheet, {})[0], {})
    row = track_keys(copy.rows[0], "Merrow")
    return {
        "faults": [str(fault) for fault in copy.faults],
        "release": release_keys(copy),
        "track": row,
        "about": sorted(spoken_of(copy.rows[0])),
    }


def _delivered(folder: Path) -> dict[str, Any]:
    from dataclasses import replace

    from delivery.formats.embedding import embed, read_tags
    from delivery.intake import load_release
    from delivery.intake.sheet.read import grids_in
    from delivery.intake.sheet.rows import read_copy
    from delivery.intake.sheet.write import track_keys
    from delivery.model.part import Delivery, Source
    from delivery.model.release import Studio
    from delivery.report.label_copy import csv, jsonld, text
    from delivery.report.label_copy import json as as_json
    from delivery.report.view.make import view_of
    from delivery.rules.label_copy import release_label_copy, track_label_copy
    from delivery.tags.values import tag_values
    from tests.tags.sounds import CONTAINERS, make_all

    release_file = folder / "release.yaml"
    release_file.write_text(RELEASE, encoding="utf-8")
    (folder / "01 Low Water.wav").touch()
    release = load_release(release_file)
    track = release.tracks[0]
    view = view_of(Delivery(release, Studio(), (), (Source(track, None),), ()), {})
    values = tag_values(release, track)
    make_all(folder)
    tags = {}
    for container, name in CONTAINERS.items():
        embed(folder / name, container, values)
        tags[container] = read_tags(folder / name, container)
    label_copy = folder / "label-copy.csv"
    label_copy.write_bytes(csv.render(view))
    bare = replace(track, credits=(), texts=())
    return {
        "tags": tags,
        "csv": track_keys(read_copy(grids_in(label_copy, {})[0], {}).rows[0], "Merrow"),
        "json": json.loads(as_json.render(view)),
        "json_ld": json.loads(jsonld.render(view)),
        "text": text.render(view).decode("utf-8"),
        "facts": {fact.label: fact.value for fact in (*view.facts, *view.tracks[0].facts)},
        "met": [
            *track_label_copy.judge(track, release, ["choir_leaders", "dedication"]),
            *release_label_copy.judge(release, ["sponsor"]),
        ],
        "not_met": [
            one.wanted
            for one in (
                *track_label_copy.judge(bare, release, ["choir_leaders", "dedication"]),
                *release_label_copy.judge(replace(release, texts=()), ["sponsor"]),
            )
        ],
    }


def main(folder: Path) -> None:
    _added()
    schemas = _schemas_made_anew(folder / "specs")
    print(json.dumps({"schemas": schemas, "sheet": _read_from_sheet(folder), **_delivered(folder)}))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
