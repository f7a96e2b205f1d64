"""Build the package, watch it, cancel it; then its sheet, the mail text, and verifying."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, page, posted, release_of
from delivery.desk.state import OpenRelease
from delivery.errors import DeliveryError, Unusable

SANDBOX = "sandbox allow-scripts; frame-ancestors 'self'"
"""The sheet states a policy of its own; shown here it has an origin of its own, which cannot reach the desk."""


def routes() -> list[Route]:
    """Addresses of this page."""
    at = "/desk/release/{release}"
    return [
        Route(f"{at}/package", package),
        Route(f"{at}/package/sheet.html", sheet),
        Route(f"{at}/package/sheet.pdf", printed),
        Route(f"{at}/build", posted(build), methods=["POST"]),
        Route(f"{at}/cancel", posted(cancel), methods=["POST"]),
        Route(f"{at}/verify", posted(verify), methods=["POST"]),
        Route(f"{at}/handover", posted(hand_over), methods=["POST"]),
        Route(f"{at}/answer", posted(answer), methods=["POST"]),
        Route(f"{at}/package/folder", posted(folder), methods=["POST"]),
    ]


def package(request: Request) -> Response:
    """The page of the package."""
    one = release_of(request)
    desk_of(request).check(one)
    out = handed_over(one)
    return page(request, "package.html.j2", one=one, built=one.built, verified=one.verified, view=one.view, out=out)


@dataclass(frozen=True, slots=True)
class Out:
    """One hand-over of the package, as the ledger has it."""

    recipient: str
    text: str
    answered: bool


def handed_over(one: OpenRelease) -> list[Out]:
    """To whom the package that was built went."""
    from delivery import load_studio
    from delivery.report.view.history import handed
    from delivery.tasks.history import history
    from delivery.tasks.stores import deliveries_of

    built = one.built
    if built is None or built.package is None or not built.package.is_dir():
        return []
    try:
        found = history(str(built.package), deliveries_of(load_studio(one.path))).deliveries
    except DeliveryError:
        return []  # verifying it says why
    return [Out(each.recipient, handed(each), bool(each.answer)) for known in found for each in known.handovers]


def sheet(request: Request) -> Response:
    """The delivery sheet as HTML."""
    built = release_of(request).built
    if built is None or built.page is None or not built.page.is_file():
        return PlainTextResponse("Nothing was built yet.\n", 404)
    return FileResponse(built.page, media_type="text/html", headers={"Content-Security-Policy": SANDBOX})


def printed(request: Request) -> Response:
    """The delivery sheet as PDF."""
    built = release_of(request).built
    if built is None or built.sheet is None or not built.sheet.is_file():
        return PlainTextResponse("Nothing was built yet.\n", 404)
    return FileResponse(built.sheet, filename=built.sheet.name, media_type="application/pdf")


def build(request: Request, data: dict[str, Any]) -> Any:
    """Begin a build. Raises Unusable if the file has changed since the page was loaded."""
    one = release_of(request)
    if str(data["digest"]) != one.text.digest:
        found = "a change made by another program since this page was loaded"
        raise Unusable(one.path.name, found, "the file that is shown", "Reload the page.")
    desk_of(request).build(one, replace=bool(data.get("replace")))
    return {"building": True}


def cancel(request: Request, _data: dict[str, Any]) -> Any:
    """Cancel the job of the release."""
    desk_of(request).cancel(release_of(request))
    return {}


def verify(request: Request, _data: dict[str, Any]) -> Any:
    """Begin to verify the package."""
    desk_of(request).verify(release_of(request))
    return {}


def hand_over(request: Request, data: dict[str, Any]) -> Any:
    """Note in the ledger that the package left. Raises as `delivery handover`."""
    from delivery import load_studio
    from delivery.report.view.history import handed
    from delivery.tasks import handover as task
    from delivery.tasks.stores import ledger_path

    one = release_of(request)
    to, by, how = (str(data.get(name) or "") for name in ("to", "by", "how"))
    ledger = ledger_path(load_studio(one.path))
    _, noted, remarks = task.hand_over(_package(one), to, by, _day(data), how, ledger)
    return {"said": " ".join((f"Noted: handed over {handed(noted)}.", *remarks))}


def answer(request: Request, data: dict[str, Any]) -> Any:
    """Note what a recipient answered. Raises as `delivery handover --answer`."""
    from delivery import load_studio
    from delivery.tasks import handover as task
    from delivery.tasks.stores import ledger_path

    one, text = release_of(request), str(data["answer"]).strip()
    if not text:
        raise Unusable("answer", "no text", "what the recipient answered", "Write it down.")
    ledger = ledger_path(load_studio(one.path))
    _, whose = task.answer(_package(one), str(data.get("to") or ""), text, _day(data), ledger)
    return {"said": f"Noted: the answer of {whose}."}


def _day(data: dict[str, Any]) -> str:
    from datetime import date

    from delivery.tasks.days import stated_day

    stated = str(data.get("day") or "").strip()
    try:
        return (stated_day(stated) if stated else date.today()).isoformat()
    except Unusable as fault:
        raise Unusable("day", fault.found, fault.wanted, fault.remedy) from fault


def _package(one: OpenRelease) -> Path:
    if one.built is None or one.built.package is None:
        raise Unusable("package", "nothing built yet", "a package", "Build it first.")
    return one.built.package


def folder(request: Request, _data: dict[str, Any]) -> Any:
    """Show the package in the file manager. The page names no path: it is that of the last build."""
    from delivery.desk.file_manager import show

    show(_package(release_of(request)))
    return {}
