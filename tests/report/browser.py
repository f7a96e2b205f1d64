"""A real browser for the tests of HTML: the system's Chromium, headless, driven by playwright. It downloads nothing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")
PACKAGES = ("playwright", "axe_playwright_python")


def program() -> str:
    """The browser's path; empty when there is none."""
    return next((path for name in NAMES if (path := shutil.which(name))), "")


def needs_browser() -> pytest.MarkDecorator:
    """Skip, loudly, without a browser or what drives it."""
    absent = [name for name in PACKAGES if find_spec(name) is None] + ([] if program() else ["chromium"])
    return pytest.mark.skipif(bool(absent), reason=f"outside judge not installed: {', '.join(absent)}")


class Watched:
    """A page, with all its console messages and all its requests."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.errors: list[str] = []
        self.requests: list[str] = []
        page.on("console", lambda message: self.errors.append(message.text) if message.type != "log" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("dialog", lambda dialog: self.errors.append(f"dialog {dialog.message}"))


@contextmanager
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=program(), args=list(ARGUMENTS))
        try:
            yield opened
        finally:
            opened.close()


def opened(browser: Any, html: bytes, folder: Path, *, width: int = 1280, color_scheme: str = "light") -> Watched:
    """The page as a reader opens it: a file on the disk, in a window of that width, beside the tests' other pages.

    A context of its own for each page would take more than twice the processor time.
    """
    file = folder / "delivery-sheet.html"
    file.write_bytes(html)
    watched = Watched(browser.contexts[0].new_page())
    watched.page.set_viewport_size({"width": width, "height": 900})
    watched.page.emulate_media(color_scheme=color_scheme)
    watched.page.goto(file.as_uri())
    return watched
