"""delivery names: what every file will be called, before a build."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 2.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery names album",
            "delivery names album -s sync-48-24 --json",
        )
    )(names)


def names(
    path: Annotated[Path, typer.Argument(help="A release file, a folder, or one sound file.")],
    spec: _edge.SpecNames = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Show the file names that each spec gives; write nothing.

    Also printed: characters that no file name may contain, letters written in ASCII, what was shortened or numbered,
    and claims of an earlier name that contradict the file (exit code 1).
    """
    from dataclasses import asdict

    from delivery import Options, check, resolve_request
    from delivery.pipeline.names import names_of
    from delivery.report.text.names import names_table

    request = resolve_request(path, tuple(spec or ()))
    with _edge.measurement_cache(no_cache, request.studio) as cache, _edge.progress(as_json) as progress:
        named = names_of(check(request, Options(workers=workers, cache=cache, progress=progress)))
    if as_json:
        _edge.print_json([asdict(one) for one in named])
    else:
        _edge.show(names_table(named))
    raise typer.Exit(1 if any(one.wrong for one in named) else 0)
