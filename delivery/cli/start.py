"""delivery start: write a first release file from a folder of masters."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 1


def add(app: typer.Typer) -> None:
    app.command(epilog="Example:  delivery start masters/  writes masters/release.yaml; fill in what it asks.")(start)


def start(
    folder: Annotated[Path, typer.Argument(help="Folder of masters.")],
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing release.yaml.")] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Write a first release file from a folder of masters: order, titles and codes from tags and file names."""
    from delivery.errors import Occupied
    from delivery.intake import first_release_file, load_release, write_text
    from delivery.job.intent import RELEASE_FILE

    target = folder / RELEASE_FILE
    if target.exists() and not replace:
        raise Occupied(str(target), "a release file there already", "a free place", "Use --replace to write it anew.")
    write_text(target, first_release_file(folder))
    release = load_release(target)
    if as_json:
        _edge.print_json({"release_file": str(target), "tracks": [track.title for track in release.tracks]})
        return
    print(f"Wrote {_edge.here(target)} with {len(release.tracks)} tracks. Fill in what it asks, then:")
    print(f"  delivery check {_edge.here(target)}")
