"""A user's hand on the desk in Firefox: the commands of WebDriver (W3C), each waiting for what it needs."""

from __future__ import annotations

import base64
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.report.firefox import Firefox

PATIENCE_S = 120.0
ENTER, TAB, ARROW_UP = "\ue007", "\ue004", "\ue013"
"""WebDriver, 17.4.2: keyboard actions."""


@dataclass(frozen=True)
class Hand:
    """On one window."""

    firefox: Firefox

    def go(self, address: str) -> None:
        self.firefox.command("WebDriver:Navigate", url=address)

    def ask(self, script: str, *arguments: Any) -> Any:
        return self.firefox.run(script, *arguments, sandbox="own")

    def until(self, script: str, *arguments: Any) -> Any:
        end = time.monotonic() + PATIENCE_S
        while True:
            with suppress(RuntimeError):  # between two pages
                if found := self.ask(script, *arguments):
                    return found
            assert time.monotonic() < end, f"{script} {arguments}: {self.ask('return document.body.innerText')}"
            time.sleep(0.05)

    def find(self, selector: str) -> str:
        self.until("return document.querySelector(arguments[0]) !== null", selector)
        found = self.firefox.command("WebDriver:FindElement", using="css selector", value=selector)["value"]
        return str(next(iter(found.values())))

    def click(self, selector: str) -> None:
        self.firefox.command("WebDriver:ElementClick", id=self.find(selector))

    def fill(self, selector: str, text: str) -> None:
        one = self.find(selector)
        self.firefox.command("WebDriver:ElementClear", id=one)
        self.firefox.command("WebDriver:ElementSendKeys", id=one, text=text)

    def press(self, key: str) -> None:
        keys = [{"type": "keyDown", "value": key}, {"type": "keyUp", "value": key}]
        self.firefox.command("WebDriver:PerformActions", actions=[{"type": "key", "id": "keys", "actions": keys}])

    def picture(self, file: Path) -> None:
        taken = self.firefox.command("WebDriver:TakeScreenshot", full=True)["value"]
        file.write_bytes(base64.b64decode(taken))
