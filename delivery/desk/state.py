"""Open releases: the file as it was read last, the last check and build, what is under way, and what can be undone."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.desk.client_sheet import ClientSheet
from delivery.desk.comparing import Comparing
from delivery.desk.decoded import Decoded
from delivery.desk.feed import PROGRESS, Feed
from delivery.desk.folders import Folders
from delivery.desk.listing import Listing
from delivery.desk.progress import Progress
from delivery.desk.received import Received
from delivery.desk.temporary import Temporary
from delivery.desk.work import BuildJob, BuildResult, CheckJob, CheckResult, Job, Outcome, VerifyJob, VerifyResult
from delivery.desk.worker import Ticket, Worker
from delivery.errors import DeliveryError

if TYPE_CHECKING:
    from delivery.model.release import Release
    from delivery.report.view.label_copy import LabelCopy
    from delivery.report.view.model import View
    from delivery.tasks.edit import Edited

MOST_UNDO = 200


@dataclass(frozen=True, slots=True)
class Text:
    """A release file as read."""

    digest: str
    stamp: tuple[int, ...]
    """Times and sizes of the file, its masters and its cover: what is compared to notice a change."""
    release: Release | None = None
    view: View | None = None
    """Before anything is measured."""
    copy: LabelCopy | None = None
    problem: str = ""
    strays: tuple[Path, ...] = ()
    """Files it names outside the folders that the user opened; nothing is measured then."""


@dataclass(eq=False)
class OpenRelease:
    """A release that is open on the desk."""

    id: str
    path: Path
    """The release file."""
    text: Text
    view: View | None = None
    """Of the last check."""
    checked: str = ""
    """Digest of the text that was checked."""
    remarks: tuple[str, ...] = ()
    problem: str = ""
    """Why the last check gave nothing."""
    progress: Progress | None = None
    ticket: Ticket | None = None
    building: Ticket | None = None
    built: BuildResult | None = None
    verified: VerifyResult | None = None
    build_problem: str = ""
    client_sheet: ClientSheet | None = None
    """Dropped in, and not written yet."""
    undo: list[tuple[bytes, str]] = field(default_factory=list)
    """Earlier contents of the file, each with the digest of the contents that replaced it."""


class Desk:
    """Everything the pages show. Methods may be called from any thread.

    Parameters
    ----------
    own : folder of this desk, which no other one uses meanwhile; None: nothing is kept
    """

    def __init__(self, folders: Folders, worker: Worker | None = None, own: Path | None = None) -> None:
        self.folders, self.worker, self.feed = folders, worker or Worker(), Feed()
        self.temporary = Temporary(own / "temporary" if own else None)
        before = Folders(own / "received.json" if own else None)
        self.received = Received(self.worker, self.feed, folders, before, self.temporary)
        self.comparing = Comparing(self.worker, self.feed, folders, self.temporary)
        self.decoded = Decoded(self.temporary)
        self.listing = Listing(self.feed, own / "releases.json" if own else None)
        self._releases: dict[str, OpenRelease] = {}
        self._lock = threading.RLock()
        self._closed = threading.Event()
        self.on_close: Callable[[], None] = lambda: None
        threading.Thread(target=self._watch, daemon=True, name="desk watch").start()

    def close(self) -> None:
        """End all jobs and pages."""
        self._closed.set()
        self.feed.end()
        self.worker.close()
        self.listing.close()
        self.temporary.close()

    def releases(self) -> list[OpenRelease]:
        """Those in the opened folders, read again where their files changed."""
        return [self.at(path) for path in self.folders.release_files()]

    def at(self, path: Path) -> OpenRelease:
        """The release of this file, which lies in an opened folder."""
        key = id_of(path)
        with self._lock:
            found = self._releases.get(key)
            if found is None:
                found = self._releases[key] = OpenRelease(key, path, read(path, self.folders))
            elif stamp_of(path, found.text.release) != found.text.stamp:
                self._reread(found)
            return found

    def release(self, key: str) -> OpenRelease:
        """The release of this id. Raises KeyError if it is not in an opened folder."""
        with self._lock:
            known = self._releases.get(key)
        if known is not None and self.folders.holds(known.path) and known.path.is_file():
            return self.at(known.path)
        for path in self.folders.release_files():
            if id_of(path) == key:
                return self.at(path)
        raise KeyError(key)

    def opened(self, path: Path) -> OpenRelease | None:
        """The release of this file if its page was opened already."""
        with self._lock:
            return self._releases.get(id_of(path))

    def edited(self, one: OpenRelease, change: Callable[[], Edited]) -> Edited:
        """Make a *change* to its file, keep what undoes it, read it again and check it."""
        with self._lock:
            done = change()
            if done.digest != hashlib.sha256(done.before).hexdigest():
                one.undo = [*one.undo[1 - MOST_UNDO :], (done.before, done.digest)]
            self._reread(one)
        self.feed.send(one.id, "edited", {"digest": one.text.digest})
        return done

    def undone(self, one: OpenRelease, digest: str) -> bool:
        """Undo the last change; False if there is none, or the file was changed by another program since."""
        with self._lock:
            if not one.undo or one.undo[-1][1] != digest:
                return False
            from delivery.tasks.edit import put_back

            earlier, _ = one.undo[-1]
            put_back(one.path, digest, earlier)
            one.undo.pop()
            self._reread(one)
        self.feed.send(one.id, "edited", {"digest": one.text.digest})
        return True

    def check(self, one: OpenRelease) -> None:
        """Measure and check what is not checked yet; returns at once."""
        with self._lock:
            text = one.text
            if one.checked == _state(text) or text.release is None or text.strays or one.building:
                return
            earlier = one.ticket
            one.checked, one.problem = _state(text), ""
            ticket = one.ticket = self._ticket(one, CheckJob(one.path))
        self._start(ticket, earlier)

    def build(self, one: OpenRelease, *, replace: bool) -> None:
        """Begin to build *one*, unless a build is running."""
        with self._lock:
            if one.building is not None or one.text.strays:
                return
            earlier = one.ticket
            if earlier is not None:
                one.ticket, one.checked = None, ""
            one.built, one.verified, one.build_problem = None, None, ""
            ticket = one.building = self._ticket(one, BuildJob(one.path, replace))
        self._start(ticket, earlier, first=True)

    def verify(self, one: OpenRelease) -> None:
        """Begin to verify the package of *one*."""
        with self._lock:
            if one.building is not None or one.built is None or one.built.package is None:
                return
            one.verified, one.build_problem = None, ""
            ticket = one.building = self._ticket(one, VerifyJob(one.built.package))
        self.worker.put(ticket, first=True)

    def cancel(self, one: OpenRelease) -> None:
        """Cancel the job of *one*."""
        with self._lock:
            ticket = one.building or one.ticket
        if ticket is not None:
            self.worker.cancel(ticket)

    def _start(self, ticket: Ticket, earlier: Ticket | None, *, first: bool = False) -> None:
        """Cancel *earlier*, which is no longer the job of its release: that it ended so is nobody's news."""
        if earlier is not None:
            self.worker.cancel(earlier)
        self.worker.put(ticket, first=first)

    def _ticket(self, one: OpenRelease, job: Job) -> Ticket:
        return Ticket(job, partial(self._progressed, one), partial(self._done, one), partial(self._failed, one))

    def _progressed(self, one: OpenRelease, text: str, done: int, total: int, file: str) -> None:
        with self._lock:
            one.progress = Progress.after(one.progress, text, done, total, file)
            said = one.progress.as_event()
        self.feed.send(one.id, PROGRESS, said)

    def _done(self, one: OpenRelease, ticket: Ticket, outcome: Outcome) -> None:
        with self._lock:
            one.progress = None
            if isinstance(outcome, CheckResult):
                if one.ticket is not ticket:
                    return
                one.view, one.remarks, one.ticket = outcome.view, outcome.remarks, None
                if one.built is None or one.built.found:
                    one.built = outcome.last
            else:
                one.building = None
                if isinstance(outcome, BuildResult):
                    one.built = outcome
                elif isinstance(outcome, VerifyResult):
                    one.verified = outcome
        if isinstance(outcome, CheckResult):
            self.listing.checked(one.path, one.text.stamp[:2], outcome.view)
        self.feed.send(one.id, "checked" if isinstance(outcome, CheckResult) else "built")
        self.check(one)

    def _failed(self, one: OpenRelease, ticket: Ticket, text: str) -> None:
        with self._lock:
            if one.building is ticket:
                one.building, one.build_problem = None, text
                kind = "built"
            elif one.ticket is ticket:
                one.ticket, one.problem = None, text
                kind = "checked"
            else:
                return
            one.progress = None
        self.feed.send(one.id, kind)

    def _reread(self, one: OpenRelease) -> None:
        one.text = read(one.path, self.folders)

    def _watch(self) -> None:
        """Notice changes by other programs to files of the releases that a page shows."""
        while not self._closed.wait(1.0):
            for key in self.feed.watched():
                with self._lock:
                    one = self._releases.get(key)
                    changed = one is not None and stamp_of(one.path, one.text.release) != one.text.stamp
                    if one is not None and changed:
                        self._reread(one)
                if one is not None and changed:
                    self.feed.send(key, "changed", {"digest": one.text.digest})
                    self.check(one)


def id_of(path: Path) -> str:
    """The name of a release in addresses."""
    return hashlib.sha256(str(path).encode()).hexdigest()[:12]


def _state(text: Text) -> str:
    return f"{text.digest} {text.stamp}"


def read(path: Path, folders: Folders) -> Text:
    """Read a release file; its faults are text too."""
    from delivery import figures, load_release, load_studio
    from delivery.model.part import Delivery
    from delivery.report.view.label_copy import label_copy
    from delivery.report.view.make import view_of
    from delivery.tasks.edit import digest_of

    stamp = stamp_of(path, None)
    try:
        digest = digest_of(path)
        release = load_release(path)
        view = view_of(Delivery(release, load_studio(path), (), (), ()), figures())
    except DeliveryError as error:
        return Text("", stamp, problem=str(error))
    named = [*(track.file for track in release.tracks), *([release.artwork] if release.artwork else [])]
    strays = tuple(file for file in named if not folders.holds(file))
    text = Text(digest, stamp, release, view, label_copy(view), strays=strays)
    return replace(text, stamp=stamp_of(path, release))


def stamp_of(path: Path, release: Release | None) -> tuple[int, ...]:
    """Times and sizes of the release file, its masters and cover; 0 for a file that is not there."""
    files = [path]
    if release is not None:
        files += [track.file for track in release.tracks] + ([release.artwork] if release.artwork else [])
    numbers: list[int] = []
    for file in files:
        try:
            found = file.stat()
            numbers += [found.st_mtime_ns, found.st_size]
        except OSError:
            numbers.append(0)
    return tuple(numbers)
