"""delivery report: a month's deliveries by client."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 4.6


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery report --month 2026-11",
            "delivery report --month 2026-11 --into november.pdf",
            "delivery report --month 2026-11 --client 'Ada Fenn' --as csv",
        )
    )(report)


def report(
    month: Annotated[str, typer.Option("--month", help="Year and month, such as 2026-11.", metavar="MONTH")],
    client: Annotated[str, typer.Option("--client", help="Only clients whose name contains these words.")] = "",
    form: Annotated[
        str, typer.Option("--as", help="csv, xlsx or pdf. Default: by the ending of --into, else text.")
    ] = "",
    into: Annotated[Path | None, typer.Option("--into", help="File to write. Default: standard output.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing file.")] = False,
    page: Annotated[str, typer.Option("--page", help="Paper of the PDF: A4 or Letter.")] = "A4",
    everything: Annotated[bool, typer.Option("--all", help="Also every delivery, on the terminal.")] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Count a month's deliveries by client, for the invoice.

    Songs, parts, minutes, revisions, re-deliveries and open approvals, from your ledger. A delivery belongs to the
    month that its release file states under 'dated', else to that of its first hand-over. A song counts once, however
    often it was delivered.
    """
    from delivery.errors import Unusable
    from delivery.report.data import month_json
    from delivery.report.text import month as text
    from delivery.tasks import month as task
    from delivery.tasks.stores import deliveries_of

    if as_json and form and into is None:
        raise Unusable("--json", f"--as {form} beside it", "one of them, or a file to write", "Add --into FILE.")
    ledger = deliveries_of()
    view = task.month_report(month, client, ledger)
    form = form or (into.suffix.lstrip(".").lower() if into else "")
    if into:
        task.write(task.rendered(view, form, page), into, replace=replace)
    if as_json:
        _edge.print_json(month_json.document(view) | ({"written": str(into)} if into else {}))
    elif into:
        print(f"Wrote {_edge.here(into)}.")
    elif form:
        _edge.print_bytes(task.rendered(view, form, page))
    else:
        _edge.show(text.month(view, everything=everything))
    for remark in ledger.remarks:
        _edge.say(remark)
    raise typer.Exit(0 if ledger.usable else 2)
