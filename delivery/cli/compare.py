"""delivery compare: a song beside a reference playlist, or two files beside each other."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 5.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery compare Song.wav --reference indie-folk",
            "delivery compare album/release.yaml -r indie-folk --json",
            "delivery compare Mix.wav Master.wav",
            "delivery compare Song.wav",
        )
    )(compare)


def compare(
    paths: Annotated[list[Path], typer.Argument(help="A song or an album; or, without --reference, two sound files.")],
    reference: Annotated[
        str, typer.Option("--reference", "-r", help="Name of a reference playlist, or its JSON file.")
    ] = "",
    listen: Annotated[
        Path | None,
        typer.Option(
            "--listen", metavar="FOLDER", help="Of two files: write matched copies and a page to switch them."
        ),
    ] = None,
    blind: Annotated[
        bool, typer.Option("--blind", help="With --listen: hide the names; a text file beside the page lists them.")
    ] = False,
    stems: Annotated[
        list[Path] | None,
        typer.Option("--stems", help="Of one main mix: stems to add up, files or their folder. Repeat for several."),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Every figure and every third octave.")] = False,
    leave_out_marked: Annotated[
        bool, typer.Option("--leave-out-marked", help="Compare without the reference's doubtful tracks.")
    ] = False,
    page: Annotated[Path | None, typer.Option("--html", help="Also write a page for a browser, to this file.")] = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Compare a song with a reference playlist, or two files.

    In decibels, without a grade. Make a reference once: delivery reference make NAME FOLDER

    Two files, such as a mix and its master or two candidates, are aligned to a fraction of a sample and matched in
    loudness: delay, gain, polarity, tone, what is left when one is subtracted, and the contrast between sections.

    One song alone: its sections, from the release file beside it or found from the sound, and how much each differs
    from the one before.
    """
    from delivery.errors import Unusable

    if stems:
        _stems(paths, stems, as_json=as_json)
        return
    if not reference and len(paths) == 2:
        from delivery.cli._pair import compare_pair

        compare_pair(
            *paths,
            listen=listen,
            blind=blind,
            page=page,
            as_json=as_json,
            everything=everything,
            no_cache=no_cache,
            workers=workers,
        )
        return
    if listen or blind:
        raise Unusable("--listen", "one song", "two files of one recording", "Name both: delivery compare ONE OTHER.")
    if not reference:
        if page:
            raise Unusable("--html", "one song", "--reference, or two files", "Name a reference or a second file.")
        _sections(paths, as_json=as_json, everything=everything, no_cache=no_cache, workers=workers)
        return
    from delivery.report.data import reference as data
    from delivery.report.text import reference as text
    from delivery.tasks.reference import compare_with_reference

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        found = compare_with_reference(
            paths, reference, cache, leave_out_marked=leave_out_marked, workers=workers, progress=progress
        )
    if page:
        from delivery.report.html.reference import render

        _edge.write_page(page, render(found))
    if as_json:
        _edge.print_json(data.comparison(found))
    else:
        _edge.show(text.comparison(found, everything=everything))
    for problem in found.problems:
        _edge.say(problem)
    raise typer.Exit(2 if found.problems else 0)


def _stems(paths: list[Path], stems: list[Path], *, as_json: bool) -> None:
    """Print whether the stems add up to the main mix."""
    from dataclasses import asdict

    from delivery.errors import Unusable
    from delivery.report.view.stems import stem_sentences
    from delivery.tasks.stems import check_stems

    if len(paths) != 1:
        raise Unusable("--stems", f"{len(paths)} main mixes", "one", "Name it: delivery compare MAIN --stems FOLDER.")
    with _edge.progress(as_json) as progress:
        found = check_stems(paths[0], stems, progress)
    if as_json:
        _edge.print_json({"stems": {**asdict(found), "sentences": stem_sentences(found)}})
    else:
        _edge.console().print(*stem_sentences(found), sep="\n", markup=False)


def _sections(paths: list[Path], *, as_json: bool, everything: bool, no_cache: bool, workers: int) -> None:
    """Print the sections of one song, or of an album's songs."""
    from delivery.errors import Unusable
    from delivery.report.data import sections as data
    from delivery.report.text.sections import sections_text
    from delivery.report.view.sections import sections_view
    from delivery.tasks.sections import song_sections

    if len(paths) > 1:
        remedy = "Name one song for its sections, two files to compare them, or a reference: --reference NAME."
        raise Unusable("compare", f"{len(paths)} paths and no reference", "one song, two files, or --reference", remedy)
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        songs = song_sections(paths, cache, workers=workers, progress=progress)
    if as_json:
        _edge.print_bytes(data.render(songs))
    else:
        _edge.show(sections_text([sections_view(song) for song in songs], everything=everything))
    raise typer.Exit(2 if any(song.problem for song in songs) else 0)
