"""A scheduler and two workers of dask on this machine, each a process of its own, reached by TLS."""

from __future__ import annotations

import datetime
import ipaddress
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

START_S = 120


def certificates(folder: Path) -> dict[str, str]:
    """An authority of our own and one certificate by it, for both ends; dask's settings that name them."""
    authority, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    made = _certificate("Test authority", authority, authority, "Test authority", is_authority=True)
    own = _certificate("Test machine", key, authority, "Test authority", is_authority=False)
    names = {"ca.pem": made, "cert.pem": own}
    for name, certificate in names.items():
        (folder / name).write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    pem, form, none = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    (folder / "key.pem").write_bytes(key.private_bytes(pem, form, none))
    settings = {"distributed.comm.tls.ca-file": str(folder / "ca.pem")}
    for end in ("client", "scheduler", "worker"):
        settings[f"distributed.comm.tls.{end}.cert"] = str(folder / "cert.pem")
        settings[f"distributed.comm.tls.{end}.key"] = str(folder / "key.pem")
    return settings


def _certificate(
    name: str, key: ec.EllipticCurvePrivateKey, by: ec.EllipticCurvePrivateKey, issuer: str, *, is_authority: bool
) -> x509.Certificate:
    subject, issued = (x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, each)]) for each in (name, issuer))
    now = datetime.datetime.now(datetime.UTC)
    loopback = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))])
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issued)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(hours=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(x509.BasicConstraints(is_authority, None), critical=True)
        .add_extension(loopback, critical=False)
        .sign(by, hashes.SHA256())
    )


class Machines:
    """With a nanny, whose workers are daemonic processes: the decoders' processes must start under these, too."""

    def __init__(self, folder: Path, workers: int = 2, *, tls: bool = True) -> None:
        self.settings = certificates(folder) if tls else {}
        as_env = {"DASK_" + key.upper().replace(".", "__").replace("-", "_"): at for key, at in self.settings.items()}
        as_env["DASK_DISTRIBUTED__SCHEDULER__WORK_STEALING"] = "False"
        self.env = {**os.environ, "OPENBLAS_NUM_THREADS": "1", **as_env}
        self._log = (folder / "machines.log").open("wb")
        about, local = folder / "scheduler.json", ("--host", "127.0.0.1", "--no-dashboard")
        protocol = ("--protocol", "tls") if tls else ()
        self.scheduler = self._started(
            "dask_scheduler", *local, *protocol, "--port", "0", "--scheduler-file", str(about)
        )
        many = ("--nthreads", "1", "--nworkers", str(workers), "--local-directory", str(folder))
        self.nanny = self._started("dask_worker", *local, *protocol, *many, "--scheduler-file", str(about))
        self.address = self._address(about, workers)

    def kill_a_worker(self) -> None:
        """By the signal that it cannot catch; its nanny starts another."""
        with self.client() as client:
            os.kill(min(client.run(os.getpid).values()), signal.SIGKILL)

    @contextmanager
    def client(self) -> Iterator[Any]:
        import dask
        from distributed import Client

        with dask.config.set(self.settings), Client(self.address, timeout=START_S, set_as_default=False) as client:
            yield client

    def end(self) -> None:
        for process in (self.nanny, self.scheduler):
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)  # workers and decoders too, which a nanny would wait for
            process.wait()
        self._log.close()

    def _started(self, program: str, *words: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.{program}", *words]
        return subprocess.Popen(command, stdout=self._log, stderr=self._log, env=self.env, start_new_session=True)

    def _address(self, about: Path, workers: int) -> str:
        end = time.monotonic() + START_S
        while not about.exists() or not about.read_bytes():
            assert time.monotonic() < end and self.scheduler.poll() is None, "the scheduler has not started"  # noqa: PT018
            time.sleep(0.1)
        self.address = str(json.loads(about.read_text(encoding="utf-8"))["address"])
        with self.client() as client:
            client.wait_for_workers(workers, timeout=START_S)
        return self.address
