"""delivery open: hand-overs that are not approved or not answered."""

from __future__ import annotations

import typer

from delivery.cli import _edge

ORDER = 4.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        name="open",
        epilog=_edge.examples(
            "delivery open",
        ),
    )(open_handovers)


def open_handovers(as_json: _edge.AsJson = False) -> None:
    """List hand-overs that are not approved or not answered.

    A hand-over waits until the audio is approved ('delivery approve') and the recipient has answered ('delivery
    handover --answer', or the approval itself). A later revision to the same recipient replaces it.
    """
    from delivery.report.data import history as data
    from delivery.report.text import history as text
    from delivery.tasks.handover import handed_over
    from delivery.tasks.stores import ledger_path

    out, remarks = handed_over(ledger_path())
    if as_json:
        _edge.print_json(data.handed_over(out))
    elif out or not remarks:  # a ledger that was not read, or was damaged, has not said 'nothing'
        _edge.show(text.handed_over(out))
    for remark in remarks:
        _edge.say(remark)
    raise typer.Exit(2 if remarks else 0)
