"""delivery measure: figures only, no verdict."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.part import Source
    from delivery.model.programme_totals import ProgrammeTotals
    from delivery.model.second_opinion import SecondOpinion
    from delivery.model.trial import Trial
    from delivery.tasks.measure import Measured

ORDER = 5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery measure Song.wav",
            "delivery measure --json masters/*.flac",
            "delivery measure --csv masters > figures.csv",
        )
    )(measure)


def measure(
    context: typer.Context,
    paths: Annotated[list[Path] | None, typer.Argument(help="Sound files, or folders of them.")] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Every figure of each file, where several would be one table.")
    ] = False,
    as_json: _edge.AsJson = False,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="A table for spreadsheets on standard output: a row for each figure.")
    ] = False,
    after_codec: Annotated[
        bool, typer.Option("--after-codec", help="Encode, decode to float and measure the peaks of that as well.")
    ] = False,
    codecs: Annotated[
        str,
        typer.Option("--codecs", help="Codecs to try, such as mp3:320,mp3:v0,aac:256,opus:128; implies --after-codec."),
    ] = "",
    second_opinion: Annotated[
        bool,
        typer.Option("--second-opinion", help="Measure with another loudness meter too, and print the difference."),
    ] = False,
    cutting_reference: Annotated[
        float | None,
        typer.Option(
            "--cutting-reference",
            metavar="DBFS",
            min=-40,
            max=0,
            help="Also how fast a cutting stylus moves if a 1 kHz sine at this level cuts 7.07 cm/s peak, such as -18.",
        ),
    ] = None,
    explain: Annotated[
        list[str] | None,
        typer.Option("--explain", metavar="FIGURE", help="Print how a figure is defined. Repeat for several."),
    ] = None,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
    cluster: _edge.ClusterAddress = "",
    remote: _edge.Remote = False,
) -> None:
    """Measure files and print the figures, without a verdict.

    One file is printed by every figure, several as one table with a line for each.

    Several files are also measured as one programme, gated over all of them at once, as for an album.

    Ends with 2 where a file cannot be used, and with 1 where a requested codec could not be tried.
    """
    with _edge.loading("delivery.tasks.measure"):
        from delivery import figures_by_subject
        from delivery.errors import Unusable
        from delivery.tasks.measure import measure_files

        figures_by_subject()  # loads the meters

    if explain:
        _explain(explain)
        return
    if not paths:
        raise Unusable("measure", "no file", "a sound file or a folder", "Name one: delivery measure Song.wav")
    _refuse_both(as_json, as_csv)
    paths, fetched = _edge.local(context, paths, remote, workers, as_json or as_csv)
    trial_codecs = codecs or ("" if after_codec else None)
    short = trial_codecs is None and not (
        everything or second_opinion or as_json or as_csv or cutting_reference is not None
    )
    with (
        _edge.engine(cluster, fetched) as engine,
        _edge.measurement_cache(no_cache) as cache,
        _edge.progress(as_json or as_csv) as progress,
    ):
        found = measure_files(
            paths,
            cache,
            codecs=trial_codecs,
            second_opinion=second_opinion,
            workers=workers,
            progress=progress,
            only=_printed(short=short, rows=as_json),
            cutting_reference_dbfs=cutting_reference,
            engine=engine,
        )
    if fetched:
        found = _edge.with_addresses(found, fetched)
    if as_json or as_csv:
        from delivery.report.data import measured as data_measured
        from delivery.report.data import measured_csv

        render = data_measured.render if as_json else measured_csv.render
        _edge.print_bytes(render(found.sources, figures_by_subject(), found.together, found.trials, found.opinions))
    elif len(found.sources) > 1 and short:
        _print_short(found)
    else:
        _print(found)
    raise typer.Exit(2 if any(source.problem for source in found.sources) else 1 if found.untried else 0)


def _printed(*, short: bool, rows: bool) -> frozenset[str]:
    """The figures printed for several files: with thousands of files, nothing else is held in memory.

    Parameters
    ----------
    short : one table with a line for each file
    rows : with long rows for pictures, as in the JSON document
    """
    from delivery import figures_by_subject
    from delivery.model.figure import Subject
    from delivery.report.text.measured import SONGS_TABLE_NEEDS

    if short:
        return frozenset(SONGS_TABLE_NEEDS)
    figures = figures_by_subject().items()
    return frozenset(name for name, figure in figures if rows or figure.subject is not Subject.MATERIAL)


def _explain(names: Sequence[str]) -> None:
    from delivery import figures
    from delivery.report.view.figure_names import figure_id, figure_name
    from delivery.schema.figures_page import definition

    ids = [figure_id(name, figures()) for name in names]
    defined = [(figure, definition(figure)) for figure in ids]  # an unknown name is refused before anything is printed
    for figure, lines in defined:
        typer.echo("\n  ".join([f"{figure_name(figure)} ({figure})", *lines]))


def _refuse_both(as_json: bool, as_csv: bool) -> None:
    from delivery.errors import Unusable

    if as_json and as_csv:
        raise Unusable("measure", "--json and --csv", "one of them", "Standard output has one document only.")


def _print_short(found: Measured) -> None:
    """A line for each file, then the files as one programme."""
    from delivery.report.text.measured import songs_table

    console = _edge.console()
    console.print(*songs_table([(source.track.file.name, source.measurement) for source in found.sources]), sep="\n")
    if found.together:
        print()
        _print_together(found.together)
    for source in found.sources:
        if source.problem:
            _edge.say(str(source.problem))
    print("Every figure of one file: delivery measure FILE; of all of them: --all.")


def _print(found: Measured) -> None:
    for source in found.sources:
        at = source.track.position
        if source.measurement is None:
            print(f"{source.problem}\n")
        else:
            _print_one(source, (found.trials or {}).get(at, ()), (found.opinions or {}).get(at))
    if found.together:
        _print_together(found.together)


def _print_one(source: Source, trials: Sequence[Trial], opinion: SecondOpinion | None) -> None:
    from delivery import figures_by_subject
    from delivery.report.text.measured import measure_table

    assert source.measurement is not None
    _print_lines(measure_table(source.track.file, source.measurement, figures_by_subject(), *_room()))
    if opinion or trials:
        from delivery.report.text import trials as trial_output  # brings the whole view of a delivery

        console = _edge.console()
        heard = trial_output.second_opinion(opinion) if opinion else ()
        console.print(*heard, *(trial_output.codec_table(trials) if trials else ()), sep="\n")
    print()


def _print_together(together: ProgrammeTotals) -> None:
    from delivery import figures_by_subject
    from delivery.report.text.measured import together_table

    _print_lines(together_table(together, figures_by_subject(), *_room()))


def _room() -> tuple[int, str]:
    """Width of the terminal, and the signs for small drawings that it can show."""
    from delivery.report.text.measured import BLOCKS, LETTERS

    speaks_unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    return shutil.get_terminal_size().columns, BLOCKS if speaks_unicode else LETTERS


def _print_lines(lines: Sequence[str]) -> None:
    """Headings in bold on a terminal."""
    from delivery.report.text.measured import Heading

    if not sys.stdout.isatty():
        print(*lines, sep="\n")
        return
    console = _edge.console()
    for line in lines:
        console.print(line, style="bold" if isinstance(line, Heading) else None, markup=False, emoji=False)
