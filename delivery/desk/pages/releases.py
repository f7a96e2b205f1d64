"""The start page: releases in the folders that were opened. And the way to open a folder, typed or chosen."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from delivery.desk.folders import folders_in
from delivery.desk.pages._shared import desk_of, page, posted
from delivery.desk.pages.history import last_deliveries
from delivery.desk.state import OpenRelease
from delivery.model.finding import Result
from delivery.pipeline.sound_files import RELEASE_FILE
from delivery.report.view import words
from delivery.report.view.elements import Verdict
from delivery.report.view.groups import groups_of

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


def routes() -> list[Route]:
    """Addresses of this page."""
    return [
        Route("/desk/", releases),
        Route("/desk/open", chooser),
        Route("/desk/open", posted(open_folder), methods=["POST"]),
        Route("/desk/start", posted(start), methods=["POST"]),
        Route("/desk/forget", posted(forget), methods=["POST"]),
    ]


def releases(request: Request) -> Response:
    """The list of releases."""
    desk = desk_of(request)
    search = request.query_params.get("search", "").strip()
    known = desk.releases()
    lines = [_line(one) for one in known]
    names = Path(search).name if "/" in search or "\\" in search else search  # a sound file by its path
    shown = [line for line in lines if any(text.casefold() in line.words.casefold() for text in (search, names))]
    bare = [folder for folder in desk.folders.opened() if not any(one.path.is_relative_to(folder) for one in known)]
    last = dict(last_deliveries(desk))
    return page(
        request, "releases.html.j2", lines=shown, search=search, bare=list(map(str, bare)), last=last, count=len(lines)
    )


def chooser(request: Request) -> Response:
    """Folders of the user's own, drawn by the server: only their names are read before one is opened."""
    return page(request, "open.html.j2", **chosen(request))


def chosen(request: Request) -> dict[str, Any]:
    """The folder at which the chooser is, and those in it."""
    home = Path.home().resolve()
    at = Path(request.query_params.get("at", "") or home)
    try:
        at = at.resolve(strict=True)
    except (OSError, RuntimeError):
        at = home
    roots = (home, *desk_of(request).folders.opened())
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
    }


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


def _line(one: OpenRelease) -> Line:
    release = one.text.release
    if release is None:
        broken = words.verdict(Result.UNUSABLE)
        return Line(
            one.id, one.path.parent.name, "", str(one.path.parent), False, broken, one.text.problem, str(one.path)
        )
    named = [release.title, release.artist, release.upc, release.catalogue_number, release.client, str(one.path.parent)]
    named += [text for track in release.tracks for text in (track.title, track.isrc, track.file.name)]
    return Line(
        one.id,
        words.titled(release.title, release.version),
        words.supplied(release.artist),
        str(one.path.parent),
        release.artwork is not None,
        one.view.verdict if one.view else None,
        _note(one, len(release.tracks)),
        " ".join(named),
    )


def _note(one: OpenRelease, tracks: int) -> str:
    parts = [words.counted(tracks, "track")]
    if one.view:
        groups = groups_of(one.view.notices, one.view.remarks)
        parts += [f"{len(groups.to_settle)} to settle"] if groups.to_settle else []
        parts += [words.counted(len(groups.questions), "question")] if groups.questions else []
    if one.built and one.built.package:
        parts.append(f"built: {one.built.package.name}")
    return ", ".join(parts)
