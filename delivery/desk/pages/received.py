"""Choose a package from elsewhere and verify it. No file of it is served: the page prints the result alone."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, events_of, page, posted
from delivery.desk.pages.releases import chosen
from delivery.desk.received import ID
from delivery.errors import DeliveryError
from delivery.tasks.incoming import MOST_BYTES, MOST_FILES, Coming
from delivery.tasks.incoming import offer as checked


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/received", received),
        Route("/desk/received", posted(verify), methods=["POST"]),
        Route("/desk/received/offer", posted(offer), methods=["POST"]),
        Route("/desk/received/file", file, methods=["POST"]),
        Route("/desk/received/arrived", posted(arrived), methods=["POST"]),
        Route("/desk/received/cancel", posted(cancel), methods=["POST"]),
        Route("/desk/received/events", events),
    ]


def received(request: Request) -> Response:
    """The page of a received package."""
    most = {"files": f"{MOST_FILES:,}", "size": f"{MOST_BYTES // 10**9} GB"}
    return page(request, "received.html.j2", one=desk_of(request).received, most=most, **chosen(request))


def verify(request: Request, data: dict[str, Any]) -> Any:
    """Begin to verify the package of this path."""
    desk_of(request).received.verify(str(data["path"]))
    return {}


def offer(request: Request, data: dict[str, Any]) -> Any:
    """A package was dropped, with these files. The answer names the transfer, unless a known folder is verified."""
    files = [Coming(str(path), int(size), int(changed)) for path, size, changed in data["files"]]
    offered = checked(str(data["name"]), files, str(data.get("manifest") or ""))
    transfer = desk_of(request).received.offer(offered, copy=bool(data.get("copy")))
    return {"transfer": transfer.id if transfer else ""}


async def file(request: Request) -> Response:
    """One file of a package that was dropped: its bytes are the body, and go to the disk as they come."""
    try:
        number = int(request.headers.get("x-file", ""))
        await desk_of(request).received.take(request.headers.get("x-transfer", ""), number, request.stream())
    except DeliveryError as error:
        await _read_to_its_end(request)
        return JSONResponse({"message": str(error)}, 400)
    except ValueError:
        return JSONResponse({"message": "The page sent something that cannot be read. Reload it."}, 400)
    except ClientDisconnect:
        return Response(status_code=400)
    return JSONResponse({})


async def _read_to_its_end(request: Request) -> None:
    """Read the rest of the body: a browser does not read the answer before it has sent everything."""
    with suppress(RuntimeError, ClientDisconnect):
        async for _ in request.stream():
            pass


def arrived(request: Request, data: dict[str, Any]) -> Any:
    """Every file of the package has come: begin to verify it."""
    desk_of(request).received.arrived(str(data["transfer"]))
    return {}


def cancel(request: Request, _data: dict[str, Any]) -> Any:
    """Cancel the job."""
    desk_of(request).received.cancel()
    return {}


async def events(request: Request) -> Response:
    """Server-sent events about the package."""
    return events_of(request, ID)
