"""Sound files without a release file, as a release of their own. Light to import: many short runs only measure."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.errors import Unusable
from delivery.model.track import Track

if TYPE_CHECKING:
    from delivery.model.release import Release

RELEASE_FILE = "release.yaml"


def bare_release(files: tuple[Path, ...]) -> Release:
    """A release of sound files without a release file."""
    from delivery.model.release import Release

    folder = files[0].resolve().parent
    return Release(path=folder / RELEASE_FILE, title=folder.name, artist="", tracks=bare_tracks(files))


def bare_tracks(files: Sequence[Path]) -> tuple[Track, ...]:
    """Tracks in the order given, titles from the file names."""
    return tuple(
        Track(position=number, number=number, file=file.resolve(), title=file.stem)
        for number, file in enumerate(files, start=1)
    )


def sound_files(path: Path) -> tuple[Path, ...]:
    """*path* itself, or the sound files below it in natural order; hidden files are left out.

    Raises
    ------
    Unusable : a folder without any sound file, or no such path
    """
    if path.exists() and not path.is_dir():
        return (path,)
    from delivery.intake.begin.file_names import natural

    if not path.exists():
        raise Unusable(str(path), "nothing there", "a sound file or a folder of them", "Check the path.")
    found = [file for file in path.rglob("*") if is_sound(file) and not _hidden(file, path)]
    if not found:
        raise Unusable(
            str(path), "no sound file in this folder", "WAV, AIFF, FLAC or listening copies", "Check the path."
        )
    return tuple(sorted(found, key=lambda file: natural(file.relative_to(path).as_posix())))


def is_sound(file: Path) -> bool:
    """Whether its ending is that of a sound file; nothing is opened."""
    from delivery.intake.begin.masters import LOSSLESS, LOSSY

    return file.suffix.lower() in LOSSLESS | LOSSY


def _hidden(file: Path, root: Path) -> bool:
    return any(piece.startswith(".") for piece in file.relative_to(root).parts)
