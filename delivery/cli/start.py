"""delivery start: write a first release file from a folder of masters, and perhaps the client's label copy."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.job.start import Started

ORDER = 1


def add(app: typer.Typer) -> None:
    app.command(
        epilog="Examples:  delivery start masters/  ·  delivery start masters/ --blank-sheet copy.xlsx  ·  "
        "delivery start masters/ --label-copy 'from client.xlsx'  ·  "
        "delivery start masters/ --label-copy list.csv --column 'Liedname=title'  ·  "
        "delivery start masters/ --spec vinyl-sides"
    )(start)


def start(
    folder: Annotated[Path, typer.Argument(help="Folder of masters.")],
    label_copy: Annotated[
        Path | None, typer.Option("--label-copy", help="The client's sheet, CSV or XLSX: titles, codes, credits.")
    ] = None,
    worksheet: Annotated[str, typer.Option("--worksheet", help="Which sheet of a workbook has the tracks.")] = "",
    column: Annotated[
        list[str] | None,
        typer.Option("--column", help="HEADER=FIELD for a header nobody knows; remembered. FIELD 'ignore' skips it."),
    ] = None,
    leave_out_faults: Annotated[
        bool, typer.Option("--leave-out-faults", help="Import the rest when cells have faults; they become comments.")
    ] = False,
    blank_sheet: Annotated[
        Path | None,
        typer.Option("--blank-sheet", help="Write a sheet (.xlsx or .csv) for the client to fill in, and stop."),
    ] = None,
    spec: Annotated[
        list[str] | None,
        typer.Option(
            "--spec", "-s", help="Spec to deliver to; again for more. For a record or tape sides are proposed."
        ),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing release.yaml.")] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Write a first release file from a folder of masters: order, titles and codes from tags and file names.

    With --label-copy the client's sheet fills it in. Rows find their files by code, title, number and length; what
    could be two files is asked about, or refused when nobody can be asked. Codes that a spreadsheet has damaged are
    refused with the cell, never guessed.
    """
    from delivery.job.start import start_bare, start_from_sheet

    if blank_sheet is not None:
        _blank(folder, blank_sheet, replace, as_json)
        return
    if label_copy is None:
        started = start_bare(folder, replace=replace, specs=tuple(spec or ()))
    else:
        started = start_from_sheet(
            folder,
            label_copy,
            worksheet=worksheet,
            columns=tuple(column or ()),
            leave_out=leave_out_faults,
            replace=replace,
            ask=None if as_json or not _edge.can_ask() else _ask,
            specs=tuple(spec or ()),
        )
    _tell(started, as_json)


def _blank(folder: Path, sheet: Path, replace: bool, as_json: bool) -> None:
    from delivery.job.label_copy import write_blank_sheet

    write_blank_sheet(folder, sheet, replace=replace)
    if as_json:
        _edge.print_json({"blank_sheet": str(sheet)})
        return
    print(f"Wrote {_edge.here(sheet)}. When it comes back:")
    print(f"  delivery start {_edge.here(folder)} --label-copy {_edge.here(sheet)}")


def _tell(started: Started, as_json: bool) -> None:
    from delivery.model.unconfirmed import unconfirmed

    changes = list(started.changes) if started.changes is not None else None
    if as_json:
        tracks = [track.title for track in started.release.tracks] if started.release else None
        document = {"release_file": str(started.path), "tracks": tracks, "written": started.release is not None}
        document["to_confirm"] = [one.address for one in unconfirmed(started.release)] if started.release else None
        _edge.print_json({**document, "remarks": list(started.remarks), "changes": changes})
    else:
        for remark in started.remarks:
            _edge.say(remark)
        if changes is not None:
            print("Since the last import:", *(changes or ["nothing is different."]), sep="\n  ")
        if started.release:
            count = len(started.release.tracks)
            many = f"{count} track{'' if count == 1 else 's'}"
            print(f"Wrote {_edge.here(started.path)} with {many}. Fill in what it asks, then:")
            if unconfirmed(started.release):
                print(f"  delivery confirm {_edge.here(started.path)}  (what folder and file names said)")
            print(f"  delivery check {_edge.here(started.path)}")
        else:
            print(f"{_edge.here(started.path)} is there already: --replace writes what the sheet says into it.")
    if started.release is None:
        raise typer.Exit(2)


def _ask(question: str, choices: Sequence[str]) -> int | None:
    """On the terminal, the answer a number; 0 for none of them."""
    print(question)
    for number, choice in enumerate(choices, start=1):
        print(f"  {number}  {choice}")
    answer: int = typer.prompt("Number, or 0 for none of them", type=int, default=0)
    return answer - 1 if 1 <= answer <= len(choices) else None
