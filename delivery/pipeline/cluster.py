"""The workers of a cluster (dask.distributed): the work on one file is sent to them; everything else stays here.

A scheduler runs what it is sent, on its own and on all its workers: so beyond this machine it must be reached by TLS,
with certificates on both sides. What is sent are functions of this program and paths; no audio.
"""

from __future__ import annotations

import ipaddress
import logging
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import CancelledError
from contextlib import contextmanager
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar
from urllib.parse import urlsplit

from delivery.errors import Unfinished, Unreadable, Unusable
from delivery.meters import sources_digest

Made = TypeVar("Made")
PACKAGES = (
    *("audio", "chain", "dsp", "formats", "intake", "ledger", "meters", "model", "pack", "pipeline", "rules", "tags"),
    "tasks",
)
"""Workers must have these as they are here: a result must not depend on where it was found."""
NONE_FETCHED: Mapping[Path, str] = MappingProxyType({})
CONNECT_S = 10
AT_A_TIME = 512
"""Calls waiting for results at once, however many workers there are."""
LOOK_S = 5
"""How often a call that takes long looks whether the scheduler is still there."""
PER_THREAD = 2
"""Calls for each thread of the workers, so that none waits for the next file."""


class Cluster:
    """An engine (`pipeline.engine`) of the workers of one scheduler; made by `connected`."""

    is_local = False

    def __init__(self, client: Any, address: str, fetched: Mapping[Path, str] = NONE_FETCHED) -> None:
        self._client, self._address, self._fetched = client, address, fetched
        self._waiting: set[Any] = set()
        self._is_stopped = False
        threads: int = sum(client.nthreads().values())
        self.width = max(1, min(AT_A_TIME, PER_THREAD * threads))
        """Calls that keep all workers at work that were there at first."""

    def location(self, file: Path) -> str:
        """Its path, which must be the same on all machines; of a fetched file its address: workers fetch it, too."""
        return self._fetched.get(file, str(file))

    def run(self, work: Callable[..., Made], *arguments: Any) -> Made:
        """Call *work* on a worker; one that ends is replaced by another, and the call is made again there.

        Raises
        ------
        Unreadable : every worker that opened the file ended
        Unfinished : the scheduler has gone
        """
        from distributed.client import ClosedClientError
        from distributed.comm.core import CommClosedError
        from distributed.scheduler import KilledWorker

        try:
            return self._awaited(work, arguments)
        except KilledWorker as problem:
            place, found = str(arguments[0]), "a file at which several workers ended"
            raise Unreadable(place, found, "a file that can be decoded", "See the workers' own logs.") from problem
        except (CancelledError, ClosedClientError, CommClosedError) as problem:
            raise self._gone() from problem

    def _awaited(self, work: Callable[..., Made], arguments: tuple[Any, ...]) -> Made:
        """A call made while the client tries to reconnect may never be answered, so the connection is looked at."""
        if self._client.status != "running" or self._is_stopped:
            raise self._gone()
        future = self._client.submit(work, *arguments, pure=False)
        self._waiting.add(future)
        try:
            while not _is_done(future, LOOK_S):
                if self._client.status != "running" or self._is_stopped:  # stopped while this call was on its way
                    raise self._gone()
            made: Made = future.result()
            return made
        finally:
            self._waiting.discard(future)

    def stop(self) -> None:
        """Cancel what is waiting; a worker that is at work ends its file, and nobody is told."""
        self._is_stopped = True
        self._client.cancel(tuple(self._waiting), force=True)

    def _gone(self) -> Unfinished:
        remedy = "Start it again; what was measured is kept, and the next run continues from there."
        return Unfinished(self._address, "a scheduler that no longer answers", "one that runs to the end", remedy)


@contextmanager
def connected(address: str, fetched: Mapping[Path, str] = NONE_FETCHED) -> Iterator[Cluster]:
    """The workers of the scheduler at *address*, for as long as the context lasts.

    Parameters
    ----------
    fetched : files here that were fetched from an address, where workers find them

    Raises
    ------
    Unusable : dask.distributed is not installed, the address is beyond this machine and not ``tls://``, or the workers
        have another version of this program
    Unfinished : nothing answers there, or there are no workers
    """
    refuse_unsafe(address)
    try:
        from distributed import Client
        from distributed.security import Security
    except ImportError:
        wanted = "the package distributed"
        raise Unusable(
            "--cluster", "it is not installed", wanted, "Install it: pip install 'delivery[cluster]'."
        ) from None
    for part in ("client", "core", "comm"):  # what matters becomes one message of ours
        logging.getLogger(f"distributed.{part}").setLevel(logging.CRITICAL)
    encrypted = urlsplit(address).scheme == "tls"
    try:
        security = Security(require_encryption=True) if encrypted else None
        client = Client(address, security=security, timeout=CONNECT_S, set_as_default=False)
    except (OSError, TimeoutError, TypeError, ValueError, RuntimeError) as problem:
        remedy = "Start one, or check the address" + (
            " and the certificates in dask's configuration." if encrypted else "."
        )
        raise Unfinished(address, f"no scheduler ({problem})", "one that answers", remedy) from problem
    with client:
        _check_workers(client, address)
        found = Cluster(client, address, fetched)
        yield found


def refuse_unsafe(address: str) -> None:
    """Only ``tls://`` leaves this machine.

    Raises
    ------
    Unusable : another protocol, or ``tcp://`` to another machine
    """
    parts = urlsplit(address)
    try:
        named, port = parts.hostname, parts.port
    except ValueError:
        named, port = None, None
    if not named or not port or parts.scheme not in ("tcp", "tls"):
        raise Unusable("--cluster", repr(address), "such as tls://host:8786 or tcp://127.0.0.1:8786", "Check it.")
    if parts.scheme == "tcp" and not _is_loopback(named):
        remedy = "A scheduler runs what it is sent. Give it certificates, and write tls://."
        raise Unusable("--cluster", f"{address}, another machine without TLS", "tls://", remedy)


def _is_loopback(host: str) -> bool:
    """Whether *host* is this machine by its written form: a name is not looked up, as it may change."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _is_done(future: Any, within_s: float) -> bool:
    """Wait for *future*; True once it has a result or an error, which may come in the moment after a wait has ended."""
    try:
        future.exception(timeout=within_s)
    except TimeoutError:
        return bool(future.done())
    return True


def _check_workers(client: Any, address: str) -> None:
    found = client.run(sources_digest, *PACKAGES)
    if not found:
        raise Unfinished(address, "a scheduler without workers", "at least one", "Start workers, then run again.")
    others = sorted(worker for worker, digest in found.items() if digest != sources_digest(*PACKAGES))
    if others:
        remedy = "Install the same version there: results must not depend on the machine."
        raise Unusable("--cluster", f"another version of this program on {', '.join(others[:3])}", "this one", remedy)
