"""Files that only the user can read: the address of the running desk, and the link that opens it in a browser."""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from dataclasses import asdict, dataclass
from html import escape
from pathlib import Path

from delivery.errors import Unfinished
from delivery.own_folders import data_folder

PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<link rel="icon" href="data:,">
<title>Delivery desk</title>
</head>
<body>
<form method="post" action="{address}enter">
<input type="hidden" name="secret" value="{secret}">
<button>Open the desk</button>
</form>
<script>document.forms[0].submit();</script>
</body>
</html>
"""


@dataclass(frozen=True, slots=True)
class Running:
    """A running desk, as written for a second start."""

    address: str
    """'http://127.0.0.1:8080/'."""
    key: str
    pid: int


def folder() -> Path:
    """The desk's folder, made if it is missing, with no rights for anybody else.

    Raises
    ------
    Unfinished : it cannot be made
    """
    made = data_folder() / "desk"
    try:
        made.mkdir(mode=0o700, parents=True, exist_ok=True)
        if os.name != "nt":
            made.chmod(0o700)
    except OSError as error:
        found = f"no way to make it ({error.strerror or type(error).__name__})"
        raise Unfinished(str(made), found, "a folder of your own", "Check its permissions.") from error
    return made


def known() -> Running | None:
    """The desk that the lock file names; None if there is none. It may have ended without cleaning up."""
    try:
        found = json.loads((folder() / "running.json").read_text(encoding="utf-8"))
        return Running(str(found["address"]), str(found["key"]), int(found["pid"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def claim(running: Running) -> bool:
    """Write the lock file; False if another desk has written one since."""
    return _written(folder() / "running.json", json.dumps(asdict(running)))


def release(running: Running | None = None) -> None:
    """Remove the lock file, unless it is another desk's, and every way in that was not used."""
    if running is None or known() == running:
        with suppress(OSError):
            (folder() / "running.json").unlink(missing_ok=True)
        for left in folder().glob("enter-*.html"):
            with suppress(OSError):
                left.unlink(missing_ok=True)


def way_in(address: str, secret: str) -> Path:
    """Write the file that a browser opens: it posts *secret* to *address*, so that no address ever shows it."""
    path = folder() / f"enter-{secrets.token_hex(8)}.html"
    _written(path, PAGE.format(address=escape(address), secret=escape(secret)))
    return path


def _written(path: Path, text: str) -> bool:
    """Create *path* with rights for the user only; False if it exists."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0), 0o600)
    except FileExistsError:
        return False
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unfinished(str(path), f"no way to write it ({reason})", "free space", "Nothing was changed.") from error
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
    return True
