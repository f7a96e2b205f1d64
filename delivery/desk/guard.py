"""Which requests are answered: only those of the user's own pages. Everything else is refused before a page is called.

Host: only our own name, so that no other name can be made to point here (DNS rebinding). Origin and Sec-Fetch-Site:
only our own pages. Cookie and token: `sessions`. A page loads nothing from elsewhere and runs no script but ours.
"""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from delivery.desk.sessions import COOKIE, TOKEN_HEADER, Sessions, same

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "style-src-attr 'unsafe-inline'",  # positions of marks in plots; no style sheet but ours
        "img-src 'self' data:",
        "font-src 'self' data:",  # characters that not every machine has, cut to those needed
        "media-src 'self'",
        "connect-src 'self'",
        "frame-src 'self'",
        "form-action 'self'",
        "base-uri 'self'",
        "frame-ancestors 'none'",
    )
)
"""Content Security Policy (W3C, level 3) of every page that does not state its own."""
HEADERS = {
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
ENTER, KNOCK, STATIC = "/enter", "/knock", "/static/"
INSIDE = "/desk"
"""Where the pages are routed; from outside they are reached by the path of the sessions alone."""
KEY_HEADER = "x-desk-key"
READING = ("GET", "HEAD")
OUT = "Start this page with 'delivery desk': it opens the browser with a key of its own.\n"


class Guard:
    """ASGI middleware around all pages.

    Parameters
    ----------
    hosts : values of the Host header that are ours, such as '127.0.0.1:8080'
    """

    def __init__(self, app: ASGIApp, sessions: Sessions, hosts: tuple[str, ...]) -> None:
        self._app, self._sessions, self._hosts = app, sessions, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        refused = self.refused(scope)
        answer: ASGIApp = PlainTextResponse(refused, 403) if refused else self._app

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(raw=message.setdefault("headers", []))
                headers.setdefault("Content-Security-Policy", POLICY)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await answer(self._inside(scope) if not refused else scope, receive, guarded)

    def _inside(self, scope: Scope) -> Scope:
        """The same request, routed to the pages if it is below their path."""
        path: str = scope["path"]
        if not path.startswith(self._sessions.path):
            return scope
        below = INSIDE + path[len(self._sessions.path) - 1 :]
        session = self._sessions.session_of(_cookie(Headers(scope=scope)))
        return {**scope, "path": below, "raw_path": below.encode(), "desk_token": session.token if session else ""}

    def refused(self, scope: Scope) -> str:
        """Why this request is not answered, in a sentence; empty if it is."""
        headers, path, method = Headers(scope=scope), scope["path"], scope["method"]
        if method not in (*READING, "POST"):
            return "Only reading and posting.\n"
        host = headers.getlist("host")
        if len(host) != 1 or host[0] not in self._hosts:
            return "Not a name of this desk.\n"
        origins, own = headers.getlist("origin"), f"http://{host[0]}"
        if path == ENTER and method == "POST":  # the file that hands over the secret has the origin "null"
            return "" if origins in (["null"], [own], []) else "Posted by another page.\n"
        if any(origin != own for origin in origins) or headers.get("sec-fetch-site") in ("cross-site", "same-site"):
            at_the_door = path == "/" and method in READING and not origins
            return "" if at_the_door else "Requested by another page.\n"
        if path == KNOCK and method == "POST":
            known = same(headers.get(KEY_HEADER, ""), self._sessions.key)
            return "" if known and not origins else OUT
        if method in READING and (path == "/" or path.startswith(STATIC)):
            return ""
        if not path.startswith(self._sessions.path):
            return OUT
        session = self._sessions.session_of(_cookie(headers))
        if session is None:
            return OUT
        if method == "POST" and (not origins or not same(headers.get(TOKEN_HEADER, ""), session.token)):
            return "Posted without the key of this page.\n"
        return ""


def _cookie(headers: Headers) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""
