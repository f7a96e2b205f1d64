"""Changes of files below folders, as the operating system reports them (watchfiles); network drives are polled."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

from delivery.errors import Unusable

POLL_MS = 3_000
"""How often the files of a network drive are looked at: each look requests every file's state from the server."""
NETWORK = frozenset(
    {"afpfs", "cifs", "davfs", "fuse.rclone", "fuse.sshfs", "ncpfs", "nfs", "nfs4", "smb2", "smb3", "smbfs", "webdav"}
)
"""File systems whose changes by other machines are not reported. From memory of what Linux and macOS call them."""
RETRY_S = 2.0
"""How often a folder that is away is looked for."""


def on_network(folder: Path, mounts: str | None = None) -> bool:
    """True if *folder* is on a network drive, as far as the system reports it (Linux: /proc/self/mounts).

    Parameters
    ----------
    mounts : the table of mounted file systems; None: the system's own
    """
    if mounts is None:
        table = Path("/proc/self/mounts")
        mounts = table.read_text(encoding="utf-8", errors="replace") if table.exists() else ""
    lines = [line.split() for line in mounts.splitlines()]
    kinds = {Path(line[1].replace("\\040", " ")): line[2] for line in lines if len(line) > 2}
    return next((kinds[each] for each in (folder, *folder.parents) if each in kinds), "") in NETWORK


def changed_paths(roots: Sequence[Path], poll: bool, stop: threading.Event) -> queue.Queue[Path]:
    """Changed paths as they come, from another thread, so that checks do not delay them.

    Raises
    ------
    Unusable : watchfiles is not installed
    """
    try:
        from watchfiles import watch as changes
    except ImportError:
        wanted = "the package watchfiles"
        raise Unusable("watch", "it is not installed", wanted, "Install it: pip install 'delivery[watch]'.") from None
    found: queue.Queue[Path] = queue.Queue()

    def listen() -> None:
        seen = partial(changes, *roots, watch_filter=None, stop_event=stop, raise_interrupt=False)
        while not stop.is_set():
            try:
                for some in seen(force_polling=poll or None, poll_delay_ms=POLL_MS):
                    for _, path in sorted(some):
                        found.put(Path(path))
                    if not _all_there(roots):
                        break
            except OSError:  # a drive that was taken away
                pass
            _wait_for(roots, stop, found)
        found.put(Path())  # concerns no release: it ends the wait

    threading.Thread(target=listen, name="watch", daemon=True).start()
    return found


def _all_there(roots: Sequence[Path]) -> bool:
    return all(root.is_dir() for root in roots)


def _wait_for(roots: Sequence[Path], stop: threading.Event, found: queue.Queue[Path]) -> None:
    """Until all folders are there; those that were away are looked through again."""
    away = [root for root in roots if not root.is_dir()]
    if away:
        found.put(Path())  # their releases are gone
    while not (_all_there(roots) or stop.wait(RETRY_S)):
        pass
    for root in away:
        found.put(root)


def waiting(events: queue.Queue[Path], wait_s: float | None) -> Iterator[Path]:
    """Wait for a change, for *wait_s* at most; then all that have come."""
    try:
        yield events.get(timeout=wait_s)
        while True:
            yield events.get_nowait()
    except queue.Empty:
        return
