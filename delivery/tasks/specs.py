"""The spec library: the studio's own folders first, then the shipped specs."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from pathlib import Path

from delivery.errors import Occupied
from delivery.intake import is_stale, load_spec, load_specs, load_studio, spec_names, spec_stamps, write_text
from delivery.model.spec import Spec
from delivery.schema import new_spec

__all__ = ["all_specs", "begin_spec", "find_spec", "is_stale", "spec_folders"]


def all_specs() -> tuple[Spec, ...]:
    """Every spec that can be found from the working folder. Raises Faulty with the faults of all of them."""
    folders = spec_folders()
    return _loaded(folders, spec_stamps(folders))


@lru_cache(maxsize=1)
def _loaded(folders: tuple[Path, ...], _stamps: tuple[tuple[str, int, int], ...]) -> tuple[Spec, ...]:
    return load_specs([path for _, path in spec_names(folders)], folders)


def find_spec(name: str) -> Spec:
    """The spec of this name or path. Raises Unusable if there is none, Faulty if it has faults."""
    return load_spec(name, spec_folders())


def begin_spec(name: str, parent: str, into: Path, today: date) -> Path:
    """Write a commented spec file *name*.yaml that inherits from *parent*.

    Raises
    ------
    Occupied : the file exists
    Unusable : *name* is not a file name, or the parent is unknown
    """
    target = into / f"{name}.yaml"
    if target.exists():
        raise Occupied(str(target), "an existing file", "a path that does not exist yet", "Choose another name.")
    text = new_spec(name, find_spec(parent).id, today)
    into.mkdir(parents=True, exist_ok=True)
    write_text(target, text)
    return target


def spec_folders() -> tuple[Path, ...]:
    """The studio's own folders of specs, as found from the working folder. Raises Faulty as `load_studio`."""
    return load_studio(Path.cwd()).spec_folders
