"""delivery start: write a first release file from a folder of masters, optionally with the client's label copy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.tasks.start import Started

ORDER = 1


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery start masters/",
            "delivery start masters/ --artist 'Ada Fenn' --cover front.png",
            "delivery start masters/ --blank-sheet copy.xlsx",
            "delivery start masters/ --label-copy 'from client.xlsx'",
            "delivery start masters/ --label-copy list.csv --column 'Liedname=title'",
            "delivery start masters/ --spec vinyl-sides",
        )
    )(start)


def start(
    folder: Annotated[Path, typer.Argument(help="Folder of masters.")],
    label_copy: Annotated[
        Path | None, typer.Option("--label-copy", help="The client's sheet, CSV, XLSX or ODS: titles, codes, credits.")
    ] = None,
    worksheet: Annotated[str, typer.Option("--worksheet", help="Which sheet of a workbook has the tracks.")] = "",
    column: Annotated[
        list[str] | None,
        typer.Option("--column", help="HEADER=FIELD for an unknown header; saved. FIELD 'ignore' skips it."),
    ] = None,
    leave_out_faults: Annotated[
        bool, typer.Option("--leave-out-faults", help="Import the rest if cells have faults or rows have no file.")
    ] = False,
    blank_sheet: Annotated[
        Path | None,
        typer.Option("--blank-sheet", help="Write a sheet (.xlsx or .csv) for the client to fill in, and stop."),
    ] = None,
    spec: Annotated[
        list[str] | None,
        typer.Option(
            "--spec", "-s", help="Spec to deliver to. Repeat for several. For a record or tape, sides are proposed."
        ),
    ] = None,
    title: Annotated[
        str, typer.Option("--title", help="Of the release. Default: from tags, or the folder's name.")
    ] = "",
    artist: Annotated[str, typer.Option("--artist", help="Of the release. Default: from tags or file names.")] = "",
    version: Annotated[str, typer.Option("--version", help="Of the release, such as Instrumental Edition.")] = "",
    label: Annotated[str, typer.Option("--label", help="Of the release.")] = "",
    upc: Annotated[str, typer.Option("--upc", help="Of the release: 12 or 13 digits.")] = "",
    cover: Annotated[
        Path | None, typer.Option("--cover", "--artwork", help="The picture. Default: the one in the folder.")
    ] = None,
    dated: Annotated[str, typer.Option("--dated", help="The date to print on sheets, year-month-day.")] = "",
    write: Annotated[
        bool,
        typer.Option(
            "--write",
            "--replace",
            help="Write what a sheet brings into an existing release.yaml; without a sheet: write it again, with the "
            "old one kept as release.old.yaml.",
        ),
    ] = False,
    conflicts: Annotated[
        str, typer.Option("--conflicts", help="sheet or file: which value to keep where both have changed.")
    ] = "",
    as_json: _edge.AsJson = False,
) -> None:
    """Write a release file from a folder of masters.

    Order, titles and codes come from tags and file names.

    With --label-copy the client's sheet fills it in. Rows find their files by code, title, number and length; what
    could be two files becomes a question, or is refused in a script. Codes that a spreadsheet has damaged are
    refused with the cell, never guessed.

    Where release.yaml exists, the sheet is merged into it: what the client changed since the last import goes in,
    what you changed stays, and what both changed becomes a question. All of it is shown before it is written.
    """
    from delivery.errors import Unusable
    from delivery.tasks.start import start_bare, start_from_sheet

    if blank_sheet is not None:
        _blank(folder, blank_sheet, write, as_json)
        return
    if conflicts not in ("", "sheet", "file"):
        raise Unusable("--conflicts", repr(conflicts), "sheet or file", "Say whose value counts.")
    values = {"title": title, "artist": artist, "version": version, "label": label, "upc": upc}
    values |= {"artwork": str(cover or ""), "dated": dated}
    stated = {key: text for key, text in values.items() if text}
    silent = as_json or not _edge.is_interactive()
    if label_copy is None:
        started = start_bare(folder, replace=write, specs=tuple(spec or ()), stated=stated)
    else:
        started = start_from_sheet(
            folder,
            label_copy,
            worksheet=worksheet,
            columns=tuple(column or ()),
            leave_out=leave_out_faults,
            replace=write,
            ask=None if silent else _ask,
            specs=tuple(spec or ()),
            stated=stated,
            prefer=conflicts,
            agree=None if silent else _agree,
        )
    _tell(started, as_json, shown=not (silent or write) and bool(started.changes))


def _blank(folder: Path, sheet: Path, replace: bool, as_json: bool) -> None:
    from delivery.tasks.label_copy import write_blank_sheet

    write_blank_sheet(folder, sheet, replace=replace)
    if as_json:
        _edge.print_json({"blank_sheet": str(sheet)})
        return
    print(f"Wrote {_edge.here(sheet)}. When the client has filled it in:")
    print(f"  delivery start {_edge.typed(folder)} --label-copy {_edge.typed(sheet)}")


def _tell(started: Started, as_json: bool, *, shown: bool) -> None:
    """Print the result.

    Parameters
    ----------
    shown : remarks and changes are already on the screen
    """
    if as_json:
        _edge.print_json(_document(started))
    else:
        if not shown:
            _show(started)
        print(*_outcome(started), sep="\n")
    if started.release is None:
        raise typer.Exit(2)


def _document(started: Started) -> dict[str, Any]:
    from delivery.model.unconfirmed import unconfirmed

    release = started.release
    return {
        "release_file": str(started.path),
        "tracks": [track.title for track in release.tracks] if release else None,
        "written": release is not None,
        "to_confirm": [one.address for one in unconfirmed(release)] if release else None,
        "remarks": list(started.remarks),
        "changes": list(started.changes) if started.changes is not None else None,
        "kept": list(started.kept),
    }


def _show(started: Started) -> None:
    for remark in started.remarks:
        _edge.say(remark)
    if started.kept:
        print("Kept from the release file:", *started.kept, sep="\n  ")
    if started.changes is not None:
        print("The sheet brings:", *(started.changes or ["nothing new."]), sep="\n  ")


def _outcome(started: Started) -> Iterator[str]:
    from delivery.model.unconfirmed import unconfirmed

    path, typed = _edge.here(started.path), _edge.typed(started.path)
    if started.release is None:
        yield f"Nothing was written: --write puts this into {path}."
        return
    if started.changes == ():
        yield f"{path} stays as it is."
        return
    if started.moved:
        yield f"The old one is kept as {_edge.here(started.moved)}."
    count = len(started.release.tracks)
    yield f"Wrote {path} with {count} track{'' if count == 1 else 's'}. Fill in what is still open, then:"
    if unconfirmed(started.release):
        yield f"  delivery confirm {typed}  (values from folder and file names)"
    yield f"  delivery check {typed}"


def _agree(started: Started) -> bool:
    _show(started)
    return typer.confirm(f"Write this into {_edge.here(started.path)}?", default=False)


def _ask(question: str, choices: Sequence[str]) -> int | None:
    """Ask on the terminal; the answer is a number, 0 for none."""
    print(question)
    for number, choice in enumerate(choices, start=1):
        print(f"  {number}  {choice}")
    answer: int = typer.prompt("Number, or 0 for none of them", type=int, default=0)
    return answer - 1 if 1 <= answer <= len(choices) else None
