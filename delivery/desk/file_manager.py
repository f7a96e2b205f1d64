"""Show a folder in the system's own file manager."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
from pathlib import Path

from delivery.errors import Unusable

PROGRAMS = {"darwin": "open", "win32": "explorer"}
"""By `sys.platform`; elsewhere that of xdg-utils (freedesktop.org)."""


def show(folder: Path) -> None:
    """Show *folder*; returns at once.

    Raises
    ------
    Unusable : there is no such folder any more, or no file manager
    """
    if not folder.is_dir():
        raise Unusable(str(folder), "nothing there", "the folder of the package", "It was moved or deleted.")
    name = PROGRAMS.get(sys.platform, "xdg-open")
    program = shutil.which(name)
    if program is None:
        raise Unusable("file manager", f"no '{name}' on this machine", "a file manager", f"Open it yourself: {folder}")
    nothing = subprocess.DEVNULL
    run = [program, str(folder)]
    started = subprocess.Popen(run, stdin=nothing, stdout=nothing, stderr=nothing, start_new_session=True)
    threading.Thread(target=started.wait, daemon=True).start()
