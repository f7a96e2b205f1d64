"""Two files beside each other, switched at equal loudness and tried blind; songs beside a reference playlist."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from itertools import islice
from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from delivery.desk.comparing import ID
from delivery.desk.pages._shared import desk_of, events_of, page, posted
from delivery.desk.state import Desk
from delivery.desk.work_compare import KeptResult, PairResult, ReferenceResult

MOST_PROPOSED = 600
SOUND = (".wav", ".aif", ".aiff", ".flac", ".mp3", ".m4a", ".w64", ".rf64", ".caf", ".ogg", ".opus")
"""Endings that are proposed; any other file can be typed."""


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/compare", compare),
        Route("/desk/compare/pair", posted(pair), methods=["POST"]),
        Route("/desk/compare/reference", posted(reference), methods=["POST"]),
        Route("/desk/compare/keep", posted(keep), methods=["POST"]),
        Route("/desk/compare/cancel", posted(cancel), methods=["POST"]),
        Route("/desk/compare/events", events),
        Route("/desk/compare/sound/{name}", sound),
    ]


def compare(request: Request) -> Response:
    """The last comparison, and what can be compared."""
    from delivery.report.html.pair import columns
    from delivery.tasks.reference import reference_names

    desk = desk_of(request)
    one = desk.comparing
    found = one.result
    return page(
        request,
        "compare.html.j2",
        one=one,
        pair=found if isinstance(found, PairResult) else None,
        columns=columns(found.one, found.other) if isinstance(found, PairResult) else None,
        beside=found if isinstance(found, ReferenceResult) else None,
        kept=found if isinstance(found, KeptResult) else None,
        excerpts=[{"title": title} for title in found.excerpts] if isinstance(found, PairResult) else [],
        names=reference_names(),
        sounds=list(islice(_sounds(desk), MOST_PROPOSED)),
        folders=[str(folder) for folder in desk.folders.opened()],
        first=request.query_params.get("one", ""),
    )


def pair(request: Request, data: dict[str, Any]) -> Any:
    """Begin to compare two files."""
    desk_of(request).comparing.pair(str(data["one"]), str(data["other"]))
    return {"began": True}


def reference(request: Request, data: dict[str, Any]) -> Any:
    """Begin to set songs beside a reference playlist."""
    desk_of(request).comparing.reference(str(data["songs"]), str(data["name"]))
    return {"began": True}


def keep(request: Request, data: dict[str, Any]) -> Any:
    """Begin to measure a folder as a reference playlist."""
    desk_of(request).comparing.keep(str(data["name"]).strip(), str(data["folder"]))
    return {"began": True}


def cancel(request: Request, _data: dict[str, Any]) -> Any:
    """Cancel the comparison."""
    desk_of(request).comparing.cancel()
    return {}


async def events(request: Request) -> Response:
    """Server-sent events about the comparison."""
    return events_of(request, ID)


def sound(request: Request) -> Response:
    """A copy to listen to."""
    path = desk_of(request).comparing.copy(request.path_params["name"])
    return FileResponse(path, media_type="audio/wav") if path else PlainTextResponse("No such copy.\n", 404)


def _sounds(desk: Desk) -> Iterator[str]:
    """Sound files in the opened folders and beside the release files below them."""
    beside = [file.parent for file in desk.folders.release_files()]
    for folder in dict.fromkeys((*beside, *desk.folders.opened())):
        with suppress(OSError):
            yield from (str(path) for path in sorted(folder.iterdir()) if path.suffix.lower() in SOUND)
