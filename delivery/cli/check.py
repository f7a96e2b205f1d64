"""delivery check: measure and judge; write nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 2


def add(app: typer.Typer) -> None:
    app.command(
        epilog="Examples:  delivery check album/release.yaml  ·  delivery check album -s cd-rate-16  ·  "
        "delivery check 'Song.wav' -s store-master-24 --json"
    )(check)


def check(
    path: Annotated[Path, typer.Argument(help="A release file, a folder, or one sound file.")],
    spec: _edge.SpecNames = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Measure every master and judge it against each spec. Nothing is written.

    A folder without a release file, or a single file, is judged by its sound alone.
    """
    from datetime import date

    from delivery.job import Options, check, intend
    from delivery.measure import figures
    from delivery.report import data_json, terminal
    from delivery.report.view import view_of

    intent = intend(path, tuple(spec or ()), today=date.today())
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        delivery = check(intent, Options(workers=workers, cache=cache, progress=progress))
    view = view_of(delivery, figures())
    if as_json:
        _edge.print_bytes(data_json.render(view))
    else:
        _edge.console().print(*terminal.check_table(view), sep="\n")
    for remark in (*intent.remarks, *_edge.sent_before(delivery)):
        _edge.say(remark)
    raise typer.Exit(_edge.exit_code(delivery.result))
