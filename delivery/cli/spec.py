"""delivery spec: the library of spec files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.spec import Spec

ORDER = 6


def add(app: typer.Typer) -> None:
    """Register the command."""
    specs = typer.Typer(
        help="List, explain, compare and begin spec files.",
        epilog=_edge.examples(
            "delivery spec list",
            "delivery spec explain cd-rate-16",
            "delivery spec new my-library --based-on sync-48-24",
        ),
        no_args_is_help=True,
    )
    for command in (list_specs, explain, diff, new):
        specs.command(name="list" if command is list_specs else None)(command)
    app.add_typer(specs, name="spec")


def list_specs(as_json: _edge.AsJson = False) -> None:
    """List every spec found, the studio's own first."""
    from delivery.tasks.specs import all_specs

    specs = all_specs()
    if as_json:
        _edge.print_json({"specs": [_row(spec) for spec in specs]})
        return
    from rich.table import Table

    table = Table("name", "what for", "checked", box=None, pad_edge=False)
    for spec in specs:
        table.add_row(spec.id, spec.title, spec.checked.isoformat())
    _edge.console().print(table)


def explain(name: Annotated[str, typer.Argument(help="Spec name or path.")], as_json: _edge.AsJson = False) -> None:
    """Explain in plain sentences what a spec requires.

    Each limit is printed with its source."""
    from datetime import date

    from delivery.schema import explain
    from delivery.tasks.specs import find_spec, is_stale

    spec = find_spec(name)
    if remark := is_stale(spec, date.today()):
        _edge.say(remark)
    if as_json:
        _edge.print_json({**_row(spec), "sentences": explain(spec)})
    else:
        _edge.console().print(*explain(spec), sep="\n", markup=False)


def diff(
    one: Annotated[str, typer.Argument(help="Spec name or path.")],
    other: Annotated[str, typer.Argument(help="Spec name or path.")],
    as_json: _edge.AsJson = False,
) -> None:
    """Compare two specs."""
    from delivery.schema import difference
    from delivery.tasks.specs import find_spec

    sentences = difference(find_spec(one), find_spec(other))
    if as_json:
        _edge.print_json({"one": one, "other": other, "differences": sentences})
    else:
        _edge.console().print(*(sentences or ["Both require the same."]), sep="\n", markup=False)


def new(
    name: Annotated[str, typer.Argument(help="Name of the new spec, such as 'my-library'.")],
    based_on: Annotated[str, typer.Option("--based-on", help="Spec to inherit from.")] = "store-base",
    into: Annotated[Path, typer.Option("--into", metavar="FOLDER", help="Folder to write to.")] = Path(),
    as_json: _edge.AsJson = False,
) -> None:
    """Begin a spec file of your own, with comments."""
    from datetime import date

    from delivery.tasks.specs import begin_spec

    target = begin_spec(name, based_on, into, date.today())
    if as_json:
        _edge.print_json({"spec_file": str(target)})
    else:
        print(f"Wrote {_edge.here(target)}. Fill it in, then:  delivery spec explain {_edge.here(target)}")


def _row(spec: Spec) -> dict[str, Any]:
    return {
        "name": spec.id,
        "title": spec.title,
        "about": spec.about,
        "checked": spec.checked.isoformat(),
        "based_on": list(spec.lineage),
        "digest": spec.digest,
    }
