"""A seal: the package's tag manifest signed with an ordinary OpenSSH key, in OpenSSH's own signature format.

It can be checked with the signer's public key, without this program:

    ssh-keygen -Y verify -f allowed_signers -I NAME -n delivery-package -s tagmanifest-sha256.txt.sig \
        < tagmanifest-sha256.txt

The tag manifest holds the checksum of the manifest, which holds the checksum of every file: so the seal covers all.
Format: PROTOCOL.sshsig of OpenSSH, version 1; keys: RFC 8709 (Ed25519, whose signatures are the same every time).
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
import struct
import textwrap
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.errors import Unusable
from delivery.regular import read_regular

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

NAMESPACE = "delivery-package"
"""Signatures made by the same key for another purpose are not accepted."""
KIND = "ssh-ed25519"
MOST_BYTES = 2**20

_MAGIC = b"SSHSIG"
_BEGIN, _END = "-----BEGIN SSH SIGNATURE-----", "-----END SSH SIGNATURE-----"
_LINE = re.compile(rf"(?P<before>.*?)(?:^|\s){KIND}\s+(?P<key>[A-Za-z0-9+/=]+)(?:\s+(?P<comment>.*))?$")
_NAMESPACES = re.compile(r'namespaces="([^"]*)"')


class BadSeal(Exception):
    """The seal is not valid; the message states why."""


@dataclass(frozen=True, slots=True)
class Signer:
    """A public key with its name."""

    key: bytes
    """32 bytes."""
    name: str = ""

    @property
    def fingerprint(self) -> str:
        """As ``ssh-keygen -l`` prints it."""
        digest = base64.b64encode(hashlib.sha256(_blob(self.key)).digest()).decode("ascii").rstrip("=")
        return f"SHA256:{digest}"


def fingerprint(tag_manifest: bytes) -> str:
    """24 hexadecimal digits of the manifest's SHA-256 in groups of four, to compare by telephone."""
    return " ".join(textwrap.wrap(hashlib.sha256(tag_manifest).hexdigest()[:24], 4))


def signed(message: bytes, key: Ed25519PrivateKey) -> bytes:
    """Armoured signature of *message*; deterministic for the same message and key."""
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    public = key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    signature = _string(KIND.encode()) + _string(key.sign(_to_sign(message, b"sha512")))
    body = _MAGIC + struct.pack(">I", 1)
    body += b"".join(map(_string, (_blob(public), NAMESPACE.encode(), b"", b"sha512", signature)))
    lines = textwrap.wrap(base64.b64encode(body).decode("ascii"), 70)
    return "\n".join([_BEGIN, *lines, _END, ""]).encode("ascii")


def signer_of(message: bytes, seal: bytes) -> Signer:
    """The signer of *seal* over *message*. The caller checks that the key is the expected one.

    Raises
    ------
    BadSeal : not a signature of this kind, made for another purpose, or not over this message
    """
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        public, namespace, hashed_by, signature = _parsed(seal)
    except (ValueError, struct.error, binascii.Error) as fault:
        raise BadSeal("not a signature in OpenSSH's format by an Ed25519 key") from fault
    if namespace != NAMESPACE.encode():
        raise BadSeal("a signature made for another purpose")
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, _to_sign(message, hashed_by))
    except (InvalidSignature, ValueError) as fault:
        raise BadSeal("a signature of other checksums: the package was changed after it was sealed") from fault
    return Signer(public)


def signers_in(path: Path) -> tuple[Signer, ...]:
    """The Ed25519 keys of an OpenSSH public key file, or of an ``allowed_signers`` file.

    Raises
    ------
    Unusable : the file cannot be read, or holds no such key
    """
    try:
        text = read_regular(path, MOST_BYTES).decode("utf-8", "replace")
    except OSError as error:
        found = error.strerror or type(error).__name__
        raise Unusable(str(path), found, "a file with the signer's public key", "Check the path.") from error
    signers = tuple(_signers(text.splitlines()))
    if not signers:
        wanted = f"a line with a public key, '{KIND} AAAA...'"
        raise Unusable(str(path), "no such key", wanted, "Ask the sender for the .pub file of the signing key.")
    return signers


def private_key(path: Path, passphrase: Callable[[], str] | None = None) -> Ed25519PrivateKey:
    """The key in an OpenSSH private key file.

    Parameters
    ----------
    passphrase : callback for the passphrase of a protected key; None: no terminal

    Raises
    ------
    Unusable : the file cannot be read, is not such a key, or the passphrase is wrong
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_ssh_private_key

    def refused(found: str, remedy: str) -> Unusable:
        return Unusable(str(path), found, "an OpenSSH private key of kind Ed25519", remedy)

    make_one = f"Make one with: ssh-keygen -t ed25519 -f {path}"
    try:
        content = read_regular(path, MOST_BYTES)
    except OSError as error:
        raise refused(error.strerror or type(error).__name__, make_one) from error
    word: bytes | None = None
    if _is_protected(content):
        if passphrase is None:
            raise refused("a key that needs its passphrase", "Run the command in a terminal, where it can ask for it.")
        word = passphrase().encode("utf-8")
    try:
        key = load_ssh_private_key(content, word)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        wrong = "the wrong passphrase, or a damaged key" if word is not None else "something else"
        raise refused(wrong, "Try again." if word is not None else make_one) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise refused("a key of another kind", make_one)
    return key


def _is_protected(content: bytes) -> bool:
    """True if a private key file names a cipher (PROTOCOL.key of OpenSSH: magic, then the cipher's name)."""
    lines = [line for line in content.splitlines() if line and not line.startswith(b"-----")]
    try:
        body = base64.b64decode(b"".join(lines), validate=True)
    except (binascii.Error, ValueError):
        return False
    magic = b"openssh-key-v1\0"
    return body.startswith(magic) and not body[len(magic) + 4 :].startswith(b"none")


def _signers(lines: Iterable[str]) -> Iterable[Signer]:
    for line in lines:
        found = _LINE.match(line.strip())
        if not found or line.lstrip().startswith("#"):
            continue
        limits = _NAMESPACES.search(found["before"])
        if limits and NAMESPACE not in limits[1].split(","):
            continue
        try:
            public = _public(base64.b64decode(found["key"], validate=True))
        except (ValueError, struct.error, binascii.Error):
            continue
        principals = found["before"].split()
        yield Signer(public, principals[0] if principals else (found["comment"] or ""))


def _to_sign(message: bytes, hashed_by: bytes) -> bytes:
    digest = hashlib.new(hashed_by.decode("ascii"), message).digest()
    return _MAGIC + b"".join(map(_string, (NAMESPACE.encode(), b"", hashed_by, digest)))


def _parsed(seal: bytes) -> tuple[bytes, bytes, bytes, bytes]:
    """Public key, namespace, hash and signature of an armoured signature.

    Raises
    ------
    ValueError, struct.error, binascii.Error : not such a signature
    """
    text = seal.decode("ascii").strip()
    if not (text.startswith(_BEGIN) and text.endswith(_END)):
        raise ValueError("no armour")
    body = base64.b64decode("".join(text[len(_BEGIN) : -len(_END)].split()), validate=True)
    if body[:6] != _MAGIC or struct.unpack(">I", body[6:10]) != (1,):
        raise ValueError("no signature of version 1")
    (blob, namespace, _reserved, hashed_by, signature), rest = _strings(body[10:], 5)
    (kind, raw), more = _strings(signature, 2)
    if rest or more or kind != KIND.encode() or hashed_by not in (b"sha256", b"sha512"):
        raise ValueError("another kind of signature")
    return _public(blob), namespace, hashed_by, raw


def _public(blob: bytes) -> bytes:
    (kind, key), rest = _strings(blob, 2)
    if rest or kind != KIND.encode() or len(key) != 32:
        raise ValueError("another kind of key")
    return key


def _blob(public: bytes) -> bytes:
    return _string(KIND.encode()) + _string(public)


def _string(content: bytes) -> bytes:
    """RFC 4251, 5: a length of four bytes, then the bytes."""
    return struct.pack(">I", len(content)) + content


def _strings(body: bytes, count: int) -> tuple[list[bytes], bytes]:
    found = []
    for _ in range(count):
        (size,) = struct.unpack(">I", body[:4])
        if size > len(body) - 4:
            raise ValueError("cut short")
        found.append(body[4 : 4 + size])
        body = body[4 + size :]
    return found, body
