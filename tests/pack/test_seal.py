"""Seals agree with OpenSSH in both directions, and hold for exactly one package, purpose and key."""

from __future__ import annotations

import subprocess
from contextlib import suppress
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.pack.seal import NAMESPACE, BadSeal, fingerprint, private_key, signed, signer_of, signers_in
from tests.judges import needs

MESSAGE = b"0" * 64 + b"  bagit.txt\n"


def key_pair(folder: Path, *more: str, kind: str = "ed25519", passphrase: str = "") -> Path:
    path = folder / "key"
    quiet = ["ssh-keygen", "-q", "-t", kind, "-N", passphrase, "-C", "T. Mirefield", "-f", str(path), *more]
    subprocess.run(quiet, check=True)
    return path


def by_openssh(folder: Path, key: Path, namespace: str = NAMESPACE) -> bytes:
    (folder / "message").write_bytes(MESSAGE)
    sign = ["ssh-keygen", "-q", "-Y", "sign", "-f", str(key), "-n", namespace, str(folder / "message")]
    subprocess.run(sign, check=True, capture_output=True)
    return (folder / "message.sig").read_bytes()


@needs("ssh-keygen")
def test_openssh_verifies_our_seal(tmp_path: Path) -> None:
    """ssh-keygen -Y verify, the program at the other end; it refuses a message of one other byte."""
    key = key_pair(tmp_path)
    (tmp_path / "seal").write_bytes(signed(MESSAGE, private_key(key)))
    public = (tmp_path / "key.pub").read_text()
    (tmp_path / "allowed").write_text(f'mirefield namespaces="{NAMESPACE}" {public}')
    verify = ["ssh-keygen", "-Y", "verify", "-f", "allowed", "-I", "mirefield", "-n", NAMESPACE, "-s", "seal"]
    assert subprocess.run(verify, cwd=tmp_path, input=MESSAGE, capture_output=True, check=False).returncode == 0
    assert subprocess.run(verify, cwd=tmp_path, input=MESSAGE[1:], capture_output=True, check=False).returncode != 0


@needs("ssh-keygen")
def test_our_seal_is_the_one_openssh_makes(tmp_path: Path) -> None:
    """Ed25519 is deterministic (RFC 8032): the same key and message give the same bytes here and there."""
    key = key_pair(tmp_path)
    assert signed(MESSAGE, private_key(key)) == by_openssh(tmp_path, key)


@needs("ssh-keygen")
def test_the_signer_is_known_by_key_and_fingerprint(tmp_path: Path) -> None:
    key = key_pair(tmp_path)
    (known,) = signers_in(tmp_path / "key.pub")
    found = signer_of(MESSAGE, by_openssh(tmp_path, key))
    assert found.key == known.key
    assert known.name == "T. Mirefield"
    printed = subprocess.run(
        ["ssh-keygen", "-lf", str(tmp_path / "key.pub")], capture_output=True, text=True, check=True
    )
    assert found.fingerprint in printed.stdout


@needs("ssh-keygen")
def test_every_changed_byte_breaks_the_seal(tmp_path: Path) -> None:
    seal = signed(MESSAGE, private_key(key_pair(tmp_path)))
    for at in range(len(MESSAGE)):
        changed = bytearray(MESSAGE)
        changed[at] ^= 1
        with pytest.raises(BadSeal, match="changed after it was sealed"):
            signer_of(bytes(changed), seal)
    for at in range(len(seal)):
        broken = seal[:at] + bytes([seal[at] ^ 1]) + seal[at + 1 :]
        with suppress(BadSeal):
            assert signer_of(MESSAGE, broken) == signer_of(MESSAGE, seal)  # a blank, or padding bits of base64


@needs("ssh-keygen")
def test_a_signature_for_another_purpose_is_no_seal(tmp_path: Path) -> None:
    with pytest.raises(BadSeal, match="another purpose"):
        signer_of(MESSAGE, by_openssh(tmp_path, key_pair(tmp_path), "file"))


@pytest.mark.parametrize(
    "seal", [b"", b"\xff\xfe", b"-----BEGIN SSH SIGNATURE-----\n-----END SSH SIGNATURE-----", b"U1NI"]
)
def test_a_file_that_is_no_signature_is_reported(seal: bytes) -> None:
    with pytest.raises(BadSeal, match="not a signature"):
        signer_of(MESSAGE, seal)


@needs("ssh-keygen")
def test_a_protected_key_asks_for_its_passphrase(tmp_path: Path) -> None:
    key = key_pair(tmp_path, passphrase="low water")
    with pytest.raises(Unusable, match="needs its passphrase"):
        private_key(key)
    with pytest.raises(Unusable, match="wrong passphrase"):
        private_key(key, lambda: "high water")
    signer = signer_of(MESSAGE, signed(MESSAGE, private_key(key, lambda: "low water")))
    assert signer.key == signers_in(tmp_path / "key.pub")[0].key


@needs("ssh-keygen")
def test_other_keys_and_files_are_refused_with_the_way_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"key of another kind.*ssh-keygen -t ed25519"):
        private_key(key_pair(tmp_path, kind="ecdsa"))
    with pytest.raises(Unusable, match=r"ssh-keygen -t ed25519"):
        private_key(tmp_path / "key.pub")
    with pytest.raises(Unusable, match=r"[Nn]o such file"):
        private_key(tmp_path / "none")
    with pytest.raises(Unusable, match="no such key"):
        signers_in(tmp_path / "key.pub")


@needs("ssh-keygen")
def test_keys_limited_to_other_purposes_do_not_count(tmp_path: Path) -> None:
    key_pair(tmp_path)
    public = (tmp_path / "key.pub").read_text()
    (tmp_path / "allowed").write_text(f'# ours\na@example.org namespaces="file,git" {public}b@example.org {public}')
    (only,) = signers_in(tmp_path / "allowed")
    assert only.name == "b@example.org"


def test_the_fingerprint_can_be_read_aloud() -> None:
    """SHA-256 of nothing begins e3b0c442 98fc1c14 9afbf4c8 (FIPS 180-4, widely printed)."""
    assert fingerprint(b"") == "e3b0 c442 98fc 1c14 9afb f4c8"
