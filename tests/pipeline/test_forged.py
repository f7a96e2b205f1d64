"""A changed package, with lists of checksums rewritten to fit: found by the data, or by the seal."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.pack import layout
from delivery.pack.bag import write_bag
from delivery.pack.manifest import read_info
from delivery.pack.seal import private_key, signers_in
from delivery.pipeline import Built, Options, build, resolve_request
from delivery.pipeline.verify import verify
from tests.albums import Song, write_album, write_spec
from tests.judges import needs


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, key: Path) -> Built:
    folder = tmp_path_factory.mktemp("album")
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
    album = write_album(folder, [Song("One"), Song("Two", seed=2)], ["native"])
    return build(resolve_request(album), folder / "out", Options(sign=private_key(key)))


@pytest.fixture
def package(made: Built, tmp_path: Path) -> Path:
    assert made.package
    return Path(shutil.copytree(made.package, tmp_path / made.package.name))


def relisted(package: Path) -> None:
    """Every list of checksums made again, as a forger would, or a program that repairs bags."""
    info = read_info((package / layout.INFO).read_text(encoding="utf-8"))
    for file in package.glob("*manifest-*.txt"):
        file.unlink()
    for name in (layout.DECLARATION, layout.INFO):
        (package / name).unlink()
    seal = package / layout.SEAL
    content = seal.read_bytes() if seal.exists() else b""
    seal.unlink(missing_ok=True)
    write_bag(package, [pair for pair in info if pair[0] != "Payload-Oxum"])
    if content:
        seal.write_bytes(content)


def in_data(change: Callable[[dict[str, Any]], object]) -> Callable[[Path], None]:
    def forged(package: Path) -> None:
        file = package / layout.DATA_JSON
        document = json.loads(file.read_text(encoding="utf-8"))
        change(document)
        file.write_text(json.dumps(document), encoding="utf-8")

    return forged


def changed(path: str) -> Callable[[Path], None]:
    def forged(package: Path) -> None:
        file = package / path
        file.write_bytes(file.read_bytes() + b"\n")

    return forged


def swapped(package: Path) -> None:
    one, two = sorted((package / "data" / "native").glob("*.wav"))
    content = one.read_bytes()
    one.write_bytes(two.read_bytes())
    two.write_bytes(content)


FORGERIES: dict[str, tuple[Callable[[Path], object], str, str]] = {
    "data deleted": (lambda p: (p / layout.DATA_JSON).unlink(), layout.DATA_JSON, "missing"),
    "data emptied": (lambda p: (p / layout.DATA_JSON).write_text("{}"), layout.DATA_JSON, "unreadable"),
    "data of another kind": (lambda p: (p / layout.DATA_JSON).write_text("[1]"), layout.DATA_JSON, "unreadable"),
    "data nested deep": (lambda p: (p / layout.DATA_JSON).write_text("[" * 100_000), layout.DATA_JSON, "unreadable"),
    "no parts": (in_data(lambda d: d.update(parts=[])), "data/native/01 One.wav", "not in the data"),
    "a path outside": (
        in_data(lambda d: d["parts"][0]["shipped"].update(path="../../x")),
        "../../x",
        "leaves the package",
    ),
    "a paper outside": (
        in_data(lambda d: d["papers"][0].update(path="/etc/passwd")),
        "/etc/passwd",
        "leaves the package",
    ),
    "sheet changed": (changed(layout.SHEET_HTML), layout.SHEET_HTML, "changed"),
    "printed sheet changed": (changed(layout.SHEET_PDF), layout.SHEET_PDF, "changed"),
    "mail changed": (changed(layout.MAIL_TEXT), layout.MAIL_TEXT, "changed"),
    "paper deleted": (lambda p: (p / layout.PARTS_CSV).unlink(), layout.PARTS_CSV, "missing"),
    "sound deleted": (lambda p: (p / "data/native/01 One.wav").unlink(), "data/native/01 One.wav", "missing"),
    "sound swapped": (swapped, "data/native/01 One.wav", "other sound"),
    "sound added": (
        lambda p: shutil.copy(p / "data/native/01 One.wav", p / "data/native/03 Three.wav"),
        "data/native/03 Three.wav",
        "not in the data",
    ),
    "text added": (lambda p: (p / "data/read me.txt").write_text("x"), "data/read me.txt", "not in the data"),
}


@needs("ssh-keygen")
def test_a_package_as_built_is_whole_and_its_signer_known(package: Path, key: Path, made: Built) -> None:
    checked = verify(package, signers=signers_in(key.with_suffix(".pub")))
    assert checked.differences == ()
    assert (checked.sealed, checked.expected_signer, checked.files) == (True, True, 2)
    assert checked.fingerprint == made.fingerprint


@needs("ssh-keygen")
@pytest.mark.parametrize("name", FORGERIES)
def test_every_forgery_is_a_difference_though_the_lists_fit(package: Path, name: str) -> None:
    forge, path, kind = FORGERIES[name]
    forge(package)
    relisted(package)
    (package / layout.SEAL).unlink()
    found = {(each.path, str(each.kind)) for each in verify(package).differences}
    assert (path, kind) in found


@needs("ssh-keygen")
@pytest.mark.parametrize("name", FORGERIES)
def test_the_seal_is_broken_by_new_lists(package: Path, name: str) -> None:
    FORGERIES[name][0](package)
    relisted(package)
    checked = verify(package)
    assert (layout.SEAL, "seal does not hold") in {(each.path, str(each.kind)) for each in checked.differences}
    assert checked.sealed_by is None


@needs("ssh-keygen")
def test_with_a_named_signer_a_missing_and_a_foreign_seal_are_both_reported(
    package: Path, key: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "someone", "-f", str(other)], check=True)
    (only,) = verify(package, signers=signers_in(other.with_suffix(".pub"))).differences
    assert (str(only.kind), only.expected) == ("seal does not hold", "a seal by someone")
    (package / layout.SEAL).unlink()
    (only,) = verify(package, signers=signers_in(key.with_suffix(".pub"))).differences
    assert only.found == "no seal"
    assert verify(package).whole


@needs("ssh-keygen")
def test_the_command_states_what_it_proves(package: Path, key: Path, capsys: pytest.CaptureFixture[str]) -> None:
    public = str(key.with_suffix(".pub"))
    assert run(["verify", str(package), "--signer", public]) == 0
    assert "the expected signer" in " ".join(capsys.readouterr().out.split())
    assert run(["verify", str(package)]) == 0
    assert "only --signer with the sender's public key can prove" in " ".join(capsys.readouterr().out.split())
    (package / layout.SEAL).unlink()
    assert run(["verify", str(package)]) == 0
    assert "finds damage, not forgery" in " ".join(capsys.readouterr().out.split())
    assert run(["verify", str(package), "--signer", public]) == 1


def test_nothing_measured_is_never_called_every_figure() -> None:
    from delivery.report.text.verified import verify_table

    (line,) = verify_table("P", 0, [])
    assert "every figure" not in str(line).casefold()
    assert "no figure was measured" in str(line)


@needs("ssh-keygen")
def test_the_mail_beside_the_package_has_the_fingerprint_and_the_one_inside_cannot(made: Built) -> None:
    assert made.package
    assert made.mail == made.package.with_name(f"{made.package.name} mail.txt")
    inside = (made.package / layout.MAIL_TEXT).read_text(encoding="utf-8")
    beside = made.mail.read_text(encoding="utf-8")
    assert beside.startswith(inside)
    assert made.fingerprint in beside
    assert made.fingerprint not in inside


@needs("ssh-keygen")
def test_a_sealed_package_is_the_same_bytes_when_built_again(made: Built, key: Path, tmp_path: Path) -> None:
    assert made.package
    again = build(resolve_request(made.delivery.release.path), tmp_path, Options(sign=private_key(key))).package
    assert again
    assert (again / layout.SEAL).read_bytes() == (made.package / layout.SEAL).read_bytes()


@needs("ssh-keygen")
def test_another_reader_of_bags_accepts_a_sealed_package(package: Path) -> None:
    """The bagit package, by the Library of Congress."""
    import bagit

    assert bagit.Bag(str(package)).validate()
