"""The system's Firefox without a window, for tests of HTML, driven by its own protocol. It downloads nothing.

The protocol is Marionette, version 3: JSON over a local connection
(https://firefox-source-docs.mozilla.org/testing/marionette/Protocol.html).
"""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

NAMES = ("firefox", "firefox-esr")
ARGUMENTS = ("--headless", "--marionette", "--remote-allow-system-access", "--no-remote")
STARTS_WITHIN_S = 120
ANSWERS_WITHIN_S = 600
REGISTER = """
const replace = (contract, service) => {
  const createInstance = (id) => service.QueryInterface(id);
  const factory = { createInstance, QueryInterface: ChromeUtils.generateQI(["nsIFactory"]) };
  const registrar = Components.manager.QueryInterface(Ci.nsIComponentRegistrar);
  registrar.registerFactory(Services.uuid.generateUUID(), "", contract, factory);
};
"""
CHOOSE = f"""{REGISTER}
const [path] = arguments;
replace("@mozilla.org/filepicker;1", {{
  QueryInterface: ChromeUtils.generateQI(["nsIFilePicker"]),
  init() {{}}, appendFilter() {{}}, appendFilters() {{}}, appendRawFilter() {{}},
  isModeSupported() {{ return Promise.resolve(true); }},
  open(callback) {{ Services.tm.dispatchToMainThread(() => callback.done(Ci.nsIFilePicker.returnOK)); }},
  get file() {{
    const folder = Cc["@mozilla.org/file/local;1"].createInstance(Ci.nsIFile);
    folder.initWithPath(path);
    return folder;
  }},
}});
"""
"""In the browser's own process: the dialog of the system answers at once, with the folder at *path*."""
CONSENT = f"""{REGISTER}
replace("@mozilla.org/embedcomp/prompt-collection;1", {{
  QueryInterface: ChromeUtils.generateQI(["nsIPromptCollection"]),
  confirmFolderUpload() {{ return true; }},
}});
"""
"""In the page's process: the browser's own question, whether all files of the folder are meant, is answered yes."""


def program() -> str:
    """The browser's path; empty when there is none."""
    return next((path for name in NAMES if (path := shutil.which(name))), "")


def needs_firefox() -> pytest.MarkDecorator:
    """Skip, loudly, without it."""
    return pytest.mark.skipif(not program(), reason="outside judge not installed: firefox")


class Firefox:
    """One session with one page."""

    def __init__(self, connection: socket.socket) -> None:
        self._connection, self._unread, self._count = connection, b"", 0
        assert self._receive()["marionetteProtocol"] == 3
        self.version: str = self.command("WebDriver:NewSession")["capabilities"]["browserVersion"]

    def command(self, name: str, **parameters: Any) -> Any:
        """The result of one command; RuntimeError with Firefox's own message if it fails."""
        self._count += 1
        message = json.dumps([0, self._count, name, parameters]).encode()
        self._connection.sendall(b"%d:%s" % (len(message), message))
        _kind, _number, error, result = self._receive()
        if error:
            raise RuntimeError(f"{name}: {error['error']}: {error['message']}")
        return result

    def open(self, path: Path) -> None:
        self.command("WebDriver:Navigate", url=path.as_uri())

    def run(self, script: str, *arguments: Any, **options: str) -> Any:
        """What a script in the page returns."""
        return self.command("WebDriver:ExecuteScript", script=script, args=list(arguments), **options)["value"]

    def wait_for(self, script: str, within_s: float) -> Any:
        """What the script returns as soon as that is true."""
        until = time.monotonic() + within_s
        while not (found := self.run(script)):
            assert time.monotonic() < until, f"waited {within_s} s for: {script}"
            time.sleep(0.1)
        return found

    def choose_folder(self, label: str, folder: Path) -> None:
        """As a reader does: click on the label of a file field (a CSS selector) and choose *folder* in the dialog."""
        self.command("Marionette:SetContext", value="chrome")
        self.run(CHOOSE, str(folder))
        self.command("Marionette:SetContext", value="content")
        self.run(CONSENT, sandbox="system")
        element = self.command("WebDriver:FindElement", using="css selector", value=label)["value"]
        self.command("WebDriver:ElementClick", id=next(iter(element.values())))

    def _receive(self) -> Any:
        while b":" not in self._unread:
            self._unread += self._more()
        size, _, rest = self._unread.partition(b":")
        while len(rest) < int(size):
            rest += self._more()
        self._unread = rest[int(size) :]
        return json.loads(rest[: int(size)])

    def _more(self) -> bytes:
        piece = self._connection.recv(65_536)
        assert piece, "Firefox closed the connection"
        return piece


@contextmanager
def browser() -> Iterator[Firefox]:
    """Started with an empty profile, and ended."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        Path(profile, "user.js").write_text(f'user_pref("marionette.port", {port});\n', encoding="ascii")
        command, nothing = [program(), *ARGUMENTS, "--profile", profile], subprocess.DEVNULL
        process = subprocess.Popen(command, stdin=nothing, stdout=nothing, stderr=nothing)
        try:
            with _connected(port) as connection:
                yield Firefox(connection)
        finally:
            process.terminate()
            with suppress(subprocess.TimeoutExpired):
                process.wait(timeout=30)
            process.kill()
            process.wait()


def _connected(port: int) -> socket.socket:
    until = time.monotonic() + STARTS_WITHIN_S
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=ANSWERS_WITHIN_S)
        except ConnectionRefusedError:
            assert time.monotonic() < until, f"Firefox did not start within {STARTS_WITHIN_S} s"
            time.sleep(0.1)


CHECK_ENDED = """
const text = document.querySelector("#package [role=status]").textContent;
const notes = [...document.querySelectorAll("#package li")].map((item) => item.textContent);
return /Fingerprint|Nothing could/.test(text) && [text, notes];
"""


def checked(
    firefox: Firefox, sheet: Path, package: Path, key: str = "", within_s: float = 120
) -> tuple[str, list[str]]:
    """What a sheet reports about a package that is chosen in it: its last line, and the list."""
    firefox.open(sheet)
    firefox.run("document.querySelector('#package textarea').value = arguments[0]", key)
    firefox.choose_folder("#package label:has(input[type=file])", package)
    text, notes = firefox.wait_for(CHECK_ENDED, within_s)
    return text, notes
