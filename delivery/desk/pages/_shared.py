"""What every page uses: templates, the desk and the release of a request, bodies of a bounded size, messages."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import ChoiceLoader, Environment, FileSystemLoader
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse

from delivery.desk.state import Desk, OpenRelease
from delivery.errors import DeliveryError
from delivery.report.html.page import environment as sheet_environment

MOST_JSON_BYTES = 8 * 2**20
MOST_DIGITS = 18
TEMPLATES = Path(__file__).parent.parent / "templates"


@cache
def environment() -> Environment:
    """The sheet's own templates and filters, and the desk's; every text is escaped."""
    both = sheet_environment().overlay()
    both.loader = ChoiceLoader([FileSystemLoader(TEMPLATES, encoding="utf-8"), sheet_environment().loader])  # type: ignore[list-item]
    return both


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page made from *template*."""
    made = environment().get_template(template)
    sessions = request.app.state.sessions
    own = {"token": request.scope.get("desk_token", ""), "seen": request.scope.get("desk_seen", 0)}
    text = made.render(base=sessions.path, **own, **values)
    return HTMLResponse(text.encode("utf-8", errors="replace"), status)


def desk_of(request: Request) -> Desk:
    """The desk that serves the request."""
    desk: Desk = request.app.state.desk
    return desk


def events_of(request: Request, id: str) -> Response:
    """Server-sent events about *id*; a browser that reconnects sends the number of its last event."""
    seen = (request.headers.get("last-event-id") or request.query_params.get("seen", ""))[:MOST_DIGITS]
    stream = desk_of(request).feed.events(id, int(seen) if seen.isdecimal() and seen.isascii() else 0)
    return StreamingResponse(stream, media_type="text/event-stream", headers={"X-Accel-Buffering": "no"})


def release_of(request: Request) -> OpenRelease:
    """The release in the path. Raises KeyError if it is not in an opened folder."""
    return desk_of(request).release(request.path_params["release"])


async def body_of(request: Request, most_bytes: int) -> bytes | None:
    """The posted bytes; None if there are more than *most_bytes*."""
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > most_bytes:
            return None
        parts.append(part)
    return b"".join(parts)


def posted(work: Callable[[Request, dict[str, Any]], Any]) -> Callable[[Request], Any]:
    """An endpoint that hands the posted JSON object to *work*, in a thread, and answers with JSON.

    An error becomes one clear message: 409 if the file was changed by another program, else 400.
    """

    async def endpoint(request: Request) -> Response:
        raw = await body_of(request, MOST_JSON_BYTES)
        try:
            data = json.loads(raw) if raw else None
        except ValueError:
            data = None
        if not isinstance(data, dict):
            return PlainTextResponse("Not a JSON object of a bounded size.\n", 400)
        return await answered(lambda: work(request, data))

    return endpoint


async def answered(work: Callable[[], Any]) -> Response:
    """The result of *work* as JSON; a known error as its message."""
    try:
        return JSONResponse(await run_in_threadpool(work))
    except DeliveryError as error:
        from delivery.tasks.edit import Changed

        return JSONResponse({"message": str(error)}, 409 if isinstance(error, Changed) else 400)
    except KeyError:
        return JSONResponse({"message": "This release is not in a folder that you opened."}, 404)
    except (TypeError, ValueError):
        return JSONResponse({"message": "The page sent something that cannot be read. Reload it."}, 400)
