"""Choose a package from elsewhere and verify it. No file of it is served: the page prints the result alone."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, events_of, page, posted
from delivery.desk.pages.releases import chosen
from delivery.desk.received import ID


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/received", received),
        Route("/desk/received", posted(verify), methods=["POST"]),
        Route("/desk/received/cancel", posted(cancel), methods=["POST"]),
        Route("/desk/received/events", events),
    ]


def received(request: Request) -> Response:
    """The page of a received package."""
    return page(request, "received.html.j2", one=desk_of(request).received, **chosen(request))


def verify(request: Request, data: dict[str, Any]) -> Any:
    """Begin to verify the package of this path."""
    desk_of(request).received.verify(str(data["path"]))
    return {}


def cancel(request: Request, _data: dict[str, Any]) -> Any:
    """Cancel the job."""
    desk_of(request).received.cancel()
    return {}


async def events(request: Request) -> Response:
    """Server-sent events about the package."""
    return events_of(request, ID)
