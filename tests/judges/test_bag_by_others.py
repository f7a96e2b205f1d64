"""Our packages before other people's programs: the bagit package, GNU coreutils, Info-ZIP, 7-Zip."""

from __future__ import annotations

import logging
import shutil
import subprocess
from pathlib import Path

import bagit
import pytest

from delivery.pack.archive import write_zip
from delivery.pack.bag import check_bag
from delivery.pack.layout import PAYLOAD
from delivery.pack.paper import papers
from tests.judges import needs
from tests.pack.invented import RELEASE, SPEC, TITLES, fill, make_bag, tree

PLAIN = "data/cd-rate-16/01 Slack Water.wav"


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    return make_bag(tmp_path / "OSL-014 Harbour Arithmetic rev 1")


@pytest.fixture(autouse=True)
def quiet(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL, logger="bagit")


def run(*command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)


def test_bagit_finds_it_valid(bag: Path) -> None:
    """The Library of Congress package `bagit` reads every checksum, the Oxum, and the accents in the paths.

    It decodes no %25, against RFC 8493, 2.1.3; our names have no % for that reason.
    """
    read = bagit.Bag(str(bag))
    assert read.validate()
    assert read.version_info == (1, 0)
    assert set(read.algorithms) == {"sha256", "md5"}
    assert sorted(read.payload_files()) == sorted(
        path.relative_to(bag).as_posix() for path in (bag / PAYLOAD).rglob("*") if path.is_file()
    )
    assert read.info["External-Identifier"] == "OSL-014"


@pytest.mark.parametrize("damage", ["missing", "extra", "changed", "manifest", "oxum"])
def test_bagit_and_we_agree_on_damage(bag: Path, damage: str) -> None:
    if damage == "missing":
        (bag / PLAIN).unlink()
    elif damage == "extra":
        (bag / PAYLOAD / "x").touch()
    else:
        file = {"changed": PLAIN, "manifest": "manifest-md5.txt", "oxum": "bag-info.txt"}[damage]
        content = bytearray((bag / file).read_bytes())
        place = content.index(b"Payload-Oxum: ") + 14 if damage == "oxum" else 3
        content[place] ^= 1
        (bag / file).write_bytes(content)
    with pytest.raises(bagit.BagValidationError):
        bagit.Bag(str(bag)).validate()
    assert check_bag(bag)


def test_we_accept_what_bagit_makes(tmp_path: Path) -> None:
    """A bag by another writer, made of the same files: whole; and our eye for damage in it."""
    folder = tmp_path / "theirs"
    folder.mkdir()
    for title in TITLES:
        (folder / f"{title}.wav").write_bytes(title.encode("utf-8"))
    bagit.make_bag(str(folder), checksums=["sha256", "md5"])
    assert check_bag(folder) == ()
    (folder / "data" / "灯台.wav").unlink()
    assert [str(difference.kind) for difference in check_bag(folder)] == ["missing"]


@needs("sha256sum", "md5sum")
@pytest.mark.parametrize("algorithm", ["sha256", "md5"])
def test_coreutils_check_the_papers(tmp_path: Path, algorithm: str) -> None:
    parts = fill(tmp_path)
    paper = papers()[f"checksums_{algorithm}"]
    folder = tmp_path / PAYLOAD / SPEC.id
    (folder / paper.file_name).write_bytes(paper.render(RELEASE, SPEC, parts))
    checked = run(f"{algorithm}sum", "--strict", "-c", paper.file_name, folder=folder)
    assert (checked.returncode, checked.stdout.count(": OK\n")) == (0, len(parts))
    (folder / "01 Slack Water.wav").write_bytes(b"other")
    assert "FAILED" in run(f"{algorithm}sum", "-c", paper.file_name, folder=folder).stdout


@needs("sha256sum", "md5sum")
def test_coreutils_check_the_manifests(bag: Path) -> None:
    """Not promised by RFC 8493, but a recipient without a bag reader can check with these."""
    for algorithm in ("sha256", "md5"):
        for manifest in (f"manifest-{algorithm}.txt", f"tagmanifest-{algorithm}.txt"):
            assert run(f"{algorithm}sum", "--strict", "-c", manifest, folder=bag).returncode == 0


@needs("unzip")
def test_info_zip_unpacks_it(bag: Path, tmp_path: Path) -> None:
    write_zip(bag, tmp_path / "x.zip", dated=RELEASE.dated)
    assert "No errors detected" in run("unzip", "-t", "x.zip", folder=tmp_path).stdout
    assert run("unzip", "-q", "x.zip", "-d", "out", folder=tmp_path).returncode == 0
    assert tree(tmp_path / "out" / bag.name) == tree(bag)
    assert check_bag(tmp_path / "out" / bag.name) == ()


@needs("7z")
def test_seven_zip_unpacks_it(bag: Path, tmp_path: Path) -> None:
    write_zip(bag, tmp_path / "x.zip")
    assert run("7z", "x", "-oout", "x.zip", folder=tmp_path).returncode == 0
    assert tree(tmp_path / "out" / bag.name) == tree(bag)


@pytest.mark.thorough
@pytest.mark.slow
@needs("7z")
@needs("unzip")
def test_more_than_four_gibibytes(tmp_path: Path) -> None:
    """A file beyond 4 GiB, and a small one whose header lies beyond 4 GiB; 7z sums it up in a tenth of unzip's time."""
    if shutil.disk_usage(tmp_path).free < 12e9:
        pytest.skip("needs 12 GB of free disk")
    folder = tmp_path / "x"
    folder.mkdir()
    with (folder / "large").open("wb") as file:
        file.truncate(2**32 + 17)  # a hole: takes no room, reads as zeros
    (folder / "tiny").write_bytes(b"behind it")
    write_zip(folder, tmp_path / "x.zip")
    try:
        assert "Everything is Ok" in run("7z", "t", "x.zip", folder=tmp_path).stdout
        assert run("unzip", "-p", "x.zip", "x/tiny", folder=tmp_path).stdout == "behind it"
    finally:
        (tmp_path / "x.zip").unlink()
