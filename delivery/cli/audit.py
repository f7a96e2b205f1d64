"""delivery audit: a whole catalogue: what is not met, copies, clashes of codes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 2.7


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery audit catalogue --spec store-master-24 --into audit-june",
        )
    )(audit)


def audit(
    folders: Annotated[list[Path], typer.Argument(help="Folders, with all that is below them.", metavar="FOLDER...")],
    spec: _edge.SpecNames = None,
    into: Annotated[
        Path | None,
        typer.Option(
            "--into", metavar="FOLDER", help="Folder to make. Default: the first folder's name with '-audit'."
        ),
    ] = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
    cluster: _edge.ClusterAddress = "",
    remote: _edge.Remote = False,
) -> None:
    """Audit a catalogue: what is not met, copies, clashes of ISRCs.

    Every sound file below the folders is judged against each spec as it is, with its release file where there is one.

    Writes tables (CSV; Parquet with: pip install 'delivery[parquet]') and overview.html into a new folder.
    After Ctrl-C the next run continues where this one stopped.

    Ends with 1 where a requirement is not met, and with 2 where a file cannot be read.
    """
    from delivery.errors import Unusable
    from delivery.pipeline.engine import Here
    from delivery.tasks.audit.run import OVERVIEW, audit
    from delivery.tasks.audit.specs import specs_for
    from delivery.tasks.mirror import places_of

    if not folders:
        raise Unusable("audit", "no folder", "a folder of sound files", "Name one: delivery audit catalogue")
    specs = specs_for(tuple(spec or ()))
    target = into or Path(f"{folders[0].resolve().name}-audit")
    places = places_of(folders, remote=remote)
    with (
        _edge.engine(cluster) as engine,
        _edge.measurement_cache(no_cache) as cache,
        _edge.progress(as_json) as progress,
    ):
        try:
            found = audit(places, specs, target, cache=cache, engine=engine or Here(workers), progress=progress)
        except KeyboardInterrupt:
            kept = "Nothing was kept." if no_cache else "What was measured is kept; the next run continues from here."
            _edge.say(f"Stopped; nothing was written. {kept}")
            raise
    if as_json:
        from delivery.report.data.audit import document

        _edge.print_json(document(found))
    else:
        from delivery.report.text.audit import audit_short

        _edge.show(audit_short(found, target / OVERVIEW))
    raise typer.Exit(2 if found.unreadable else 1 if found.is_open else 0)
