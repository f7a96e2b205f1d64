"""delivery measure: figures only, no verdict."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from rich.console import RenderableType

    from delivery.model.part import Source

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
    from delivery.report import data_json

    files = tuple(file for path in paths for file in sound_files(path))
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        sources = take_in(bare_release(files), cache, workers, progress)
    if as_json:
        _edge.print_bytes(data_json.measurements(sources))
    else:
        for source in sources:
            _edge.console().print(*_shown(source), sep="\n")
    raise typer.Exit(2 if any(source.problem for source in sources) else 0)


def _shown(source: Source) -> Sequence[RenderableType]:
    from delivery.measure import figures
    from delivery.report import terminal

    if source.measurement is None:
        return [f"{source.problem}\n"]
    return [*terminal.measure_table(source.track.file, source.measurement, figures()), ""]
