"""The desk as an ASGI application: the door, our own files, the pages, and the guard around all of it."""

from __future__ import annotations

import json
import mimetypes
import threading
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from delivery.desk import handover
from delivery.desk.guard import ENTER, INSIDE, KNOCK, OUT, STATIC, Guard
from delivery.desk.pages import OtherPages, first_routes
from delivery.desk.pages._shared import body_of, desk_of, page, posted
from delivery.desk.sessions import COOKIE, Sessions
from delivery.desk.state import Desk
from delivery.errors import DeliveryError
from delivery.report.html.page import template_text

OWN = Path(__file__).with_name("static")
SHARED = ("sheet.css", "sheet.js", "comparison.css", "listen.js")
"""Of the pages that are delivered: the desk looks the same."""
FIRST_PAGE = f"{INSIDE}/"
SMALL_BYTES = 65_536
GO_ON = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Delivery desk</title>
<link rel="icon" href="data:,"><meta http-equiv="refresh" content="0; url={path}"></head>
<body><p><a href="{path}">To the desk</a></p></body></html>
"""


def application(desk: Desk, sessions: Sessions, address: str) -> ASGIApp:
    """The whole application.

    Parameters
    ----------
    address : 'http://127.0.0.1:8080/'
    """
    routes = [
        Route("/", door),
        Route(ENTER, enter, methods=["POST"]),
        Route(KNOCK, knock, methods=["POST"]),
        Route(f"{STATIC}{{name}}", own_file),
        Route("/desk/close", posted(close), methods=["POST"]),
        *first_routes(),
    ]
    handlers: Any = {KeyError: not_open, 404: not_found}
    app, others = Starlette(routes=routes, exception_handlers=handlers), OtherPages()
    app.router.default = others
    app.state.desk, app.state.sessions, app.state.address = desk, sessions, address
    port = address.rstrip("/").rpartition(":")[2]

    async def numbered(scope: Scope, receive: Receive, send: Send) -> None:
        """Each page has the number of the last event it includes: those before anything of it was read."""
        await app({**scope, "desk_seen": desk.feed.number()}, receive, send)
        if scope["path"] == FIRST_PAGE:  # the user looks at it while the others are loaded
            threading.Thread(target=others.load, daemon=True, name="desk pages").start()

    return Guard(numbered, sessions, (f"127.0.0.1:{port}", f"localhost:{port}"))


def door(_request: Request) -> Response:
    """The entry page, for a browser without a session."""
    return PlainTextResponse(OUT)


async def enter(request: Request) -> Response:
    """Exchange the secret of the file that the browser opened for a session."""
    raw = await body_of(request, SMALL_BYTES)
    secret = parse_qs((raw or b"").decode("ascii", errors="replace")).get("secret", [""])[0]
    sessions: Sessions = request.app.state.sessions
    session = sessions.enter(secret)
    if session is None:
        return PlainTextResponse("This way in was used already, or is too old.\n" + OUT, 403)
    # Browsers add no strict cookie to a redirect of a request that a file began, so the page itself goes on.
    answer = HTMLResponse(GO_ON.format(path=sessions.path))
    answer.set_cookie(COOKIE, session.cookie, path=sessions.path, httponly=True, samesite="strict")
    return answer


async def knock(request: Request) -> Response:
    """A second start: open its folder, and write a new way in for its browser."""
    raw = await body_of(request, SMALL_BYTES)
    try:
        wanted = json.loads(raw or b"{}")
        if wanted.get("folder"):
            desk_of(request).folders.open(str(wanted["folder"]))
        secret = request.app.state.sessions.new_secret()
        return JSONResponse({"file": str(handover.way_in(request.app.state.address, secret))})
    except DeliveryError as error:
        return JSONResponse({"message": str(error)}, 400)
    except (ValueError, AttributeError):
        return PlainTextResponse("Not a request of 'delivery desk'.\n", 400)


def close(request: Request, _data: dict[str, Any]) -> Any:
    """Close the desk."""
    desk_of(request).on_close()
    return {"closed": True}


def own_file(request: Request) -> Response:
    """A script, style sheet or picture of the desk."""
    name = request.path_params["name"]
    if name not in own_files():
        return PlainTextResponse("No such file.\n", 404)
    return Response(own_files()[name], media_type=mimetypes.guess_type(name)[0] or "application/octet-stream")


@cache
def own_files() -> dict[str, bytes]:
    """Style sheets and scripts of this program, by name: nothing else is ever served from there."""
    found = {path.name: path.read_bytes() for path in sorted(OWN.iterdir()) if path.suffix in (".css", ".js")}
    shared = {name: template_text(name).encode("utf-8") for name in SHARED}
    return {**shared, **found}


def not_open(request: Request, _error: Exception) -> Response:
    """The page for a release outside the opened folders."""
    return page(request, "nothing.html.j2", 404, text="This release is not in a folder that you opened.")


def not_found(request: Request, _error: Exception) -> Response:
    """The page for an unknown address."""
    return page(request, "nothing.html.j2", 404, text="There is no such page.")
