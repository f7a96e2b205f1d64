"""Folders of others, checked by the checksum list in them; the sums are made by other programs."""

from __future__ import annotations

import hashlib
import subprocess
import zlib
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.pack.bag_check import Kind
from delivery.pack.foreign_lists import check_lists, has_list, read_list
from delivery.pipeline.verify import verify
from tests.judges import needs

FILES = {"IMAGE.DAT": b"\x01\x02" * 5000, "PQDESCR": b"cue points", "sub/TEXT.BIN": b"titles"}


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    folder = tmp_path / "OSL-014"
    for name, data in FILES.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    return folder


def with_list(folder: Path, name: str, line: str) -> Path:
    """A list with one *line* for each file; {md5}, {crc} and {name} are replaced by these values."""
    text = "".join(
        line.format(name=n, md5=hashlib.md5(d, usedforsecurity=False).hexdigest(), crc=f"{zlib.crc32(d):08X}") + "\r\n"
        for n, d in FILES.items()
    )
    (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def kinds(folder: Path) -> list[tuple[str, str]]:
    return [(each.path, each.kind.name) for each in check_lists(folder).differences]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("checksums.md5", "{md5}  {name}"),
        ("CHECKSUM.TXT", "{md5} *{name}"),
        ("image.md5", "MD5 ({name}) = {md5}"),
        ("image.sfv", "{name} {crc}"),
        ("md5sums", "{md5}\t./{name}"),
    ],
)
def test_every_usual_form_is_read(plant: Path, name: str, line: str) -> None:
    """GNU coreutils, its binary mark, the BSD form, and lines that end in a CRC-32 (zlib's)."""
    with_list(plant, name, line)
    found = check_lists(plant)
    assert (found.files, found.lists, found.differences) == (3, (name,), ())
    (plant / "PQDESCR").write_bytes(b"cue points!")
    assert kinds(plant) == [("PQDESCR", "CHANGED")]


@needs("md5sum")
@needs("sha256sum")
def test_lists_made_by_other_programs(plant: Path) -> None:
    for program, name in (("md5sum", "a.md5"), ("sha256sum", "b.sha256")):
        made = subprocess.run([program, *FILES], cwd=plant, check=True, capture_output=True, timeout=30).stdout
        (plant / name).write_bytes(made)
    assert check_lists(plant).differences == ()
    (plant / "IMAGE.DAT").write_bytes(b"\x01\x02" * 4999 + b"\x01\x03")
    assert [each.expected.split()[0] for each in check_lists(plant).differences] == ["md5", "sha256"]


EMPTY = {
    name: hashlib.new(name, b"", usedforsecurity=False).hexdigest() for name in ("md5", "sha1", "sha256", "sha512")
}


@pytest.mark.parametrize(
    ("line", "path", "checksum"),
    [
        (f"\ufeff{EMPTY['md5'].upper()} *sub\\TEXT.BIN", "sub/TEXT.BIN", EMPTY["md5"]),
        (f"MD5(a b.wav)= {EMPTY['md5']}", "a b.wav", EMPTY["md5"]),
        (f"SHA256 (./a (live).wav) = {EMPTY['sha256']}", "a (live).wav", EMPTY["sha256"]),
        (f"{EMPTY['sha1']}  01 Low Water.wav ", "01 Low Water.wav", EMPTY["sha1"]),
        (f"{EMPTY['sha512']}  .hidden/./x", ".hidden/./x", EMPTY["sha512"]),
        ("01 Low Water.wav\t0A1B2C3D", "01 Low Water.wav", "0a1b2c3d"),
    ],
)
def test_the_path_and_the_checksum_of_a_line(line: str, path: str, checksum: str) -> None:
    """Paths as on this system, checksums in small letters: md5sum of GNU, `openssl dgst`, BSD, '.sfv' lists."""
    assert read_list(f"# made by hand\n// and\n; more\n\n{line}\r\n") == ((path, checksum),)


def test_a_missing_file_is_reported_with_its_strongest_checksum(plant: Path) -> None:
    with_list(plant, "checksums.md5", "{md5}  {name}")
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in FILES.items()}
    (plant / "sums.sha256").write_text("".join(f"{each}  {name}\n" for name, each in sums.items()), encoding="utf-8")
    (plant / "PQDESCR").unlink()
    (difference,) = check_lists(plant).differences
    assert (difference.path, difference.kind) == ("PQDESCR", Kind.MISSING)
    assert (difference.expected, difference.found) == (f"sha256 {sums['PQDESCR']}", "")


def test_a_changed_file_is_reported_with_both_checksums(plant: Path) -> None:
    name = next(iter(FILES))
    with_list(plant, "checksums.md5", "{md5}  {name}")
    (plant / name).write_bytes(b"other")
    (difference,) = check_lists(plant).differences
    sums = (hashlib.md5(data, usedforsecurity=False).hexdigest() for data in (FILES[name], b"other"))
    assert (difference.path, difference.kind) == (name, Kind.CHANGED)
    assert (difference.expected, difference.found) == tuple(f"md5 {each}" for each in sums)


def test_missing_and_extra_files_are_named(plant: Path) -> None:
    with_list(plant, "checksums.md5", "{md5}  {name}")
    (plant / "PQDESCR").unlink()
    (plant / "notes.txt").write_text("hello", encoding="utf-8")
    (plant / ".DS_Store").write_bytes(b"")
    assert kinds(plant) == [(".DS_Store", "DROPPING"), ("PQDESCR", "MISSING"), ("notes.txt", "EXTRA")]


def test_a_link_is_named_and_not_followed(plant: Path) -> None:
    with_list(plant, "checksums.md5", "{md5}  {name}")
    (plant / "sub" / "elsewhere").symlink_to(plant / "PQDESCR")
    assert kinds(plant) == [("sub/elsewhere", "LINK")]


def test_letter_case_of_another_system_is_no_difference(plant: Path) -> None:
    with_list(plant, "checksums.md5", "{md5}  {name}")
    (plant / "IMAGE.DAT").rename(plant / "image.dat")
    assert check_lists(plant).differences == ()


def test_a_line_that_leads_out_of_the_folder_is_refused(plant: Path) -> None:
    (plant / "checksums.md5").write_text(f"{'0' * 32}  ../secret\n{'0' * 32}  /etc/passwd\n", encoding="utf-8")
    assert {kind for _, kind in kinds(plant)} == {"ESCAPES", "EXTRA"}


def test_what_is_no_list_is_not_taken_for_one(plant: Path) -> None:
    assert not has_list(plant)
    (plant / "checksums.md5").write_text("see the mail\n", encoding="utf-8")
    assert not has_list(plant)
    assert read_list("; a remark\n\n" + "a" * 32 + "  x\n") == (("x", "a" * 32),)
    assert read_list("a" * 33 + "  x\n") == ()


def test_verify_uses_the_list_of_a_folder_that_is_no_package(plant: Path) -> None:
    with_list(plant, "checksums.md5", "{md5}  {name}")
    checked = verify(plant)
    assert checked.whole
    assert checked.as_document()["checksum_lists"] == ["checksums.md5"]
    assert checked.as_document()["files_listed"] == 3
    (plant / "IMAGE.DAT").write_bytes(b"")
    assert [str(each.kind) for each in verify(plant).differences] == [Kind.CHANGED.value]


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("notes.txt", "hello", "OSL-014: found neither a package nor a checksum list"),
        ("checksums.md5", "; made today\nno sum at all\n", "checksums.md5:2: found 'no sum at all'"),
        ("checksums.md5", "", "checksums.md5:1: found an empty list"),
    ],
)
def test_a_folder_without_checksums_is_refused_in_one_sentence(
    plant: Path, name: str, text: str, sentence: str
) -> None:
    """Instead of a row for every file of a package that it never was."""
    (plant / name).write_text(text, encoding="utf-8")
    with pytest.raises(Unusable, match=sentence):
        verify(plant)
