"""delivery verify: check a package again, at either end."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 4


def add(app: typer.Typer) -> None:
    app.command(epilog="Example:  delivery verify 'OSL-014 Harbour Arithmetic'")(verify)


def verify(
    package: Annotated[Path, typer.Argument(help="The package folder.")],
    as_json: _edge.AsJson = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Check a package: every checksum, every audio hash, every figure against the sheet's data.

    Says exactly which file differs how. Always measures anew.
    """
    from delivery.job.recheck import recheck
    from delivery.report import terminal

    with _edge.progress(as_json) as progress:
        checked = recheck(package, workers=workers, progress=progress)
    if as_json:
        _edge.print_json(checked.as_document())
    else:
        _edge.console().print(*terminal.verify_table(checked.package.name, checked.files, checked.rows()), sep="\n")
    raise typer.Exit(0 if checked.whole else 1)
