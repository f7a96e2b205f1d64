"""delivery history: what was delivered, to whom, when, and which bits."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 4.2


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery history ZZ-OSL-26-00001",
            "delivery history Ada Fenn",
            "delivery history 'Low Water FINAL.wav'",
            "delivery history --rebuild ~/deliveries",
        )
    )(history)


def history(
    query: Annotated[
        list[str] | None,
        typer.Argument(help="A file, a package, an ISRC, or words of a title, name or number. Default: the last ones."),
    ] = None,
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="Read the packages in these folders into the ledger; QUERY is folders.")
    ] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="Every delivery found, with all its files and their hashes.")
    ] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Find what was delivered: to whom, when, which bits.

    A file is recognised by its bytes or, renamed or with other tags, by its sound. Every build on this machine is
    recorded in a ledger of your own. Ends with 1 where nothing is found.
    """
    from delivery.report.data import history as data
    from delivery.report.text import history as text
    from delivery.tasks.history import history as look_up
    from delivery.tasks.stores import deliveries_of

    if rebuild:
        _rebuild([Path(folder) for folder in query or ()], as_json)
        return
    ledger = deliveries_of()
    found = look_up(" ".join(query or ()), ledger, everything=everything)
    if as_json:
        _edge.print_json(data.document(found))
    elif found.total or ledger.usable:  # 'not found' would be wrong for a ledger that could not be read
        _edge.console().print(
            *text.history(found, everything=everything), sep="\n", soft_wrap=len(found.deliveries) < 4
        )
    for remark in ledger.remarks:
        _edge.say(remark)
    raise typer.Exit(2 if not ledger.usable else 0 if found.total else 1)


def _rebuild(folders: list[Path], as_json: bool) -> None:
    from delivery.errors import Unusable
    from delivery.tasks.history import rebuild
    from delivery.tasks.stores import deliveries_of

    if not folders:
        raise Unusable("--rebuild", "no folder", "folders that hold packages", "Name them: --rebuild ~/deliveries")
    ledger = deliveries_of()
    with _edge.progress(as_json) as progress:
        done = rebuild(folders, ledger, progress)
    if as_json:
        _edge.print_json({"new": done.new, "known": done.known, "faults": list(done.faults)})
    elif ledger.usable:
        print(f"{done.new} new, {done.known} known; the ledger is {_edge.here(ledger.path)}.")
    if done.new and ledger.usable:
        _edge.say("Hand-overs and answers are kept in the ledger alone: packages cannot give back those of a lost one.")
    for remark in (*ledger.remarks, *done.faults):
        _edge.say(remark)
    raise typer.Exit(2 if not ledger.usable else 1 if done.faults else 0)
