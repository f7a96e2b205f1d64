"""delivery waive: waive a must that is not met, in a named person's responsibility."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 3.6


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery waive album tail_s:12 --by 'A. Moreau' --why 'hidden track'",
        )
    )(waive)


def waive(
    release: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    rules: Annotated[list[str], typer.Argument(metavar="RULE[:TRACK]", help="A rule, for one track or for all.")],
    by: Annotated[str, typer.Option("--by", help="Who waives.")],
    why: Annotated[str, typer.Option("--why", help="The reason, printed on the sheet.")],
    as_json: _edge.AsJson = False,
) -> None:
    """Let a must that is not met pass, by name and reason.

    Both are printed on the sheet. It is written into the release file, and holds for later builds too, whatever the
    file contains, until it is deleted there; a waiver of 'approved' holds for this revision only. What was not
    measured, and what no file can hold, is never waived. The recipient may still refuse the delivery.
    """
    from delivery.errors import Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.tasks import waive as waiving

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    waivers = _edge.waivers_of(rules, by, why)
    written = waiving.waive(file, waivers)
    if as_json:
        _edge.print_json({"waived": [{"rule": one.rule, "track": one.track} for one in waivers], "by": by})
        return
    print(*_edge.waived(file, written), sep="\n")
