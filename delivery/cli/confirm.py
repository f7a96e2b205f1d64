"""delivery confirm: confirm values taken from folder and file names."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 1.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery confirm album",
            "delivery confirm album --all",
            "delivery confirm album title:3 title:all artwork",
        )
    )(confirm)


def confirm(
    path: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    values: Annotated[
        list[str] | None,
        typer.Argument(metavar="FIELD[:TRACK]", help="Values to confirm: title, artwork, title:3, title:all ..."),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Confirm all values as they are.")] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Confirm values taken from folder and file names.

    Nothing is built while such a value is unconfirmed. Without FIELD or --all the list is printed; on a terminal
    a question follows. Correct a wrong value in the release file first, then confirm it or delete it from to_confirm.
    """
    from delivery import load_release
    from delivery.errors import Unusable
    from delivery.model.unconfirmed import unconfirmed
    from delivery.pipeline.confirm import confirm, line_of, shown
    from delivery.pipeline.request import release_file_of

    file = release_file_of(path)
    if file is None:
        raise Unusable(str(path), "no release file", "a release file", f"Write one: delivery start {_edge.typed(path)}")
    release = load_release(file)
    found = unconfirmed(release)
    ask = not (as_json or everything or values)
    if ask and found:
        print(f"From folder and file names, to be confirmed ({_edge.here(file)}):")
        for one in found:
            print(f"  {line_of(release, one):9} {shown(one)}")
        everything = _edge.is_interactive() and typer.confirm("Is all of this right?", default=False)
    confirmed = confirm(file, tuple(values or ()), everything=everything) if everything or values else ()
    left = [one for one in found if one not in confirmed]
    if as_json:
        _edge.print_json(
            {
                "release_file": str(file),
                "confirmed": [{"field": one.address, "value": one.value} for one in confirmed],
                "to_confirm": [{"field": one.address, "value": one.value} for one in left],
            }
        )
    elif confirmed:
        print(f"Confirmed: {', '.join(one.address for one in confirmed)}.")
    elif not found:
        print("Nothing to confirm.")
    else:
        print(f"When all of it is right: delivery confirm {_edge.typed(file)} --all")
    raise typer.Exit(1 if left else 0)
