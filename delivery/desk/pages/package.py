"""Build the package, watch it, cancel it; then its sheet, the mail text, and verifying."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from delivery.desk.pages._shared import desk_of, page, posted, release_of
from delivery.errors import Unusable

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
        Route(f"{at}/package/folder", posted(folder), methods=["POST"]),
    ]


def package(request: Request) -> Response:
    """The page of the package."""
    one = release_of(request)
    desk_of(request).check(one)
    return page(request, "package.html.j2", one=one, built=one.built, verified=one.verified, view=one.view)


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


def folder(request: Request, _data: dict[str, Any]) -> Any:
    """Show the package in the file manager. The page names no path: it is that of the last build."""
    from delivery.desk.file_manager import show

    built = release_of(request).built
    if built is None or built.package is None:
        raise Unusable("package", "nothing built yet", "a package", "Build it first.")
    show(built.package)
    return {}
