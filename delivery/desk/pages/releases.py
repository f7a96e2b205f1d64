"""The start page: releases in the folders that were opened. And the way to open a folder, typed or chosen."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.folders import folders_in
from delivery.desk.listing import ID, open_points
from delivery.desk.pages._shared import desk_of, events_of, page, posted
from delivery.desk.state import Desk, OpenRelease, id_of
from delivery.errors import DeliveryError
from delivery.model.finding import Result
from delivery.pipeline.sound_files import RELEASE_FILE
from delivery.report.view import words
from delivery.report.view.elements import Verdict
from delivery.tasks.summaries import Summary

MOST_FOLDERS = 500


@dataclass(frozen=True, slots=True)
class Line:
    """One release on the start page."""

    id: str
    title: str
    artist: str
    folder: str
    cover: bool
    state: Verdict | None
    """None while it was not checked."""
    note: str
    words: str
    """What the search looks through."""
    last: str = ""
    """The last delivery."""


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/", releases),
        Route("/desk/releases/events", events),
        Route("/desk/open", chooser),
        Route("/desk/open", posted(open_folder), methods=["POST"]),
        Route("/desk/start", posted(start), methods=["POST"]),
        Route("/desk/forget", posted(forget), methods=["POST"]),
    ]


def releases(request: Request) -> Response:
    """The list of releases."""
    desk = desk_of(request)
    search = request.query_params.get("search", "").strip()
    files = desk.folders.release_files()
    known = desk.listing.of(files)
    lines = [_line(desk, path, summary) for path, summary in known.items()]
    names = Path(search).name if "/" in search or "\\" in search else search  # a sound file by its path
    shown = [line for line in lines if any(text.casefold() in line.words.casefold() for text in (search, names))]
    bare = [str(folder) for folder in desk.folders.opened() if not any(path.is_relative_to(folder) for path in files)]
    unread = sum(summary is None for summary in known.values())
    return page(request, "releases.html.j2", lines=shown, search=search, bare=bare, count=len(lines), unread=unread)


async def events(request: Request) -> Response:
    """Server-sent events about the list."""
    return events_of(request, ID)


def chooser(request: Request) -> Response:
    """Folders of the user's own, drawn by the server: only their names are read before one is opened."""
    return page(request, "open.html.j2", **chosen(request))


def chosen(request: Request) -> dict[str, Any]:
    """The folder at which the chooser is, and those in it."""
    home, (stated, problem) = Path.home().resolve(), _stated()
    at = Path(request.query_params.get("at", "") or next(iter(stated), home))
    try:
        at = at.resolve(strict=True)
    except (OSError, RuntimeError):
        at = home
    roots = (*stated, home, *desk_of(request).folders.opened())
    if not (at.is_dir() and any(at.is_relative_to(root) for root in roots)):
        at = home
    above = at.parent if any(at.parent.is_relative_to(root) for root in roots) else None
    inside = folders_in(at)
    return {
        "at": str(at),
        "roots": [str(root) for root in dict.fromkeys(roots) if root != at],
        "above": str(above) if above else "",
        "inside": [(one.name, str(one), (one / RELEASE_FILE).is_file()) for one in inside[:MOST_FOLDERS]],
        "more": max(0, len(inside) - MOST_FOLDERS),
        "here": (at / RELEASE_FILE).is_file(),
        "problem": problem,
    }


def _stated() -> tuple[tuple[Path, ...], str]:
    """Folders of masters that the studio file states and that are there now; or what is wrong with that file."""
    from delivery import load_studio

    try:
        named = load_studio(Path.cwd()).master_folders
        return tuple(folder.resolve() for folder in named if folder.is_dir()), ""
    except (DeliveryError, OSError) as error:
        return (), str(error)


def open_folder(request: Request, data: dict[str, Any]) -> Any:
    """Open a folder."""
    desk = desk_of(request)
    folder = desk.folders.open(str(data["path"]))
    found = folder / RELEASE_FILE
    return {"go": f"release/{desk.at(found).id}" if found.is_file() else "./"}


def start(request: Request, data: dict[str, Any]) -> Any:
    """Write a first release file from the masters' names and tags."""
    from delivery.errors import Unusable
    from delivery.tasks.start import start_bare

    desk = desk_of(request)
    folder = Path(str(data["path"]))
    if not desk.folders.holds(folder):
        raise Unusable(str(folder), "a folder that was not opened", "one that you opened", "Open it first.")
    started = start_bare(folder.resolve(), replace=False)
    return {"go": f"release/{desk.at(started.path).id}"}


def forget(request: Request, data: dict[str, Any]) -> Any:
    """Remove a folder from those opened."""
    desk_of(request).folders.forget(Path(str(data["path"])))
    return {"go": "./"}


def _line(desk: Desk, path: Path, summary: Summary | None) -> Line:
    folder, one = str(path.parent), desk.opened(path)
    if summary is None:
        return Line(id_of(path), path.parent.name, "", folder, False, None, "being read", str(path))
    if summary.problem:
        broken = words.verdict(Result.UNUSABLE)
        return Line(id_of(path), summary.title, "", folder, False, broken, summary.problem, summary.words)
    state = one.view.verdict if one and one.view else _when_last_checked(summary)
    note, cover = _note(one, summary), bool(summary.artwork)
    return Line(id_of(path), summary.title, summary.artist, folder, cover, state, note, summary.words, summary.last)


def _when_last_checked(summary: Summary) -> Verdict | None:
    """The result of an earlier day: opening the release checks it anew, from measurements that are kept."""
    return words.verdict(Result(summary.checked), "when last checked") if summary.checked else None


def _note(one: OpenRelease | None, summary: Summary) -> str:
    points = open_points(one.view) if one and one.view else summary.open_points
    built = f"built: {one.built.package.name}" if one and one.built and one.built.package else ""
    return ", ".join(part for part in (words.counted(summary.tracks, "track"), points, built) if part)
