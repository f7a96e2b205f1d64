"""delivery measure: figures only, no verdict."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 5


def add(app: typer.Typer) -> None:
    app.command(epilog="Examples:  delivery measure Song.wav  ·  delivery measure --json masters/*.flac")(measure)


def measure(
    paths: Annotated[list[Path], typer.Argument(help="Sound files, or folders of them.")],
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Measure files and print every figure; a figure that does not exist says why."""
    from delivery.job.intent import bare_release, sound_files
    from delivery.job.sources import take_in
    from delivery.measure import figures
    from delivery.report import data_json, terminal

    files = tuple(file for path in paths for file in sound_files(path))
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        sources = take_in(bare_release(files), cache, workers, progress)
    if as_json:
        _edge.print_bytes(data_json.measurements(sources, figures()))
    else:
        for source in sources:
            _edge.console().print(*terminal.measure_table(source, figures()), sep="\n")
    raise typer.Exit(2 if any(source.problem for source in sources) else 0)
