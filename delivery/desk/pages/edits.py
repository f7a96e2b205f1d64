"""What is written into the release file from the page: cells, order, specs, cover, waivers, acceptances, undo."""

from __future__ import annotations

import urllib.parse
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from delivery.desk.pages._shared import answered, body_of, desk_of, posted, release_of
from delivery.desk.state import OpenRelease
from delivery.errors import Unusable
from delivery.model.fields import FIELDS
from delivery.tasks import edit

MOST_COVER_BYTES = 64 * 2**20
MOST_CELLS = 20_000


def routes() -> list[Route]:
    """Addresses of this page."""
    at = "/desk/release/{release}"
    return [
        Route(f"{at}/cells", posted(cells), methods=["POST"]),
        Route(f"{at}/order", posted(order), methods=["POST"]),
        Route(f"{at}/specs", posted(specs), methods=["POST"]),
        Route(f"{at}/cover", set_cover, methods=["POST"]),
        Route(f"{at}/undo", posted(undo), methods=["POST"]),
        Route(f"{at}/waive", posted(waive), methods=["POST"]),
        Route(f"{at}/accept", posted(accept), methods=["POST"]),
        Route(f"{at}/confirm", posted(confirm), methods=["POST"]),
        Route(f"{at}/log", posted(log), methods=["POST"]),
    ]


def cells(request: Request, data: dict[str, Any]) -> Any:
    """Write edited cells to the release file."""
    one = release_of(request)
    typed = [_typed(one, cell) for cell in data["cells"][:MOST_CELLS]]
    copy, digest = one.text.copy, str(data["digest"])
    if copy is None:
        raise Unusable(one.path.name, "faults", "a release file without faults", "Mend it first.")
    if digest != one.text.digest:
        raise _changed(one)
    done = _edited(request, one, lambda: edit.set_cells(one.path, digest, copy, typed))
    refused = [{"cell": _id(each.cell), "why": each.why} for each in done.refused]
    return {"digest": one.text.digest, "refused": refused, "texts": _texts(one, typed)}


def order(request: Request, data: dict[str, Any]) -> Any:
    """Write a new order of the tracks."""
    one = release_of(request)
    positions = [int(position) for position in data["order"]]
    _edited(request, one, lambda: edit.set_order(one.path, str(data["digest"]), positions))
    return {"digest": one.text.digest}


def specs(request: Request, data: dict[str, Any]) -> Any:
    """Write the specs to deliver to."""
    one = release_of(request)
    names = [str(name) for name in data["specs"]]
    _edited(request, one, lambda: edit.set_specs(one.path, str(data["digest"]), names))
    return {"digest": one.text.digest}


async def set_cover(request: Request) -> Response:
    """Store the posted picture as the cover."""
    picture = await body_of(request, MOST_COVER_BYTES)
    digest = urllib.parse.unquote(request.headers.get("x-digest", ""))
    if not picture:
        return JSONResponse({"message": "Wanted a picture of at most 64 MB."}, 400)

    def work() -> Any:
        one = release_of(request)
        _edited(request, one, lambda: edit.set_cover(one.path, digest, picture))
        return {"digest": one.text.digest}

    return await answered(work)


def undo(request: Request, data: dict[str, Any]) -> Any:
    """Undo the last edit."""
    one = release_of(request)
    return {"undone": desk_of(request).undone(one, str(data["digest"])), "digest": one.text.digest}


def waive(request: Request, data: dict[str, Any]) -> Any:
    """Waive a must."""
    from delivery.model.release import Waiver
    from delivery.tasks.waive import waive as write

    one, by, why = release_of(request), *_signed(data)
    waivers = [Waiver(rule, by, why, position) for rule, position in _rules(data)]
    _written(request, one, str(data["digest"]), lambda: write(one.path, waivers))
    return {"digest": one.text.digest}


def accept(request: Request, data: dict[str, Any]) -> Any:
    """Accept a remark."""
    from delivery import resolve_request
    from delivery.tasks.accept import accept as write

    one, by, why = release_of(request), *_signed(data)
    named = _rules(data)

    def work() -> None:
        known = resolve_request(one.path)
        for rule, position in named:
            write(known, one.path, rule, position or 0, by, why)

    _written(request, one, str(data["digest"]), work)
    return {"digest": one.text.digest}


def confirm(request: Request, data: dict[str, Any]) -> Any:
    """Confirm values that were guessed."""
    from delivery.pipeline.confirm import confirm as write

    one = release_of(request)
    _written(request, one, str(data["digest"]), lambda: write(one.path, (), everything=True))
    return {"digest": one.text.digest}


def log(request: Request, data: dict[str, Any]) -> Any:
    """Add a line to the QC log."""
    from delivery.tasks.qc_log import LogEntry, note

    one = release_of(request)
    at_s = float(data["at_s"]) if str(data.get("at_s") or "").strip() else None
    what, by, decision = (str(data.get(name) or "").strip() for name in ("what", "by", "decision"))
    entry = LogEntry(what, by, decision, int(data["track"]), at_s)
    _written(request, one, str(data["digest"]), lambda: note(one.path, entry))
    return {"digest": one.text.digest, "noted": True}


def _edited(request: Request, one: OpenRelease, change: Any) -> edit.Edited:
    """Make a change, then check the release again."""
    desk = desk_of(request)
    done: edit.Edited = desk.edited(one, change)
    desk.check(one)
    return done


def _written(request: Request, one: OpenRelease, digest: str, write: Any) -> None:
    """A change that a task writes itself; refused if the file is not what the page shows."""
    _edited(request, one, lambda: edit.by_task(one.path, digest, write))


def _signed(data: dict[str, Any]) -> tuple[str, str]:
    by, why = str(data["by"]).strip(), str(data["why"]).strip()
    if not by or not why:
        raise Unusable("waive, accept", "no name or no reason", "both", "The sheet prints them.")
    return by, why


def _rules(data: dict[str, Any]) -> list[tuple[str, int | None]]:
    """'RULE:TRACK' or 'RULE', as on the command line."""
    split = [str(text).partition(":") for text in data["rules"]]
    return [(rule, int(track) if track else None) for rule, _, track in split]


def _typed(one: OpenRelease, cell: Any) -> edit.CellText:
    """'c-3-isrc' and its text. Raises ValueError for any other cell."""
    _, position, name = str(cell["cell"]).split("-", 2)
    tracks = len(one.text.release.tracks) if one.text.release else 0
    at = int(position)
    if name not in edit.EDITABLE or not 0 <= at <= tracks or FIELDS[name].of_release != (at == 0):
        raise ValueError(cell)
    return edit.CellText(at or None, name, str(cell["text"]))


def _id(cell: edit.CellText) -> str:
    return f"c-{cell.track or 0}-{cell.field}"


def _texts(one: OpenRelease, typed: list[edit.CellText]) -> dict[str, str]:
    """The cells as the file has them now: a code in its printed form, names apart."""
    copy = one.text.copy
    if copy is None:
        return {}
    release, found = dict(copy.release), {}
    for cell in typed:
        title = FIELDS[cell.field].title
        row = copy.rows[cell.track - 1] if cell.track else ()
        found[_id(cell)] = row[copy.columns.index(title)] if cell.track else release[title]
    return found


def _changed(one: OpenRelease) -> edit.Changed:
    found = "a change made by another program since this page was loaded"
    return edit.Changed(one.path.name, found, "the file that is shown", "Nothing was written. Look at it again.")
