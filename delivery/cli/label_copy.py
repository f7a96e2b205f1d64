"""delivery label-copy: export a release's label copy in common formats."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 6


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        name="label-copy",
        epilog=_edge.examples(
            "delivery label-copy album",
            "delivery label-copy album --as xlsx --into copy.xlsx",
        ),
    )(label_copy)


def label_copy(
    path: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    form: Annotated[
        str, typer.Option("--as", help="csv, xlsx, text ...; an unknown one lists them all. Default: text.")
    ] = "",
    into: Annotated[Path | None, typer.Option("--into", help="File to write. Default: standard output.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing file.")] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Print or write the label copy: titles, credits, codes, shares. CSV and XLSX read back as they are.

    With --json the label copy is printed as one JSON document; beside --into, what was written where.
    """
    from delivery.errors import Occupied, Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.tasks.label_copy import label_copy_of, unconfirmed_of
    from delivery.tasks.write import write_bytes

    release_file = release_file_of(path)
    if release_file is None:
        raise Unusable(str(path), "no release file", "a release file", f"Write one: delivery start {_edge.typed(path)}")
    if as_json and into is None and form not in ("", "json"):
        raise Unusable("--json", f"--as {form} beside it", "--as json, or a file to write", "Add --into FILE.")
    form = form or ("json" if as_json and into is None else "text")
    content = label_copy_of(release_file, form)
    if guesses := unconfirmed_of(release_file):
        _edge.say(f"Not confirmed yet, from folder and file names: {guesses}. See 'delivery confirm'.")
    if into is None:
        _edge.print_bytes(content)
        return
    if into.exists() and not replace:
        raise Occupied(str(into), "an existing file", "a path that does not exist yet", "Use --replace to replace it.")
    write_bytes(into, content)
    if as_json:
        _edge.print_json({"label_copy": str(into), "form": form})
    else:
        print(f"Wrote {_edge.here(into)}.")
