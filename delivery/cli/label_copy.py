"""delivery label-copy: a release's label copy in the forms others read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 6


def add(app: typer.Typer) -> None:
    app.command(
        name="label-copy",
        epilog="Examples:  delivery label-copy album  ·  delivery label-copy album --as xlsx --into copy.xlsx",
    )(label_copy)


def label_copy(
    path: Annotated[Path, typer.Argument(help="A release file, or the folder that holds release.yaml.")],
    form: Annotated[str, typer.Option("--as", help="csv, xlsx, json, jsonld or text.")] = "text",
    into: Annotated[Path | None, typer.Option("--into", help="File to write. Default: standard output.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing file.")] = False,
) -> None:
    """Print or write the label copy: titles, credits, codes, shares. CSV and XLSX read back as they are."""
    from delivery.errors import Occupied, Unusable
    from delivery.job.intent import release_file_of
    from delivery.job.label_copy import label_copy_of, write_bytes

    release_file = release_file_of(path)
    if release_file is None:
        raise Unusable(str(path), "no release file", "a release file", f"Write one: delivery start {_edge.here(path)}")
    content = label_copy_of(release_file, form)
    if into is None:
        _edge.print_bytes(content)
        return
    if into.exists() and not replace:
        raise Occupied(str(into), "a file there already", "a free name", "Use --replace to write it anew.")
    write_bytes(into, content)
    print(f"Wrote {_edge.here(into)}.")
