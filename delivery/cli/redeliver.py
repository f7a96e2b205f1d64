"""delivery redeliver: a new recipient's files from an archived package."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 4.3


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery redeliver 'OSL-014 Harbour Arithmetic rev 1' --spec sync-48-24",
        )
    )(redeliver)


def redeliver(
    package: Annotated[Path, typer.Argument(help="An archived package.")],
    spec: Annotated[list[str], typer.Option("--spec", "-s", help="Spec of the new recipient. Repeat for several.")],
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FOLDER", help="Folder for the new package. Default: beside it.")
    ] = None,
    dated: Annotated[str, typer.Option("--dated", help="The date to print: year-month-day.", metavar="DAY")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Print every step and every remark in full.")] = False,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Make files for a new recipient when the masters are gone.

    From the best lossless file of each track in the package, with the label copy of its data; the sheet states the
    origin. A track of which the package holds no lossless file is refused.
    """
    from delivery import Options, figures
    from delivery.pipeline.deliveries import superseded
    from delivery.pipeline.past_package import read_package
    from delivery.report.data import document
    from delivery.report.text import full, terminal
    from delivery.report.view.make import view_of
    from delivery.tasks.days import stated_day
    from delivery.tasks.redeliver import redeliver as make
    from delivery.tasks.stores import delivered_before, deliveries_of

    day = stated_day(dated, "--dated") if dated else None
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        built = make(package, tuple(spec), into, Options(workers, cache, progress=progress), day)
    view = view_of(built.delivery, figures())
    if as_json:
        _edge.print_bytes(document.render(view))
    else:
        _edge.show((full.build_summary if everything else terminal.build_short)(view))
        print(f"Package      {_edge.here(built.package)}" if built.package else "No package was written.")
    later = superseded(read_package(package), deliveries_of(built.delivery.studio))
    for remark in (*filter(None, [later]), *delivered_before(built.delivery, built.package)):
        _edge.say(remark)
    raise typer.Exit(_edge.exit_code(built.delivery.result))
