"""delivery migrate: rewrite files of an earlier version."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 9


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery migrate album/release.yaml specs/*.yaml",
        )
    )(migrate)


def migrate(
    files: Annotated[list[Path], typer.Argument(help="Spec, release and studio files.")],
    as_json: _edge.AsJson = False,
) -> None:
    """Rewrite names of an earlier version in your files.

    Only those names change: comments, order and everything else stay. Each file is replaced whole, or not at all.
    """
    from delivery.tasks import migrate as migrating

    found = migrating.migrate(files)
    if as_json:
        _edge.print_json({str(path): {one.old: one.new for one in renames} for path, renames in found.items()})
        return
    for path, renames in found.items():
        text = ", ".join(f"line {one.line}: {one.old} -> {one.new}" for one in renames)
        print(f"{_edge.here(path)}: {text or 'up to date; no action needed'}.")
