"""What went to whom, when, which bits: the ledger, by words, code, file or package; and the hand-overs still open."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, page
from delivery.errors import DeliveryError
from delivery.report.view import history as view

if TYPE_CHECKING:
    from delivery.desk.folders import Folders
    from delivery.desk.state import Desk
    from delivery.model.release import Studio

NOT_OPENED = "This path is not in a folder that you opened: open the folder first, then search again."


def routes() -> list[Route]:
    """Addresses of this page."""
    return [Route("/desk/history", history)]


def history(request: Request) -> Response:
    """The page of what was delivered."""
    from delivery.tasks.handover import handed_over
    from delivery.tasks.stores import ledger_path

    desk, query = desk_of(request), request.query_params.get("query", "").strip()
    looked_up = [looked_up_in(studio, query, desk.folders) for studio in studios(desk)]
    out = [handed_over(ledger_path(studio)) for studio in studios(desk)]
    return page(
        request,
        "history.html.j2",
        query=query,
        found=[found for found, _ in looked_up if found],
        problems=[problem for _, problem in looked_up if problem],
        remarks=list(dict.fromkeys(text for _, remarks in out for text in remarks)),
        out=[one for rows, _ in out for one in rows],
        view=view,
    )


def looked_up_in(studio: Studio | None, query: str, folders: Folders) -> tuple[view.History | None, str]:
    """Deliveries in the ledger of *studio* that *query* names; or why it was not looked up.

    Parameters
    ----------
    query : as `delivery history` takes it; a path is read only in the opened *folders*
    """
    from delivery.tasks.history import history as look_up
    from delivery.tasks.stores import deliveries_of

    path = Path(query).expanduser()
    if query and _exists(path):
        if not folders.holds(path):
            return None, NOT_OPENED
        query = str(path)
    ledger = deliveries_of(studio)
    try:
        found = look_up(query, ledger)
    except DeliveryError as error:
        return None, str(error)
    return found, " ".join(ledger.remarks)


def studios(desk: Desk) -> list[Studio | None]:
    """One for each ledger that the releases in the opened folders use; None: that of the working folder."""
    from delivery import load_studio
    from delivery.tasks.stores import ledger_path

    used: list[Studio] = []
    for file in desk.folders.release_files():
        with suppress(DeliveryError):  # the page of that release shows the error
            used.append(load_studio(file))
    return list({ledger_path(studio): studio for studio in (*reversed(used), None)}.values())


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False
