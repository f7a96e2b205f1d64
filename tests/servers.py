"""Servers of other machines' files on this one: S3 (SeaweedFS, a real object store), SFTP (asyncssh), HTTP."""

from __future__ import annotations

import asyncio
import functools
import http.server as http_server
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

READER = {"AWS_ACCESS_KEY_ID": "reader", "AWS_SECRET_ACCESS_KEY": "reads-only", "AWS_DEFAULT_REGION": "us-east-1"}
START_S = 90
QUIET = ("-master.volumeSizeLimitMB", "64", "-s3.port.iceberg", "0", "-s3.port.lance", "0")


def free_port() -> int:
    """Below the range that systems give out by themselves; SeaweedFS adds 10,000 for its own calls."""
    for port in range(20_000 + os.getpid() % 5_000, 30_000):
        with socket.socket() as one, socket.socket() as other:
            try:
                one.bind(("127.0.0.1", port))
                other.bind(("127.0.0.1", port + 10_000))
            except OSError:
                continue
            return port
    raise OSError("no free port")


@contextmanager
def s3(root: Path, work: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """The files below *root* in a bucket; its address, and what a client that may only read has in its environment."""
    import s3fs

    weed = Path(sys.executable).with_name("weed")
    keys = [("writer", "writes-too", ["Admin"]), ("reader", "reads-only", ["Read", "List"])]
    identities = [
        {"name": name, "credentials": [{"accessKey": name, "secretKey": secret}], "actions": actions}
        for name, secret, actions in keys
    ]
    (work / "s3.json").write_text(json.dumps({"identities": identities}), encoding="utf-8")
    (work / "store").mkdir()
    port = free_port()
    ports = [
        word
        for at, name in enumerate(("s3", "filer", "master", "volume"))
        for word in (f"-{name}.port", str(port + at))
    ]
    command = [
        weed,
        "server",
        "-dir",
        work / "store",
        "-ip",
        "127.0.0.1",
        "-s3",
        "-s3.config",
        work / "s3.json",
        *ports,
    ]
    with (work / "weed.log").open("wb") as log:
        process = subprocess.Popen([*map(str, command), *QUIET], stdout=log, stderr=log)
        try:
            endpoint = f"http://127.0.0.1:{port}"
            options: dict[str, Any] = {"client_kwargs": {"endpoint_url": endpoint, "region_name": "us-east-1"}}
            writer = s3fs.S3FileSystem(key="writer", secret="writes-too", skip_instance_cache=True, **options)
            _until(lambda: writer.mkdir("catalogue"))
            _until(lambda: writer.put(f"{root}/", "catalogue/", recursive=True))
            yield "s3://catalogue", {**READER, "AWS_ENDPOINT_URL": endpoint}
        finally:
            process.kill()
            process.wait()


@contextmanager
def http(root: Path, work: Path) -> Iterator[tuple[str, Callable[[], list[str]]]]:
    """The files below *root*, with lists of folders; the address, and the method of every request so far."""
    log = work / "requests"
    log.write_text("", encoding="utf-8")
    with _process("http", root, log) as port:
        yield f"http://127.0.0.1:{port}", lambda: log.read_text(encoding="utf-8").split()


@contextmanager
def sftp(root: Path, home: Path) -> Iterator[str]:
    """The files below *root*, read only; its key is in the list of known hosts of a user with the home *home*."""
    import asyncssh

    ssh = home / ".ssh"
    ssh.mkdir(parents=True)
    own, of_user = asyncssh.generate_private_key("ssh-ed25519"), asyncssh.generate_private_key("ssh-ed25519")
    own.write_private_key(ssh / "of_the_server")
    of_user.write_private_key(ssh / "id_ed25519")
    (ssh / "authorized").write_bytes(of_user.export_public_key())
    with _process("sftp", root, ssh) as port:
        key = own.export_public_key().decode().strip()
        (ssh / "known_hosts").write_text(f"[127.0.0.1]:{port} {key}\n", encoding="utf-8")
        yield f"sftp://tester@127.0.0.1:{port}/"


@contextmanager
def _process(kind: str, *words: Path) -> Iterator[int]:
    """A server of this module in a process of its own; its port."""
    command = [sys.executable, "-m", __name__, kind, *map(str, words)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parent.parent)
    try:
        assert process.stdout
        yield int(process.stdout.readline())
    finally:
        process.kill()
        process.wait()
        assert process.stdout
        process.stdout.close()


def _serve_http(root: str, log: str) -> None:
    class Handler(http_server.SimpleHTTPRequestHandler):
        def log_request(self, *_: object) -> None:
            with Path(log).open("a", encoding="utf-8") as file:
                file.write(f"{self.command}\n")

        def log_message(self, *_: object) -> None:
            pass

    server = http_server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=root))
    print(server.server_port, flush=True)
    server.serve_forever()


async def _serve_sftp(root: str, ssh: str) -> None:
    import asyncssh

    class ReadOnly(asyncssh.SFTPServer):
        def __init__(self, channel: Any) -> None:
            super().__init__(channel, chroot=root)

        def open(self, path: bytes, pflags: int, attrs: Any) -> Any:
            if pflags & ~asyncssh.FXF_READ:
                raise asyncssh.SFTPPermissionDenied("read only")
            return super().open(path, pflags, attrs)

    keys = {"server_host_keys": [f"{ssh}/of_the_server"], "authorized_client_keys": f"{ssh}/authorized"}
    server = await asyncssh.listen("127.0.0.1", 0, sftp_factory=ReadOnly, **keys)
    print(server.get_port(), flush=True)
    await asyncio.Event().wait()


def _until(works: Callable[[], object]) -> None:
    """Until the server answers: it starts in several steps."""
    end = time.monotonic() + START_S
    while True:
        try:
            works()
            return
        except Exception:
            if time.monotonic() > end:
                raise
            time.sleep(0.5)


if __name__ == "__main__":
    kind, *words = sys.argv[1:]
    if kind == "http":
        _serve_http(*words)
    else:
        asyncio.run(_serve_sftp(*words))
