"""A package from elsewhere: only the result is shown, and no file of it is ever served.

One whose path is known is verified where it lies. A browser does not say where a dropped folder lies: if a folder with
the same files is known, that one is verified; else the files are copied into a private folder, verified, and deleted.
"""

from __future__ import annotations

import threading
import time
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.desk.feed import PROGRESS, Feed
from delivery.desk.folders import Folders
from delivery.desk.latest_job import LatestJob
from delivery.desk.progress import Progress
from delivery.desk.temporary import Temporary
from delivery.desk.transfer import AGAIN, IDLE_S, Transfer
from delivery.desk.work import Outcome, VerifyJob, VerifyResult
from delivery.desk.worker import Ticket, Worker
from delivery.desk.worker_process import CANCELLED
from delivery.errors import DeliveryError, Unusable

if TYPE_CHECKING:
    from delivery.tasks.incoming import Offer

ID = "received"
"""The name under which open pages get its events."""
REPORT_EVERY_S = 0.2
IN_PLACE = "Verified in place; nothing was copied."
FOUND = (
    "The browser does not report where a dropped folder is. This one has the same name and the same files (by name, "
    "size, time of change and tag manifest), so it was verified where it lies; nothing was copied."
)
COPIED = (
    "The browser does not report where a dropped folder is, so its files were copied into a private folder. The copy "
    "was verified and deleted."
)
UNPACKED = "The zip was unpacked into a private folder; the files in it were verified and deleted."


class Received(LatestJob[VerifyResult]):
    """The package that was chosen or dropped last. Methods may be called from any thread.

    Parameters
    ----------
    folders : opened by the user
    before : packages that were verified by their path on earlier days
    """

    def __init__(self, worker: Worker, feed: Feed, folders: Folders, before: Folders, temporary: Temporary) -> None:
        super().__init__(worker, feed, ID)
        self._folders, self._before, self._temporary = folders, before, temporary
        self.package: Path | None = None
        self.name = ""
        """What is printed: the path, or the name of what was dropped."""
        self.how = ""
        """Which bytes were verified, in a sentence."""
        self.dropped = False
        """The package was dropped, and a folder that is known was verified in its place."""
        self.transfer: Transfer | None = None
        self._reported_s = 0.0

    def verify(self, typed: str) -> None:
        """Begin to verify the package in the folder or zip *typed*; one that is under way is cancelled.

        Raises
        ------
        Unusable : not the whole path of a folder or zip
        """
        from delivery.tasks.incoming import is_zip

        path = Path(typed.strip()).expanduser()
        wanted = "the path of a package folder, or of its zip"
        if not typed.strip() or not path.is_absolute():
            raise Unusable(typed or "package", "no whole path", wanted, "Write it from the first '/' on.")
        try:
            path = path.resolve(strict=True)
        except (OSError, RuntimeError, ValueError) as error:
            raise Unusable(typed, "nothing there", wanted, "Check the path.") from error
        if path.is_file() and is_zip(path):
            folder = self._temporary.folder()
            self._verify(VerifyJob(path, unpacked=folder, temporary=folder), str(path), UNPACKED)
        elif path.is_dir():
            self._before.open(path)
            self._verify(VerifyJob(path), str(path), IN_PLACE)
        else:
            raise Unusable(typed, "a file", wanted, "Choose the folder, or its zip.")

    def offer(self, offered: Offer, *, copy: bool) -> Transfer | None:
        """Begin with a package that was dropped: None if a folder that is known is verified in its place.

        Parameters
        ----------
        copy : take its files, whatever is known

        Raises
        ------
        Unfinished : too little space on the disk
        """
        from delivery.tasks.incoming import refuse_without_space

        self.cancel()
        found = None if copy else self._known(offered)
        if found is not None:
            self._verify(VerifyJob(found), str(found), FOUND, dropped=True)
            return None
        folder = self._temporary.folder()
        try:
            refuse_without_space(offered.name, offered.size_bytes, folder)
        except DeliveryError:
            self._temporary.remove(folder)
            raise
        transfer = Transfer(offered, folder)
        with self._lock:
            self._replace_shown(offered.name, "")
            self.transfer = transfer
        threading.Thread(target=self._watch, args=(transfer,), daemon=True, name="desk transfer").start()
        self._feed.send(self._id, "built")
        return transfer

    async def take(self, id: str, number: int, body: AsyncIterator[bytes]) -> None:
        """One file of the package that was dropped. If anything fails, nothing of it is left.

        Raises
        ------
        Unusable, Unfinished : as `Transfer.take`, and for a transfer that has ended
        """
        transfer = self._current(id)
        try:
            await transfer.take(number, self._counted(transfer, body))
        except DeliveryError as error:
            self._drop(transfer, str(error))
            raise
        except BaseException:  # the page has gone, or the desk is closed
            self._drop(transfer, CANCELLED)
            raise

    def arrived(self, id: str) -> None:
        """Verify what was dropped; every file of it is here.

        Raises
        ------
        Unusable : some are not
        """
        from delivery.tasks.incoming import is_zip

        transfer = self._current(id)
        if not transfer.whole:
            self._drop(transfer, "Not every file arrived.")
            raise Unusable(transfer.offer.name, "not every file", "all files of the package", AGAIN)
        with self._lock:
            self.transfer = None
        only = transfer.package / transfer.offer.files[0].path
        job = VerifyJob(transfer.package, temporary=transfer.folder)
        if len(transfer.offer.files) == 1 and is_zip(only):
            job = VerifyJob(only, unpacked=self._below(transfer.folder), temporary=transfer.folder)
        self._verify(job, transfer.offer.name, UNPACKED if job.unpacked else COPIED)

    def cancel(self) -> None:
        """Cancel the transfer or the job."""
        transfer = self.transfer
        if transfer is not None:
            self._drop(transfer, CANCELLED)
        super().cancel()

    def _verify(self, job: VerifyJob, name: str, how: str, *, dropped: bool = False) -> None:
        transfer = self.transfer
        if transfer is not None:
            self._drop(transfer, CANCELLED)
        with self._lock:
            ticket, earlier = self._replace(job)
            self.package, self.name, self.how, self.dropped = job.package, name, how, dropped
        self._start(ticket, earlier)
        self._feed.send(self._id, "built")

    def _replace_shown(self, name: str, how: str) -> None:
        self.result, self.problem, self.progress, self.ticket = None, "", None, None
        self.package, self.name, self.how, self.dropped = None, name, how, False

    def _known(self, offered: Offer) -> Path | None:
        from delivery.tasks.incoming import same_folder

        named = [*self._folders.named(offered.name), *self._before.opened()]
        return next((folder for folder in dict.fromkeys(named) if same_folder(folder, offered)), None)

    def _below(self, folder: Path) -> Path:
        made = folder / "unpacked"
        made.mkdir(mode=0o700)
        return made

    def _current(self, id: str) -> Transfer:
        transfer = self.transfer
        if transfer is None or transfer.id != id:
            raise Unusable("package", "a transfer that has ended", "the one that was begun last", AGAIN)
        return transfer

    async def _counted(self, transfer: Transfer, body: AsyncIterator[bytes]) -> AsyncIterator[bytes]:
        async for part in body:
            yield part
            now = time.monotonic()
            if now - self._reported_s > REPORT_EVERY_S and self.transfer is transfer:
                self._reported_s = now
                done, total = (round(size / 10**6) for size in (transfer.received_bytes, transfer.offer.size_bytes))
                text = "copying into a private folder (MB)"
                self.progress = Progress.after(self.progress, text, done, max(1, total), transfer.file)
                self._feed.send(self._id, PROGRESS, self.progress.as_event())

    def _drop(self, transfer: Transfer, why: str) -> None:
        """End a transfer and delete what it has brought."""
        with self._lock:  # the first reason is shown: ending it makes the file that is coming fail as well
            current = self.transfer is transfer
            if current:
                self.transfer, self.progress, self.problem = None, None, why
        transfer.end()
        self._temporary.remove(transfer.folder)
        if current:
            self._feed.send(self._id, "built")

    def _watch(self, transfer: Transfer) -> None:
        """End a transfer whose page has gone."""
        while self.transfer is transfer:
            time.sleep(min(1.0, IDLE_S))
            if self.transfer is transfer and transfer.idle:
                self._drop(transfer, "The page that was sending it has gone; nothing of it is left.")

    def _done(self, ticket: Ticket, outcome: Outcome) -> None:
        self._remove_copy(ticket)
        super()._done(ticket, outcome)

    def _failed(self, ticket: Ticket, text: str) -> None:
        self._remove_copy(ticket)
        super()._failed(ticket, text)

    def _remove_copy(self, ticket: Ticket) -> None:
        if isinstance(ticket.job, VerifyJob):
            self._temporary.remove(ticket.job.temporary)
