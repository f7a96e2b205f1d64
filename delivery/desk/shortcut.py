"""An entry for the desk in the system's own menu or on its desktop, so that it starts without a terminal."""

from __future__ import annotations

import os
import shlex
import sys
from dataclasses import dataclass
from pathlib import Path

from delivery.tasks.write import write_bytes

NAME = "Delivery desk"


@dataclass(frozen=True, slots=True)
class Shortcut:
    """A file that starts the desk."""

    path: Path
    text: str
    executable: bool = False


def shortcut(platform: str, program: Path, home: Path, environment: dict[str, str] | None = None) -> Shortcut:
    """The shortcut of this platform.

    Parameters
    ----------
    platform : as `sys.platform`: 'win32', 'darwin'; any other has desktop entries (freedesktop.org)
    program : the Python that runs this program
    """
    known = environment or {}
    if platform == "win32":
        menu = Path(known.get("APPDATA") or home / "AppData" / "Roaming") / "Microsoft/Windows/Start Menu/Programs"
        # 'start' with the windowless Python leaves no console open; a per cent sign would begin a variable.
        windowless = program.with_name("pythonw.exe")
        line = f'start "" "{str(windowless).replace("%", "%%")}" -m delivery desk'
        return Shortcut(menu / f"{NAME}.bat", f"@echo off\r\nchcp 65001 >nul\r\n{line}\r\n")
    if platform == "darwin":
        text = f"#!/bin/sh\n# Closing the desk from its page ends it.\nexec {_shell(program)} -m delivery desk\n"
        return Shortcut(home / "Applications" / f"{NAME}.command", text, executable=True)
    data = Path(known.get("XDG_DATA_HOME") or home / ".local" / "share")
    lines = (
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.5",
        f"Name={NAME}",
        "Comment=Check, complete and build a release in the browser",
        f"Exec={_desktop(program)} -m delivery desk",
        "Terminal=false",
        "Categories=AudioVideo;Audio;",
    )
    return Shortcut(data / "applications" / "delivery-desk.desktop", "\n".join(lines) + "\n")


def install() -> Path:
    """Write the shortcut of this machine; where it is.

    Raises
    ------
    Unfinished : it cannot be written
    """
    made = shortcut(sys.platform, Path(sys.executable), Path.home(), dict(os.environ))
    made.path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(made.path, made.text.encode("utf-8"))
    if made.executable:
        made.path.chmod(0o755)
    return made.path


def _shell(program: Path) -> str:
    return shlex.quote(str(program))


def _desktop(program: Path) -> str:
    """An argument of an Exec key, quoted (Desktop Entry Specification 1.5, 'The Exec key').

    Within the quotes `"`, a back-quote, `$` and a backslash are escaped, then every backslash once more as in any
    value; a per cent sign is written twice.
    """
    text = str(program)
    for sign in ("\\", '"', "`", "$"):
        text = text.replace(sign, "\\" + sign)
    return '"' + text.replace("\\", "\\\\").replace("%", "%%") + '"'
