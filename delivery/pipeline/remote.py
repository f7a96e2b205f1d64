"""Files on other machines, by address (S3, SFTP, HTTP): fetched to this machine, and never written there.

A file is fetched whole and then read like any other, so that an address changes no result: decoders of untrusted files
get ordinary files. Addresses come from the command line alone, never from a release file, and only with ``--remote``.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import unquote, urlsplit

from delivery.disk import FULL, no_space
from delivery.errors import DeliveryError, Unreadable, Unusable
from delivery.ledger.file_state import SETTLED_NS, Times

LIBRARIES = {"s3": "s3fs", "sftp": "sshfs", "http": "aiohttp", "https": "aiohttp"}
"""What fsspec needs for each kind of address."""
PAUSES_S = (1.0, 4.0)
"""Before the second and the third try: networks fail for a moment, and a large run must not lose files by that."""
CONNECT_S, READ_S = 30, 120
"""HTTP: the longest silence, not the longest transfer, which depends on the file."""


def is_address(text: str) -> bool:
    """Whether *text* names something on another machine.

    Raises
    ------
    Unusable : an address of another kind, without a host, or with a password in it
    """
    scheme, separator, rest = text.partition("://")
    if not separator or not scheme.isascii() or not scheme.replace("+", "").isalnum():
        return False
    if scheme not in LIBRARIES:
        raise Unusable(shown(text), f"an address of the kind {scheme}", _kinds(), "Copy the files here, or mount them.")
    host = rest.partition("/")[0]
    if not host or ".." in rest.split("/"):
        raise Unusable(shown(text), "no host, or a step upwards", f"such as {scheme}://host/folder", "Check it.")
    if ":" in host.rpartition("@")[0]:
        remedy = "Others can read command lines; use a key, or the configuration of the connection."
        raise Unusable(f"{scheme}://{host.rpartition('@')[2]}", "a password", "an address without one", remedy)
    return True


def shown(address: str) -> str:
    """The address to print and store: without its query, which may hold a signature, and without a password."""
    scheme, separator, rest = address.partition("://")
    if scheme in ("http", "https"):
        rest = rest.partition("?")[0].partition("#")[0]
    host, slash, path = rest.partition("/")
    user, at, machine = host.rpartition("@")
    return f"{scheme}{separator}{user.partition(':')[0]}{at}{machine}{slash}{path}"


def parts_of(address: str) -> tuple[str, ...]:
    """Scheme, host, and the steps of the path, as names of files."""
    scheme, _, rest = address.partition("://")
    if scheme in ("http", "https"):
        split = urlsplit(address)
        host, path = split.netloc, unquote(split.path)
    else:
        host, _, path = rest.partition("/")
    return scheme, host, *(step for step in path.split("/") if step)


def below(address: str) -> dict[str, str]:
    """Every file below the folder at *address*: its path from there -> its own address; hidden ones are left out.

    Raises
    ------
    Unreadable, Unusable : nothing there, no permission, or the library for it is not installed
    """
    with _problems(address):
        files, root = _opened(address)
        found = _tried(lambda: files.find(root))
    base = _with_slash(address)
    own = {path.removeprefix(_with_slash(root)): path for path in found if path.startswith(_with_slash(root))}
    named = {parts: base + rest for rest in own if (parts := parts_of(base + rest)[len(parts_of(base)) :])}
    return {
        "/".join(parts): at
        for parts, at in sorted(named.items())
        if not any(part.startswith(".") or "\0" in part for part in parts)
    }


def state_of(address: str, now: datetime | None = None) -> Times | None:
    """Size, and numbers that change with the file; None if the other machine states too little to rely on.

    Parameters
    ----------
    now : for times of change, which are trusted when they are two seconds old; None: the system's clock

    Raises
    ------
    Unreadable, Unusable : as `below`
    """
    with _problems(address):
        files, path = _opened(address)
        about = _tried(lambda: files.info(path))
    size, tag = about.get("size"), about.get("ETag") or about.get("etag")
    changed = about.get("LastModified") or about.get("mtime") or about.get("Last-Modified")
    if not isinstance(size, int) or not (tag or changed):
        return None
    if not tag and isinstance(changed, datetime):
        since = (now or datetime.now(UTC)) - changed.astimezone(UTC)
        if since.total_seconds() * 1e9 < SETTLED_NS:
            return None
    return size, _number(changed), _number(tag)


def fetch(address: str, into: Path) -> None:
    """Copy the file at *address* to the path *into*, in pieces, so that memory does not grow with it.

    Raises
    ------
    Unreadable, Unusable : as `below`, or it ended early
    Unfinished : this machine's disk is full
    """
    with _problems(address):
        files, path = _opened(address)
        size = _tried(lambda: files.info(path)).get("size")
        _tried(lambda: files.get_file(path, str(into)))
    got = into.stat().st_size
    if isinstance(size, int) and got != size:
        raise Unreadable(shown(address), f"{got} bytes of {size}", "the whole file", "Fetch it again.")


@contextmanager
def at_hand(location: str) -> Iterator[Path]:
    """*location* as a path here: itself, or of an address a copy that lasts as long as the context.

    Raises
    ------
    Unreadable, Unusable, Unfinished : as `fetch`
    """
    if not is_address(location):
        yield Path(location)
        return
    folder = Path(tempfile.mkdtemp(prefix="delivery-"))
    try:
        file = folder / parts_of(location)[-1]
        fetch(location, file)
        yield file
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def name_of(location: str) -> str:
    """The name of the file at a path or an address."""
    return parts_of(location)[-1] if is_address(location) else Path(location).name


def suffix_of(location: str) -> str:
    """Its ending in lower case."""
    return PurePosixPath(name_of(location)).suffix.lower()


def _kinds() -> str:
    return ", ".join(f"{scheme}://" for scheme in LIBRARIES)


def _opened(address: str) -> tuple[Any, str]:
    """The file system, and the path in it; fsspec keeps open connections for the next call."""
    scheme, _, rest = address.partition("://")
    import fsspec

    if scheme == "s3":
        return fsspec.filesystem("s3", use_listings_cache=False), rest
    if scheme == "sftp":
        from sshfs import SSHFileSystem  # fsspec's own reader would accept any machine's key

        about = urlsplit(f"sftp://{rest.partition('/')[0]}")
        found = {"host": about.hostname, "port": about.port, "username": about.username}
        # An empty tuple is the user's own list of known hosts; the default here is to check no key at all.
        files = SSHFileSystem(**{key: value for key, value in found.items() if value}, known_hosts=())
        return files, f"/{rest.partition('/')[2]}"
    from aiohttp import ClientTimeout

    timeout = ClientTimeout(total=None, sock_connect=CONNECT_S, sock_read=READ_S)
    return fsspec.filesystem(scheme, client_kwargs={"timeout": timeout}), address


def _tried(work: Any) -> Any:
    """What *work* returns; it is called again where a network may have failed for a moment."""
    for pause_s in PAUSES_S:
        try:
            return work()
        except (FileNotFoundError, PermissionError, NotADirectoryError, IsADirectoryError):
            raise
        except Exception as problem:  # each library has its own kinds of network errors
            if _is_disk_full(problem):
                raise
            time.sleep(pause_s)
    return work()


@contextmanager
def _problems(address: str) -> Iterator[None]:
    """Whatever a library raises, as one of our errors."""
    place, wanted = shown(address), "a file or folder that can be read"
    try:
        yield
    except DeliveryError:
        raise
    except ImportError as problem:
        library = LIBRARIES[address.partition("://")[0]]
        remedy = "Install it: pip install 'delivery[remote]'."
        raise Unusable(place, f"{library} is not installed", f"the package {library}", remedy) from problem
    except FileNotFoundError as problem:
        raise Unreadable(place, "nothing there", wanted, "Check the address.") from problem
    except PermissionError as problem:
        raise Unreadable(place, "no permission", wanted, "Check the account and its rights.") from problem
    except Exception as problem:  # each library has its own kinds of errors
        if full := no_space(problem, Path(tempfile.gettempdir()) / "the files that are fetched"):
            raise full from problem
        why = " ".join(f"{type(problem).__name__}: {problem}".split())[:200]
        raise Unreadable(place, f"no way to read it ({why})", wanted, "Check the address and the account.") from problem


def _is_disk_full(problem: Exception) -> bool:
    return isinstance(problem, OSError) and problem.errno in FULL


def _with_slash(text: str) -> str:
    return text if text.endswith("/") else text + "/"


def _number(text: object) -> int:
    """A number that changes with *text*; 0 for none."""
    return int.from_bytes(hashlib.sha256(str(text).encode()).digest()[:6], "big") if text else 0
