"""Hear a master: its own bytes where the browser plays them, else decoded by the core to WAV; with byte ranges."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, release_of
from delivery.errors import DeliveryError


def routes() -> list[Route]:
    """Addresses of sound."""
    at = "/desk/release/{release}/sound/{position:int}"
    return [Route(at, sound), Route(f"{at}/facts", facts), Route(f"{at}/detail", stretch)]


def facts(request: Request) -> Response:
    """What is heard, in a sentence."""
    from delivery.tasks.playable import playable

    path = _master(request)
    if path is None:
        return JSONResponse({"message": NOT_OPEN}, 404)
    try:
        found = playable(path)
    except DeliveryError as error:
        return JSONResponse({"message": str(error)}, 400)
    return JSONResponse({"text": found.text, "key": found.key})


def sound(request: Request) -> Response:
    """The sound of a track, for the browser's player."""
    from delivery.tasks.playable import playable

    path = _master(request)
    if path is None:
        return PlainTextResponse(NOT_OPEN, 404)
    try:
        found = playable(path)
        served = path if found.direct else desk_of(request).decoded.of(path, found.key)
    except DeliveryError as error:
        return PlainTextResponse(f"{error}\n", 400)
    return FileResponse(served, media_type="audio/wav")


def stretch(request: Request) -> Response:
    """A stretch of the master for the picture: samples, or the extremes of each column."""
    from delivery.tasks.detail import detail

    path = _master(request)
    if path is None:
        return JSONResponse({"message": NOT_OPEN}, 404)
    try:
        from_s, to_s = (float(request.query_params.get(name, "")) for name in ("from_s", "to_s"))
        found = detail(path, from_s, to_s, int(request.query_params.get("columns", "")))
    except ValueError:
        return JSONResponse({"message": "Not a stretch that can be drawn."}, 400)
    except DeliveryError as error:
        return JSONResponse({"message": str(error)}, 400)
    return JSONResponse(asdict(found))


NOT_OPEN = "This master is not in a folder that you opened.\n"


def _master(request: Request) -> Path | None:
    """The file of a track, links resolved; None if it lies outside the opened folders."""
    release = release_of(request).text.release
    position = request.path_params["position"]
    found = next((each.file for each in release.tracks if each.position == position), None) if release else None
    if found is None or not desk_of(request).folders.holds(found):
        return None
    real = found.resolve()
    return real if real.is_file() else None
