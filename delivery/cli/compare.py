"""delivery compare: is it right yet? A song beside a reference playlist."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 5.5


def add(app: typer.Typer) -> None:
    app.command(
        epilog="Examples:  delivery compare Song.wav --reference indie-folk  ·  "
        "delivery compare album/release.yaml -r indie-folk --json"
    )(compare)


def compare(
    paths: Annotated[list[Path], typer.Argument(help="A song, or an album: sound files, a folder, a release file.")],
    reference: Annotated[
        str, typer.Option("--reference", "-r", help="Name of a reference playlist, or its JSON file.")
    ] = "",
    everything: Annotated[bool, typer.Option("--all", help="Every figure and every third octave.")] = False,
    leave_out_marked: Annotated[
        bool, typer.Option("--leave-out-marked", help="Compare without the reference's doubtful tracks.")
    ] = False,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Set a song or an album beside a reference playlist, in decibels, without a grade.

    Make a reference once: delivery reference make NAME FOLDER
    """
    from delivery.errors import Unusable
    from delivery.report.data import reference as data
    from delivery.report.text import reference as text
    from delivery.tasks.reference import compare_with_reference

    if not reference:
        raise Unusable("compare", "no reference", "--reference NAME", "See: delivery reference list")
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        found = compare_with_reference(
            paths, reference, cache, leave_out_marked=leave_out_marked, workers=workers, progress=progress
        )
    if as_json:
        _edge.print_json(data.comparison(found))
    else:
        _edge.console().print(*text.comparison(found, everything=everything), sep="\n")
    for problem in found.problems:
        _edge.say(problem)
    raise typer.Exit(2 if found.problems else 0)
