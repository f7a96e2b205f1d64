"""The list of releases: what is known of each is kept from one day to the next, and what is not is read beside."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.desk.feed import Feed
from delivery.report.view import words
from delivery.tasks.summaries import Summary, keep, kept, stamp_of, summarised, with_last

if TYPE_CHECKING:
    from delivery.report.view.model import View

ID = "releases"
"""The name under which open pages get its events."""
AT_ONCE_S = 0.3
"""So long a page waits for files that were not read before."""
REPORT_EVERY_S = 2.0
REST_S = 0.02
"""Between two files that are read beside, so that pages are answered meanwhile."""


class Listing:
    """Summaries of release files. Methods may be called from any thread.

    Parameters
    ----------
    file : in which they are kept; None: nowhere
    """

    def __init__(self, feed: Feed, file: Path | None = None) -> None:
        self._feed, self._file = feed, file
        self._known = kept(file) if file else {}
        self._lock, self._keeping = threading.Lock(), threading.Lock()
        self._changed = False
        self._waiting: list[Path] = []
        self._reading = False
        self._closed = False

    def close(self) -> None:
        """Stop reading, and keep what is known."""
        self._closed = True
        self._keep()

    def of(self, paths: list[Path]) -> dict[Path, Summary | None]:
        """The summary of each release file; None: it is being read, and open pages are informed."""
        until = time.monotonic() + AT_ONCE_S
        found: dict[Path, Summary | None] = {}
        for path in paths:
            known = self._known.get(str(path))
            if known is not None and known.stamp == stamp_of(path):
                found[path] = self._put(path, with_last(known))
            else:
                found[path] = self._put(path, summarised(path)) if time.monotonic() < until else None
        self._read_beside([path for path, one in found.items() if one is None])
        self._keep()
        return found

    def checked(self, path: Path, stamp: tuple[int, ...], view: View) -> None:
        """Keep the result of a check of the release file as it was at *stamp*."""
        known = self._known.get(str(path))
        if known is None or known.stamp != stamp:
            known = summarised(path)
        if known.stamp == stamp and not known.problem:
            self._put(path, replace(known, checked=view.verdict.word, open_points=open_points(view)), of_check=True)
            self._keep()

    def _put(self, path: Path, summary: Summary, *, of_check: bool = False) -> Summary:
        """Store *summary*; if a check of the same text ended while the file was being read, its result is kept."""
        with self._lock:
            known = self._known.get(str(path))
            if not of_check and known is not None and known.stamp == summary.stamp:
                summary = replace(summary, checked=known.checked, open_points=known.open_points)
            self._changed = self._changed or known != summary
            self._known[str(path)] = summary
        return summary

    def _keep(self) -> None:
        with self._keeping:
            with self._lock:
                changed, known, self._changed = self._changed, dict(self._known), False
            if self._file and changed:
                keep(self._file, known)

    def _read_beside(self, paths: list[Path]) -> None:
        with self._lock:
            self._waiting = paths
            if not paths or self._reading:
                return
            self._reading = True
        threading.Thread(target=self._read, daemon=True, name="desk listing").start()

    def _read(self) -> None:
        reported_at = time.monotonic()
        while not self._closed:
            with self._lock:
                if not self._waiting:
                    self._reading = False
                    break
                path = self._waiting.pop(0)
            self._put(path, summarised(path))
            if time.monotonic() - reported_at > REPORT_EVERY_S:
                reported_at = time.monotonic()
                self._keep()
                self._feed.send(ID, "checked")
            time.sleep(REST_S)
        self._keep()
        self._feed.send(ID, "checked")


def open_points(view: View) -> str:
    """What is open in a checked release, in words; empty: nothing."""
    from delivery.report.view.groups import groups_of

    groups = groups_of(view.notices, view.remarks)
    parts = [f"{len(groups.to_settle)} to settle"] if groups.to_settle else []
    parts += [words.counted(len(groups.questions), "question")] if groups.questions else []
    return ", ".join(parts)
