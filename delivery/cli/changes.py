"""delivery changes: what differs between two deliveries."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 4.2


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery changes 'OSL-014 Harbour Arithmetic rev 1' album/release.yaml",
            "delivery changes 'OSL-014 rev 1' 'OSL-014 rev 2' --json",
        )
    )(changes)


def changes(
    earlier: Annotated[Path, typer.Argument(help="A package, a release file, or the folder of one.")],
    later: Annotated[Path, typer.Argument(help="The same, of the later one.")],
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Print what differs between two packages or release files.

    Audio (level, length, silence at the ends, tone), titles, credits, codes, order, gaps, specs, waivers and approval.
    Of a package the data beside its sheet is read; the masters of a release file are measured as 'check' does.
    """
    from delivery.report.data.changes import changes_document
    from delivery.report.view.changes import changes_lines, headline
    from delivery.tasks.changes import changes_between

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        found = changes_between(earlier, later, cache, workers, progress)
    if as_json:
        _edge.print_json(changes_document(found))
        return
    console = _edge.console()
    for line in (headline(found), *(f"- {line}" for line in changes_lines(found))):
        console.print(line, markup=False)
