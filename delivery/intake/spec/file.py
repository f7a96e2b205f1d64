"""Spec files: found by name or path, checked, merged with their parents. Every fault has a file and a line."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path

from delivery.errors import Faulty, Unusable
from delivery.intake.resolve_paths import named_beside
from delivery.intake.shipped_files import shipped, shipped_schema
from delivery.intake.spec.checks import faults_in, faults_of_whole
from delivery.intake.spec.merge import Layer, merged
from delivery.intake.yaml.renamed_keys import SPECS, remark
from delivery.intake.yaml.source_locations import place_of
from delivery.intake.yaml.text import Document, document_of, text_of
from delivery.model.spec import Spec

SCHEMA = "spec.schema.json"
SUFFIXES = (".yaml", ".yml")
ID_FORM = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


@dataclass(frozen=True, slots=True)
class _Shelf:
    """Folders where specs are looked for by name, nearest first."""

    folders: tuple[Path, ...]

    @classmethod
    def of(cls, folders: Sequence[Path]) -> _Shelf:
        return cls((*folders, shipped(SCHEMA).parent))

    def files(self) -> dict[str, Path]:
        """Id -> file; the nearest folder wins."""
        found: dict[str, Path] = {}
        for folder in self.folders:
            for path in _yaml_files(folder):
                found.setdefault(path.stem, path)
        return found

    def near(self, name: str) -> str:
        """A remedy that names the nearest specs, or how to list all of them."""
        names = sorted(name for name, path in self.files().items() if _purpose(path))
        close = get_close_matches(name, names, n=3, cutoff=0.5)
        more = f" Also near: {', '.join(close[1:])}." if close[1:] else ""
        return f"Did you mean {close[0]!r}?{more}" if close else f"'delivery spec list' shows all {len(names)} of them."


def _yaml_files(folder: Path) -> list[Path]:
    """YAML files by name; none if there is no such folder.

    Raises
    ------
    Unusable : the folder cannot be listed: a spec in it must not be replaced silently by a shipped one of the same name
    """
    try:
        return sorted(path for path in folder.iterdir() if path.suffix in SUFFIXES)
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unusable(str(folder), f"no way to look inside ({reason})", "a folder of specs", "Check it.") from error


def load_spec(name_or_path: str | Path, folders: Sequence[Path] = ()) -> Spec:
    """The spec of this name (looked for in *folders*, then among the shipped ones) or at this path, parents merged in.

    Raises
    ------
    Unusable : not found
    Faulty : it, or a parent, has faults; all of them
    """
    shelf = _Shelf.of(folders)
    path = _found(str(name_or_path), shelf)
    layers = _layers(path, shelf)
    spec = merged(layers)
    _raise(faults_of_whole(spec, layers))
    return spec


def load_specs(names: Sequence[str | Path], folders: Sequence[Path] = ()) -> tuple[Spec, ...]:
    """Several specs, as :func:`load_spec` loads each.

    Raises
    ------
    Unusable : one of them cannot be found, and nothing is wrong with the others
    Faulty : the faults of all of them; those of a shared parent once
    """
    specs: list[Spec] = []
    errors: list[Unusable | Faulty] = []
    for name in names:
        try:
            specs.append(load_spec(name, folders))
        except (Unusable, Faulty) as error:
            errors.append(error)
    if len(errors) == 1:
        raise errors[0]
    _raise(_once(fault for error in errors for fault in (error.faults if isinstance(error, Faulty) else (error,))))
    return tuple(specs)


def _once(faults: Iterable[Unusable]) -> tuple[Unusable, ...]:
    return tuple({fault.args: fault for fault in faults}.values())


def named_from(folder: Path, name: str, folders: Sequence[Path] = ()) -> str:
    """*name* as a release file in *folder* has to give it: a path that was typed elsewhere is relative to that folder.

    Raises
    ------
    Unusable : there is no such spec
    """
    found = _found(name, _Shelf.of((folder, *folders)))
    if not _is_path(name) or found != Path(name) or found.is_absolute() or (folder / name).is_file():
        return name
    relative = named_beside(folder, found)
    return relative if "/" in relative else f"./{relative}"


def spec_names(folders: Sequence[Path] = ()) -> list[tuple[str, Path]]:
    """Id and file of every spec that can be delivered to, by name; specs that are only parents are left out."""
    return [
        (name, path)
        for name, path in sorted(_Shelf.of(folders).files().items())
        if _purpose(path) not in (None, "parent_only")
    ]


def spec_stamps(folders: Sequence[Path] = ()) -> tuple[tuple[str, int, int], ...]:
    """Path, time and size of every file that may be a spec: while they are the same, so are the specs."""
    return tuple((str(path), *_time_and_size(path)) for path in _Shelf.of(folders).files().values())


def _time_and_size(path: Path) -> tuple[int, int]:
    try:
        found = path.stat()
    except OSError:  # reading it reports that
        return 0, 0
    return found.st_mtime_ns, found.st_size


def is_stale(spec: Spec, today: date) -> str | None:
    """A sentence if *spec* is past its review date, or is marked as checked in the future; else None.

    For the terminal only: today's date may not affect a delivery.
    """
    latest = max([spec.checked, *(requirement.checked for requirement in spec.requirements)])
    if latest > today:
        return f"The spec {spec.id} is marked as checked on {latest.isoformat()}, which is in the future: correct it."
    months = spec.checked.month - 1 + spec.good_for_months
    year, month = spec.checked.year + months // 12, months % 12 + 1
    if (today.year, today.month, today.day) <= (year, month, spec.checked.day):
        return None
    return (
        f"The spec {spec.id} was last checked on {spec.checked.isoformat()} and is good for {spec.good_for_months} "
        "months: compare it with its sources and set 'checked' again."
    )


def _purpose(path: Path) -> str | None:
    """Purpose of a YAML file; None if it is not a spec. A file with faults passes, so that they are reported later."""
    try:
        data = _document(path.name, text_of(path)).data
    except Faulty:
        return "release"
    if not isinstance(data, dict) or "tracks" in data or not {"requires", "based_on"} & data.keys():
        return None
    return str(data.get("purpose", "release"))


def _is_path(name: str) -> bool:
    return name.endswith(SUFFIXES) or "/" in name or "\\" in name


def _found(name: str, shelf: _Shelf) -> Path:
    if _is_path(name):
        places = [folder / name for folder in shelf.folders] + [Path(name)]
        path = next((place for place in places if place.is_file()), None)
        if path is None:
            raise Unusable(name, "no such file", "a spec file", "Check the path, or give the name of a shipped spec.")
        return path
    files = shelf.files()
    path = files.get(name) or files.get(SPECS.get(name, ""))
    if path is None:
        raise Unusable(name, "no spec of this name", "the name or path of a spec", shelf.near(name))
    return path


def _layers(path: Path, shelf: _Shelf) -> tuple[Layer, ...]:
    """The file and its ancestors, nearest first, each checked by itself.

    Raises
    ------
    Faulty : faults in any of them, a missing parent, a circular reference
    """
    layers: list[Layer] = []
    faults: list[Unusable] = []
    following: Path | None = path
    while following is not None:
        layer, found = _layer(following)
        layers.append(layer)
        faults += found
        following, problem = _parent(layers, _Shelf((following.parent, *shelf.folders)))
        faults += problem
    _raise(faults)
    return tuple(layers)


def _layer(path: Path) -> tuple[Layer, tuple[Unusable, ...]]:
    return _layer_of(path, text_of(path))


@lru_cache(maxsize=64)
def _document(name: str, text: str) -> Document:
    """Kept: a list of specs reads each file to see what it is, and then as a spec."""
    return document_of(text, name)


@lru_cache(maxsize=64)
def _layer_of(path: Path, text: str) -> tuple[Layer, tuple[Unusable, ...]]:
    """Kept: several specs have one parent, a build reads the specs twice, and the parser takes most of the time."""
    document = _document(path.name, text)
    data = document.data if isinstance(document.data, dict) else {}
    layer = Layer(path.stem, path.name, data, document.lines, remark(path.name, document.renames))
    return layer, (*_id_faults(path), *faults_in(document, path.name, shipped_schema(SCHEMA)))


def _id_faults(path: Path) -> Iterator[Unusable]:
    if not ID_FORM.fullmatch(path.stem):
        wanted = "letters, digits, hyphens"
        yield Unusable(path.name, f"the file name {path.stem!r}", wanted, "It becomes a folder name: rename the file.")


def _parent(layers: list[Layer], shelf: _Shelf) -> tuple[Path | None, list[Unusable]]:
    """The file the last layer is based on, or the fault."""
    child = layers[-1]
    name = child.data.get("based_on")
    if not isinstance(name, str):
        return None, []
    place = place_of(child.file_name, child.lines, "based_on")
    seen = [layer.id for layer in layers]
    if name in seen:
        circle = " -> ".join([*seen[seen.index(name) :], name])
        return None, [
            Unusable(place, f"a circle: {circle}", "a chain of parents without a circle", "Change one 'based_on'.")
        ]
    path = shelf.files().get(name)
    if path is None:
        return None, [Unusable(place, f"the parent {name!r}", "the name of a spec", shelf.near(name))]
    return path, []


def _raise(faults: Sequence[Unusable]) -> None:
    if faults:
        raise Faulty(tuple(faults))
