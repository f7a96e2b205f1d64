"""Import of the client's sheet: questions about it, and its changes before they are written."""

from __future__ import annotations

import urllib.parse
from pathlib import PurePosixPath
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from delivery.desk.client_sheet import NONE, ClientSheet
from delivery.desk.pages._shared import answered, body_of, desk_of, page, posted, release_of
from delivery.desk.state import OpenRelease
from delivery.errors import Unusable
from delivery.tasks import edit

MOST_SHEET_BYTES = 32 * 2**20


def routes() -> list[Route]:
    """Addresses of this page."""
    at = "/desk/release/{release}/client-sheet"
    return [
        Route(at, shown),
        Route(at, take, methods=["POST"]),
        Route(f"{at}/answer", posted(answer), methods=["POST"]),
        Route(f"{at}/leave-out", posted(leave_out), methods=["POST"]),
        Route(f"{at}/write", posted(write), methods=["POST"]),
        Route(f"{at}/forget", posted(forget), methods=["POST"]),
    ]


def shown(request: Request) -> Response:
    """The page of the sheet."""
    one = release_of(request)
    return page(request, "client_sheet.html.j2", one=one, sheet=one.client_sheet, none=NONE)


async def take(request: Request) -> Response:
    """A sheet was dropped in or chosen."""
    content = await body_of(request, MOST_SHEET_BYTES)
    name = PurePosixPath(urllib.parse.unquote(request.headers.get("x-name", "")).replace("\\", "/")).name
    if not content or not name:
        return JSONResponse({"message": "Wanted a sheet (CSV, XLSX or ODS) of at most 32 MB."}, 400)

    def work() -> Any:
        one = release_of(request)
        one.client_sheet = ClientSheet(name, content)
        return _read(one)

    return await answered(work)


def answer(request: Request, data: dict[str, Any]) -> Any:
    """Answer the question that is open."""
    one, sheet = _opened(request)
    if data["question"] != sheet.reading.question:
        raise Unusable(sheet.name, "another question than the one that is open", "its answer", "Reload the page.")
    choice = str(data["choice"])
    number = None if choice == NONE else int(choice)
    if number is not None and not 0 <= number < len(sheet.reading.choices):
        raise ValueError(choice)
    sheet.answers[sheet.reading.question] = number
    return _read(one)


def leave_out(request: Request, _data: dict[str, Any]) -> Any:
    """Import the rest of a sheet that has faults."""
    one, sheet = _opened(request)
    sheet.leave_out = True
    return _read(one)


def write(request: Request, data: dict[str, Any]) -> Any:
    """Write what is shown into the release file."""
    one, sheet = _opened(request)
    if not sheet.reading.ready:
        raise Unusable(sheet.name, "an open question or faults", "a sheet that was read to its end", "Answer it first.")
    desk = desk_of(request)
    desk.edited(one, lambda: edit.by_task(one.path, str(data["digest"]), lambda: sheet.write(one.path.parent)))
    one.client_sheet = None
    desk.check(one)
    return {"go": f"release/{one.id}"}


def forget(request: Request, _data: dict[str, Any]) -> Any:
    """Put the sheet aside; nothing was written."""
    one = release_of(request)
    one.client_sheet = None
    return {"go": f"release/{one.id}"}


def _opened(request: Request) -> tuple[OpenRelease, ClientSheet]:
    one = release_of(request)
    if one.client_sheet is None:
        raise Unusable(one.path.name, "no sheet", "a sheet of the client", "Choose it again.")
    return one, one.client_sheet


def _read(one: OpenRelease) -> dict[str, str]:
    assert one.client_sheet is not None
    one.client_sheet.read(one.path.parent)
    return {"go": f"release/{one.id}/client-sheet"}
