"""Count a month's deliveries, and write the report in a form for people or spreadsheets."""

from __future__ import annotations

import re
from pathlib import Path

from delivery.errors import Occupied, Unusable
from delivery.intake import load_studio
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.past import PastDelivery, Standing
from delivery.ledger.rows import normalised
from delivery.report.view.month import Counted, Kind, MonthView, client_of, month_view

FORMS = ("csv", "xlsx", "pdf")


def month_report(month: str, client: str, ledger: DeliveryLedger) -> MonthView:
    """What was delivered in *month* ('2026-11').

    Parameters
    ----------
    client : only clients that hold these words; empty: all

    Raises
    ------
    Unusable : no such month
    """
    if not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", month):
        raise Unusable("--month", repr(month), "a month as year-month", "Write it like 2026-11.")
    wanted = normalised(client).split()
    found = [each for each in ledger.in_month(month) if all(word in normalised(client_of(each)) for word in wanted)]
    known = ledger.standings(found)
    counted = [Counted(each, _kind(each, known[each.id]), not known[each.id].last_approved) for each in found]
    return month_view(month, counted, ledger.undated(), load_studio(Path.cwd()))


def _kind(delivery: PastDelivery, standing: Standing) -> Kind:
    if standing.again:
        return Kind.AGAIN
    return Kind.REVISION if delivery.revision > 1 else Kind.NEW


def rendered(view: MonthView, form: str, page: str = "A4") -> bytes:
    """The report as 'csv', 'xlsx' or 'pdf'.

    Raises
    ------
    Unusable : another form, or no such paper
    """
    if form not in FORMS:
        raise Unusable("--as", repr(form), "one of " + ", ".join(FORMS), "Choose one of them.")
    if form == "csv":
        from delivery.report.data import month_csv

        return month_csv.render(view)
    if form == "xlsx":
        from delivery.report.data import month_xlsx

        return month_xlsx.render(view)
    if page not in ("A4", "Letter"):
        raise Unusable("--page", page, "A4 or Letter", "Choose one of them.")
    from delivery.report.pdf import month

    return month.render(view, page)


def write(content: bytes, into: Path, *, replace: bool) -> None:
    """Write the report as a file, whole or not at all.

    Raises
    ------
    Occupied : the file exists and *replace* is False
    Unfinished : it cannot be written
    """
    from delivery.tasks.write import write_bytes

    if into.exists() and not replace:
        wanted = "a path that does not exist yet"
        raise Occupied(str(into), "an existing file", wanted, "Use --replace to replace it.")
    write_bytes(into, content)
