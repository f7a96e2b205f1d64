"""The studio file: engineer, studio, and default specs of a new release."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from delivery.errors import Faulty
from delivery.intake.resolve_paths import composed, find_beside
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.studio.location import own_specs, studio_file
from delivery.intake.yaml.coerce_scalars import coerced
from delivery.intake.yaml.schema_faults import located_faults
from delivery.intake.yaml.source_locations import Located, in_file_order, located
from delivery.intake.yaml.text import read_document
from delivery.model.release import Studio

SCHEMA = "studio.schema.json"


def load_studio(beside: Path) -> Studio:
    """The studio file beside a release file (or inside a folder), else the one in the configuration folder.

    Without either, an empty Studio. The folder 'specs' in the configuration folder is one of its spec folders, if it
    exists.

    Raises
    ------
    Faulty : a studio file exists and has faults, such as a missing logo or spec folder
    """
    found, own = studio_file(beside), own_specs()
    studio = _read(found) if found.exists() else Studio()
    return replace(studio, spec_folders=(*studio.spec_folders, own)) if own.is_dir() else studio


def _read(path: Path) -> Studio:
    document = read_document(path)
    schema = shipped_schema(SCHEMA)
    data = coerced(document.data, schema, document.written, schema)
    folder = path.parent
    faults = [
        *located_faults(data, schema, document.lines, path.name, document.written),
        *_absent(data, folder, path.name, document.lines),
    ]
    if faults:
        raise Faulty(in_file_order(faults))
    return Studio(
        engineer=composed(data.get("engineer", "")),
        name=composed(data.get("name", "")),
        contact=_contact(data.get("contact", "")),
        logo=_found(folder, data["logo"]) if "logo" in data else None,
        default_specs=tuple(composed(name) for name in data.get("default_specs", ())),
        master_folders=tuple(_found(folder, name) for name in data.get("master_folders", ())),
        spec_folders=tuple(_found(folder, name) for name in data.get("spec_folders", ())),
        accepted_titles=_accepted(data.get("accepted_titles", ())),
        catalogue_patterns=_patterns(data.get("catalogue_patterns", ())),
        ledger=_found(folder, data["ledger"]) if "ledger" in data else None,
    )


def _accepted(entries: Iterable[Mapping[str, Any]]) -> dict[str, tuple[str, ...]]:
    """By artist; several entries of one artist add up."""
    stated: dict[str, tuple[str, ...]] = {}
    for one in entries:
        artist = composed(one["artist"])
        stated[artist] = (*stated.get(artist, ()), *(composed(title) for title in one.get("titles", ())))
    return stated


def _patterns(entries: Iterable[Mapping[str, Any]]) -> dict[str, tuple[str, ...]]:
    """By label; several entries of one label are alternative patterns."""
    stated: dict[str, tuple[str, ...]] = {}
    for one in entries:
        label = composed(one["label"])
        stated[label] = (*stated.get(label, ()), composed(one["pattern"]))
    return stated


def _contact(value: str | list[str]) -> str:
    lines: Iterable[str] = value.splitlines() if isinstance(value, str) else value
    return "\n".join(composed(line.strip()) for line in lines if line.strip())


def _found(folder: Path, name: str) -> Path:
    return find_beside(folder, str(Path(name).expanduser()))


def _absent(data: Any, folder: Path, file_name: str, lines: Mapping[str, int]) -> Iterator[Located]:
    """Unlike a master, these files are the studio's own and stay in place: a missing one is a typing error."""
    if not isinstance(data, Mapping):
        return
    logo = data.get("logo")
    if isinstance(logo, str) and not _found(folder, logo).is_file():
        yield located(file_name, lines, "logo", f"no file {logo!r}", "a picture", "Correct the name, or leave it out.")
    folders = data.get("spec_folders")
    for index, name in enumerate(folders if isinstance(folders, list) else ()):
        if isinstance(name, str) and not _found(folder, name).is_dir():
            pointer = f"spec_folders/{index}"
            yield located(file_name, lines, pointer, f"no folder {name!r}", "a folder of specs", "Correct the name.")
