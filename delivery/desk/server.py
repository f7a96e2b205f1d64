"""Run the desk: one server on the loopback address; a second start finds the first and opens its page again."""

from __future__ import annotations

import json
import os
import signal
import socket
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.desk import handover
from delivery.desk.guard import KEY_HEADER, KNOCK
from delivery.errors import Unusable

if TYPE_CHECKING:
    from delivery.desk.sessions import Sessions

LOOPBACK = "127.0.0.1"
ANSWERS_WITHIN_S = 5.0

Say = Callable[[str], None]


def run(folder: Path | None, port: int, say: Say, open_browser: Callable[[Path], None] | None) -> None:
    """Serve until the page, or an interrupt, closes the desk; or find one that runs already, and return.

    Parameters
    ----------
    port : 0 chooses one that is free
    say : prints one line; the first is the address
    open_browser : opens the file with the link; None: the path of that file is printed, and nothing else gives access

    Raises
    ------
    Unusable : the port is taken, or *folder* does not exist
    """
    if folder is not None and not folder.exists():
        raise Unusable(str(folder), "nothing there", "a folder", "Check the path.")
    running = handover.known()
    if running is not None:
        found = _knock(running, folder)
        if found is not None:
            say(running.address)
            _let_in(found, say, open_browser)
            return
        handover.release(running)
    _serve(folder, port, say, open_browser)


def _serve(folder: Path | None, port: int, say: Say, open_browser: Callable[[Path], None] | None) -> None:
    """Listen, and open the browser: it starts while the program is loaded, and its first request waits for that."""
    from delivery.desk.sessions import Sessions

    bound = _bound(port)
    address = f"http://{LOOPBACK}:{bound.getsockname()[1]}/"
    sessions = Sessions()
    mine = handover.Running(address, sessions.key, os.getpid())
    if not handover.claim(mine):
        bound.close()
        raise Unusable("delivery desk", "another desk that is just starting", "one desk", "Start it again.")
    try:
        signal.signal(signal.SIGTERM, _end)
        say(address)
        _let_in(handover.way_in(address, sessions.new_secret()), say, open_browser)
        _answer(bound, sessions, address, folder)
    finally:
        handover.release(mine)


def _answer(bound: socket.socket, sessions: Sessions, address: str, folder: Path | None) -> None:
    import gc

    gc.disable()  # modules are loaded and kept: there is nothing to collect
    import uvicorn

    from delivery.desk.app import application
    from delivery.desk.folders import Folders
    from delivery.desk.state import Desk

    gc.enable()
    gc.freeze()
    desk = Desk(Folders(handover.folder() / "opened.json"), own=handover.folder())
    try:
        if folder is not None:
            desk.folders.open(folder.resolve())
        config = uvicorn.Config(
            application(desk, sessions, address),
            http="h11",
            ws="none",
            log_level="critical",
            access_log=False,
            server_header=False,
            lifespan="off",
            timeout_graceful_shutdown=2,
        )
        server = uvicorn.Server(config)

        def stop() -> None:
            desk.feed.end()
            server.should_exit = True

        desk.on_close = stop
        server.run(sockets=[bound])
    finally:
        desk.close()


def _end(*_: object) -> None:
    """End as after Ctrl-C, so that nothing is left behind; the server hands the signal on when it has stopped."""
    raise SystemExit(0)


def _bound(port: int) -> socket.socket:
    """A socket on the loopback address alone."""
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((LOOPBACK, port))
        bound.listen(64)
    except (OSError, OverflowError) as error:
        bound.close()
        raise Unusable(
            f"--port {port}", "a port that is in use or not allowed", "a free one", "Leave it out."
        ) from error
    return bound


def _knock(running: handover.Running, folder: Path | None) -> Path | None:
    """Ask the running desk for a way in; None if it does not answer.

    Raises
    ------
    Unusable : it answers that *folder* cannot be opened
    """
    import urllib.error
    import urllib.request

    said = json.dumps({"folder": str(folder.resolve()) if folder else ""}).encode()
    headers = {KEY_HEADER: running.key, "Content-Type": "application/json"}
    request = urllib.request.Request(running.address.rstrip("/") + KNOCK, said, headers)
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with direct.open(request, timeout=ANSWERS_WITHIN_S) as answer:
            return Path(json.load(answer)["file"])
    except urllib.error.HTTPError as error:
        if error.code == 400:
            raise Unusable(str(folder), "a folder that cannot be opened", "a folder", "Check the path.") from error
        return None
    except (OSError, ValueError, KeyError):
        return None


def _let_in(file: Path, say: Say, open_browser: Callable[[Path], None] | None) -> None:
    if open_browser is not None:
        threading.Thread(target=open_browser, args=(file,), daemon=True).start()
        say(f"Opening it in your browser. If no page appears, open {file}")
    else:
        say(f"The way in, once and within five minutes: open {file}")


def in_browser(file: Path) -> None:
    """Open *file* in the browser."""
    import webbrowser

    webbrowser.open(file.as_uri())
