"""delivery questions: open questions for the client, as a mail and a sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 3.7
MAIL, SHEET = "questions.txt", "questions.xlsx"


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery questions album",
            "delivery start album --label-copy questions.xlsx   # the answer",
        )
    )(questions)


def questions(
    release: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    into: Annotated[
        Path | None,
        typer.Option("--into", metavar="FOLDER", help="Folder for the two files. Default: beside the release file."),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over questions of an earlier day.")] = False,
    spec: _edge.SpecNames = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Write the questions for the client: a mail and a sheet.

    They hold exactly what is missing or doubtful: codes, shares, explicit, sides, spelling. The filled-in sheet is read
    by 'delivery start FOLDER --label-copy'; what it does not ask about stays as it is.
    """
    from delivery import Options, check, figures, resolve_request
    from delivery.errors import Occupied, Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.report.label_copy.xlsx import as_workbook
    from delivery.report.view.make import view_of
    from delivery.report.view.questions import mail, questions_of
    from delivery.tasks.write import write_bytes

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    request = resolve_request(file, tuple(spec or ()))
    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        view = view_of(check(request, Options(workers=workers, cache=cache, progress=progress)), figures())
    open_questions = questions_of(view)
    if not open_questions.questions:
        if as_json:
            _edge.print_json({"questions": []})
        else:
            print("No question for the client: nothing is missing or doubtful.")
        return
    folder = into or file.parent
    taken = [name for name in (MAIL, SHEET) if (folder / name).exists()]
    if taken and not replace:
        raise Occupied(str(folder / taken[0]), "an existing file", "a path that does not exist yet", "Use --replace.")
    text = mail(view, open_questions, SHEET)
    write_bytes(folder / MAIL, text.encode())
    write_bytes(folder / SHEET, as_workbook(open_questions.sheet))
    if as_json:
        listed = [{"about": one.about, "asks": one.text, "column": one.column} for one in open_questions.questions]
        _edge.print_json({"questions": listed, "mail": str(folder / MAIL), "sheet": str(folder / SHEET)})
        return
    print(text)
    print(f"Written to {_edge.here(folder / MAIL)} and {_edge.here(folder / SHEET)}.")
