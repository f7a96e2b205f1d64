"""Path of the studio file. A module of its own, so that a command without one loads no YAML."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from delivery.absolute import absolute
from delivery.own_folders import config_folder

NAME = "studio.yaml"


def studio_file(beside: Path) -> Path:
    """The studio file in force for a release file or folder; if there is none, the path where to create it.

    A pipe or folder of that name counts, so that reading it is refused: without it other specs would be in force.
    """
    *_, own = places = tuple(_places(beside if beside.is_dir() else beside.parent))
    return next((place for place in places if place.exists()), own)


def own_specs() -> Path:
    """The user's folder of specs beside the studio file in the configuration folder: looked at without being named."""
    return config_folder() / "specs"


def _places(folder: Path) -> Iterator[Path]:
    yield absolute(folder) / NAME
    yield config_folder() / NAME
