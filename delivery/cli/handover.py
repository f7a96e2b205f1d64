"""delivery handover: note when and how a package left, and what was answered."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from delivery.cli import _edge
from delivery.errors import Unusable

ORDER = 4.4


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery handover 'OSL-014 rev 1' --to 'Ada Fenn' --how upload",
            "delivery handover 'OSL-014 rev 1' --answer 'side B sounds fine'",
            "delivery handover 'OSL-014 rev 1' --withdraw --to 'Ada Fenn'",
        )
    )(handover)


def handover(
    package: Annotated[Path, typer.Argument(help="The package folder.")],
    to: Annotated[str, typer.Option("--to", help="Who received it; with --answer: whose answer it is.")] = "",
    by: Annotated[str, typer.Option("--by", help="Who handed it over. Default: the engineer in studio.yaml.")] = "",
    date: Annotated[str, typer.Option("--date", help="The day: year-month-day. Default: today.", metavar="DAY")] = "",
    how: Annotated[str, typer.Option("--how", help="Such as upload, or drive by courier.")] = "",
    answer: Annotated[str, typer.Option("--answer", help="Note what the recipient answered instead.")] = "",
    withdraw: Annotated[
        bool, typer.Option("--withdraw", help="Withdraw a hand-over noted by mistake: the one these options name.")
    ] = False,
    as_json: _edge.AsJson = False,
) -> None:
    """Note that a package left: to whom, by whom, when, how.

    The note is kept in your ledger; the package is not changed. A package that is not what was approved is refused,
    with the difference, unless that is waived in it. 'delivery open' lists what waits for an approval or an
    answer, 'delivery history' what went to whom.
    """
    from datetime import date as calendar

    from delivery import load_studio
    from delivery.report.data import history as data
    from delivery.report.view.history import handed, release
    from delivery.tasks import handover as task
    from delivery.tasks.days import past_day
    from delivery.tasks.stores import ledger_path

    if withdraw and answer:
        raise Unusable("--withdraw", "--answer as well", "one of the two", "Withdraw first, then note again.")
    stated = past_day(date).isoformat() if date else ""
    day = stated or calendar.today().isoformat()
    studio = load_studio(Path.cwd())
    ledger = ledger_path(studio)
    remarks: tuple[str, ...] = ()
    noted: dict[str, Any]
    if withdraw:
        delivery, handover = task.withdraw(package, to, by, stated, how, ledger)
        said = f"no longer noted as handed over {handed(handover)}"
        noted = {**data.handover(handover), "withdrawn": True}
    elif answer:
        delivery, whose = task.answer(package, to, answer, day, ledger)
        said, noted = f"{whose} answered on {day}: {answer}", {"to": whose, "answer": answer, "answer_date": day}
    else:
        delivery, handover, remarks = task.hand_over(package, to, by or studio.engineer, day, how, ledger)
        said, noted = f"handed over {handed(handover)}", data.handover(handover)
    if as_json:
        _edge.print_json({**noted, "fingerprint": delivery.fingerprint})
    else:
        print(f"{release(delivery)}, revision {delivery.revision}: {said}")
    for remark in remarks:
        _edge.say(remark)
