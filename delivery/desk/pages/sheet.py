"""The sheet of a release, still open, and the page of each track."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from delivery.desk.open_sheet import notes_of, sheet_of, track_page_of
from delivery.desk.pages._shared import desk_of, events_of, page, release_of
from delivery.report.html.fonts import font_faces
from delivery.report.view.texts import words_of

FINEST_S = 0.0005
"""Shortest stretch of a track that its page shows: 22 samples at 44.1 kHz, 96 at 192 kHz."""


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/release/{release}", sheet),
        Route("/desk/release/{release}/events", events),
        Route("/desk/release/{release}/fonts.css", fonts),
        Route("/desk/release/{release}/cover", cover),
        Route("/desk/release/{release}/track/{position:int}", track),
    ]


def sheet(request: Request) -> Response:
    """The open sheet of a release."""
    one = release_of(request)
    desk_of(request).check(one)
    everything = request.query_params.get("columns") == "all"
    if one.text.release is None:
        return page(request, "broken.html.j2", one=one)
    values: dict[str, Any] = {
        "sheet": sheet_of(one, everything=everything),
        "margin": notes_of(one),
        "view": one.view or one.text.view,
    }
    return page(request, "release.html.j2", one=one, everything=everything, **values)


async def events(request: Request) -> Response:
    """Server-sent events about this release."""
    from starlette.concurrency import run_in_threadpool

    one = await run_in_threadpool(release_of, request)
    return events_of(request, one.id)


def fonts(request: Request) -> Response:
    """Characters that not every machine has, as in the sheet that is delivered."""
    text = release_of(request).text
    if text.view is None or text.copy is None:
        return Response("", media_type="text/css")
    cells = (cell for row in ([said for _, said in text.copy.release], *text.copy.rows) for cell in row)
    return Response(font_faces((*words_of(text.view), *cells), text.view.lang), media_type="text/css")


def cover(request: Request) -> Response:
    """The cover, made small, as on the sheet."""
    from delivery.report.pictures import small

    release = release_of(request).text.release
    readable = release is not None and release.artwork is not None and desk_of(request).folders.holds(release.artwork)
    picture = small(release.artwork) if release and readable else None
    if picture is None:
        return PlainTextResponse("No cover that can be shown.\n", 404)
    return Response(picture, media_type="image/jpeg")


def track(request: Request) -> Response:
    """One track: waveform, loudness, spectrum and every figure, as on the sheet that is delivered."""
    one, position = release_of(request), request.path_params["position"]
    found = track_page_of(one, position)
    if found is None:
        return page(request, "nothing.html.j2", 404, text="This track is not measured yet.")
    view = one.text.view or one.view
    noted = [row for row in view.log if row.position == position] if view else []
    said = one.view.words if one.view else None
    files = {each.position: str(each.file) for each in one.text.release.tracks} if one.text.release else {}
    values: dict[str, Any] = {
        "view": one.view,
        "words": said,
        "noted": noted,
        "positions": list(files),
        "file": files[position],
        "finest_s": FINEST_S,
    }
    return page(request, "track.html.j2", one=one, track=found, **values)
