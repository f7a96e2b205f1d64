"""Bags by RFC 8493, and every way in which one can differ from what was packed."""

from __future__ import annotations

import dataclasses
import errno
import os
import unicodedata
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Never

import pytest

from delivery.errors import Unusable
from delivery.pack import layout
from delivery.pack.bag import Difference, Kind, bag_info, check_bag, write_bag
from delivery.pack.checksums import Checksums, checksums
from delivery.pack.contents import contents_of
from delivery.pack.manifest import declaration_fault, decoded, encoded, read_info, read_manifest
from tests.pack.invented import RELEASE, STUDIO, fill, make_bag, tree

ONE = "data/cd-rate-16/01 Slack Water.wav"
TWO = "data/cd-rate-16/02 Número de Ébano.wav"


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    return make_bag(tmp_path / "OSL-014 rev 1")


def kinds(bag: Path) -> list[tuple[str, Kind]]:
    return [(difference.path, difference.kind) for difference in check_bag(bag)]


def test_the_six_files(bag: Path) -> None:
    """RFC 8493, 2.1.1 for bagit.txt word by word; 2.1.3 and 2.2 for the rest."""
    assert (bag / "bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    sizes = [file.stat().st_size for file in (bag / "data").rglob("*") if file.is_file()]
    assert (bag / "bag-info.txt").read_text("utf-8").splitlines() == [
        "Bag-Software-Agent: delivery 0.1.0",
        "Contact-Name: Ode Marrable",
        "External-Description: Merrow & the Glass Tide: Harbour Arithmetic, revision 1",
        "External-Identifier: OSL-014",
        f"Payload-Oxum: {sum(sizes)}.{len(sizes)}",
        "Source-Organization: Slack Water Mastering",
    ]
    lines = (bag / "manifest-sha256.txt").read_text("utf-8").splitlines()
    assert [line[66:] for line in lines] == sorted(
        ["data/delivery-sheet.pdf", *(path.relative_to(bag).as_posix() for path in bag.glob("data/*/*"))]
    )
    assert [line[34:] for line in (bag / "tagmanifest-md5.txt").read_text("utf-8").splitlines()] == [
        *("bag-info.txt", "bagit.txt", "manifest-md5.txt", "manifest-sha256.txt"),
    ]
    assert sorted(file.name for file in bag.iterdir()) == [
        *("bag-info.txt", "bagit.txt", "data", "manifest-md5.txt", "manifest-sha256.txt"),
        *("tagmanifest-md5.txt", "tagmanifest-sha256.txt"),
    ]
    assert not any(b"\r" in file.read_bytes() for file in bag.glob("*.txt"))
    assert check_bag(bag) == ()


def test_same_in_same_out(tmp_path: Path, bag: Path) -> None:
    assert tree(make_bag(tmp_path / "again")) == tree(bag)


def test_a_date_only_when_the_release_states_one() -> None:
    dated = dataclasses.replace(RELEASE, dated=date(2026, 3, 1), catalogue_number="")
    labels = dict(bag_info(dated, dataclasses.replace(STUDIO, name=" "), "0.1.0"))
    assert labels["Bagging-Date"] == "2026-03-01"  # RFC 8493, 2.2.2: YYYY-MM-DD
    assert "Bagging-Date" not in dict(bag_info(RELEASE, STUDIO, "0.1.0"))
    assert not {"External-Identifier", "Source-Organization"} & set(labels)


def test_only_three_characters_are_encoded() -> None:
    """RFC 8493, 2.1.3: LF, CR, CRLF and % and nothing else."""
    assert encoded("data/50 %\r\né.wav") == "data/50 %25%0D%0Aé.wav"
    assert decoded("data/50 %25%0d%0Aé%20.wav") == "data/50 %\r\né%20.wav"


def test_a_payload_with_a_percent_sign(bag: Path) -> None:
    """Ours never has one (see `characters`); RFC 8493 is kept for what others put in."""
    (bag / "data" / "100%.txt").touch()
    write_bag(bag, ())
    assert "  data/100%25.txt\n" in (bag / "manifest-md5.txt").read_text("utf-8")
    assert check_bag(bag) == ()


def test_checksums_already_taken_are_used_and_checked(tmp_path: Path, bag: Path) -> None:
    package = tmp_path / "again"
    fill(package)
    known = {path: checksums(layout.on_disk(package, path)) for path in (ONE, TWO)}
    invented = {ONE: Checksums("0" * 64, "0" * 32, known[ONE].size_bytes)}
    write_bag(package, (), known)
    assert (package / "manifest-sha256.txt").read_bytes() == (bag / "manifest-sha256.txt").read_bytes()
    write_bag(package, (), invented)
    assert "0" * 64 in (package / "manifest-sha256.txt").read_text("utf-8")
    with pytest.raises(Unusable, match="as when its checksums were taken"):
        write_bag(package, (), {ONE: dataclasses.replace(known[ONE], size_bytes=1)})
    with pytest.raises(Unusable, match="no such file in the package"):
        write_bag(package, (), {"data/none.wav": known[ONE]})


def test_nothing_to_pack_and_links_are_refused(bag: Path) -> None:
    with pytest.raises(Unusable, match="no files below data/"):
        write_bag(bag / "data", ())
    (bag / "data" / "link").symlink_to(bag / "bagit.txt")
    with pytest.raises(Unusable, match="data/link: found a link"):
        write_bag(bag, ())


def damage_missing(bag: Path) -> None:
    (bag / ONE).unlink()


def damage_changed(bag: Path) -> None:
    (bag / ONE).write_bytes(b"!" + (bag / ONE).read_bytes()[1:])


def damage_cut(bag: Path) -> None:
    os.truncate(bag / ONE, 10)


def damage_extra(bag: Path) -> None:
    (bag / "data" / "cd-rate-16" / "notes.txt").write_text("hm", encoding="utf-8")


def damage_extra_beside(bag: Path) -> None:
    (bag / "notes.txt").write_text("hm", encoding="utf-8")


def damage_renamed(bag: Path) -> None:
    (bag / ONE).rename(bag / "data/cd-rate-16/01_Slack_Water.wav")


def damage_droppings(bag: Path) -> None:
    (bag / "data" / ".DS_Store").touch()
    (bag / "Thumbs.db").touch()
    (bag / "data" / "cd-rate-16" / "._01 Slack Water.wav").touch()


def damage_link(bag: Path) -> None:
    (bag / ONE).rename(bag.parent / "elsewhere.wav")
    (bag / ONE).symlink_to(bag.parent / "elsewhere.wav")


def damage_folder_link(bag: Path) -> None:
    (bag / "data" / "away").symlink_to(bag.parent, target_is_directory=True)


def damage_manifest_line(bag: Path) -> None:
    manifest = bag / "manifest-sha256.txt"
    text = manifest.read_text("utf-8")
    line = next(line for line in text.splitlines() if line.endswith("01 Slack Water.wav"))
    manifest.write_text(text.replace(line, "0" * 64 + line[64:]), encoding="utf-8", newline="\n")


def damage_manifest_text(bag: Path) -> None:
    manifest = bag / "manifest-md5.txt"
    manifest.write_bytes(manifest.read_bytes()[:-20])


def damage_manifest_gone(bag: Path) -> None:
    (bag / "manifest-sha256.txt").unlink()


def damage_tag_manifest_gone(bag: Path) -> None:
    (bag / "tagmanifest-md5.txt").unlink()


def damage_declaration_gone(bag: Path) -> None:
    (bag / "bagit.txt").unlink()


def damage_declaration(bag: Path) -> None:
    (bag / "bagit.txt").write_bytes(b"\xef\xbb\xbf" + (bag / "bagit.txt").read_bytes())


def damage_escape(bag: Path) -> None:
    with (bag / "manifest-md5.txt").open("a", encoding="utf-8", newline="\n") as manifest:
        manifest.write(f"{'0' * 32}  data/../../secret.wav\n")


MANIFEST_TOUCHED = [("manifest-md5.txt", Kind.CHANGED)]


@pytest.mark.parametrize(
    ("damage", "expected"),
    [
        (damage_missing, [(ONE, Kind.MISSING)]),
        (damage_changed, [(ONE, Kind.CHANGED)]),
        (damage_cut, [(ONE, Kind.CHANGED)]),
        (damage_extra, [("data/cd-rate-16/notes.txt", Kind.EXTRA)]),
        (damage_extra_beside, [("notes.txt", Kind.EXTRA)]),
        (damage_renamed, [("data/cd-rate-16/01_Slack_Water.wav", Kind.RENAMED)]),
        (
            damage_droppings,
            [
                ("Thumbs.db", Kind.DROPPING),
                ("data/.DS_Store", Kind.DROPPING),
                ("data/cd-rate-16/._01 Slack Water.wav", Kind.DROPPING),
            ],
        ),
        (damage_link, [(ONE, Kind.LINK)]),
        (damage_folder_link, [("data/away", Kind.LINK)]),
        (damage_manifest_line, [("manifest-sha256.txt", Kind.CHANGED), ("manifest-sha256.txt", Kind.MANIFEST)]),
        (damage_manifest_text, [*MANIFEST_TOUCHED, *[("manifest-md5.txt", Kind.MANIFEST)] * 3]),
        (damage_manifest_gone, [("manifest-sha256.txt", Kind.MISSING)]),
        (damage_tag_manifest_gone, [("tagmanifest-md5.txt", Kind.MISSING)]),
        (damage_declaration_gone, [("bagit.txt", Kind.MISSING)]),
        (damage_declaration, [("bagit.txt", Kind.CHANGED), ("bagit.txt", Kind.MANIFEST)]),
        (damage_escape, [("data/../../secret.wav", Kind.ESCAPES), *MANIFEST_TOUCHED]),
    ],
)
def test_each_damage_is_named_and_nothing_else(
    bag: Path, damage: Callable[[Path], None], expected: list[tuple[str, Kind]]
) -> None:
    damage(bag)
    assert kinds(bag) == expected
    assert all(difference.harmless == (difference.kind is Kind.DROPPING) for difference in check_bag(bag))


def test_a_declaration_that_is_not_utf_8_is_a_fault_of_its_own(bag: Path) -> None:
    """RFC 8493, 2.1.1: bagit.txt is UTF-8. Its bytes are read as far as they are text, and nothing stops the check."""
    with (bag / "bagit.txt").open("ab") as file:
        file.write(b"\xff\xfe")
    assert kinds(bag) == [("bagit.txt", Kind.CHANGED), ("bagit.txt", Kind.MANIFEST)]
    assert "does not hold the two lines of a bag declaration" in {each.found for each in check_bag(bag)}


@pytest.mark.parametrize(
    ("fault", "place", "found"),
    [
        (PermissionError(errno.EACCES, "Permission denied", "/away/masters"), "masters", "Permission denied"),
        (OSError(errno.EIO, "Input/output error"), "OSL-014 rev 1", "Input/output error"),
        (OSError(), "OSL-014 rev 1", "an error"),
    ],
)
def test_a_folder_that_cannot_be_listed_is_named_with_the_reason(
    bag: Path, monkeypatch: pytest.MonkeyPatch, fault: OSError, place: str, found: str
) -> None:
    """The folder that the system refused, if it says which; else the one that was to be listed."""

    def refused(_folder: Path) -> Never:
        raise fault

    monkeypatch.setattr("os.scandir", refused)
    with pytest.raises(Unusable) as refusal:
        contents_of(bag)
    assert (refusal.value.place, refusal.value.found) == (place, found)


def test_a_changed_file_is_reported_with_both_checksums(bag: Path) -> None:
    before = checksums(bag / ONE).sha256
    damage_cut(bag)
    after = checksums(bag / ONE).sha256
    (difference,) = check_bag(bag)
    assert difference == Difference(ONE, Kind.CHANGED, f"sha256 {before}", f"sha256 {after} (10 bytes)")
    assert str(difference) == f"{ONE}: changed, expected sha256 {before}, found sha256 {after} (10 bytes)"


def test_a_renamed_file_is_reported_with_both_names(bag: Path) -> None:
    damage_renamed(bag)
    (difference,) = check_bag(bag)
    new = "data/cd-rate-16/01_Slack_Water.wav"
    assert difference == Difference(new, Kind.RENAMED, ONE, new)
    assert str(difference) == f"{new}: renamed, expected {ONE}, found {new}"


def test_a_file_taken_out_with_its_lines_shows_in_the_total(bag: Path) -> None:
    (bag / ONE).unlink()
    for manifest in bag.glob("manifest-*.txt"):
        lines = manifest.read_text("utf-8").splitlines(keepends=True)
        manifest.write_text("".join(line for line in lines if ONE not in line), encoding="utf-8", newline="\n")
    assert ("bag-info.txt", Kind.SIZE) in kinds(bag)


def test_names_with_accents_taken_apart_are_the_same_files(bag: Path) -> None:
    """HFS+ stores names decomposed (NFD); a copy that came over such a disk is still whole."""
    (bag / TWO).rename(bag / unicodedata.normalize("NFD", TWO))
    assert check_bag(bag) == ()


@pytest.mark.skipif(os.name == "nt", reason="names are Unicode on Windows")
def test_a_name_that_is_no_text(bag: Path) -> None:
    try:
        Path(os.fsdecode(os.fsencode(bag / "data") + b"/bad\xff.wav")).touch()
    except OSError:
        pytest.skip("this file system takes UTF-8 names only")
    assert kinds(bag) == [("data/bad\\udcff.wav", Kind.EXTRA)]
    with pytest.raises(Unusable, match="a name that is not UTF-8"):
        write_bag(bag, ())


def test_a_file_that_may_not_be_read(bag: Path) -> None:
    (bag / ONE).chmod(0)
    if os.access(bag / ONE, os.R_OK):
        pytest.skip("this user may read everything")
    assert kinds(bag) == [(ONE, Kind.UNREADABLE)]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_refused_and_not_waited_for(bag: Path) -> None:
    os.mkfifo(bag / "data" / "pipe")
    assert kinds(bag) == [("data/pipe", Kind.LINK)]


def test_no_folder(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match="no such folder"):
        check_bag(tmp_path / "none")
    assert ("bagit.txt", Kind.MISSING) in kinds(tmp_path)


def test_reading_what_others_write() -> None:
    """RFC 8493: CRLF lines, tabs between the columns, continued labels, upper-case checksums."""
    manifest = read_manifest(f"{'A' * 32}\tdata/a.wav\r\n{'b' * 32} data/b\u2028.wav\n", "md5", payload=True)
    assert manifest.promised == {"data/a.wav": "a" * 32, "data/b\u2028.wav": "b" * 32}
    assert read_info("A: one\n  two\nPayload-Oxum: 3.1\r\n") == (("A", "one two"), ("Payload-Oxum", "3.1"))
    twice = read_manifest(f"{'a' * 32}  data/a\n" * 2 + f"{'a' * 32}  bagit.txt\nrubbish\n", "md5", payload=True)
    assert [fault.split()[1] for fault in twice.faults] == ["2", "3", "4"]
    assert declaration_fault("BagIt-Version: 0.97\r\nTag-File-Character-Encoding: UTF-8\r\n") == ""
    assert declaration_fault("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_lines_end_as_the_standard_permits(end: str) -> None:
    """RFC 8493: LF, CR or CRLF. A fault names its line as an editor counts it, blank ones included."""
    lines = (f"{'a' * 32}  data/a.wav", "", f"{'b' * 32}  data/b.wav", "rubbish", "")
    manifest = read_manifest(end.join(lines), "md5", payload=True)
    assert manifest.promised == {"data/a.wav": "a" * 32, "data/b.wav": "b" * 32}
    assert manifest.faults == ("line 4 is not a checksum and a path",)
    assert read_info(end.join(("A: one", "  two", "B: 3", ""))) == (("A", "one two"), ("B", "3"))
    declared = ("BagIt-Version: 1.0", "Tag-File-Character-Encoding: UTF-8")
    for text in (end.join((*declared, "")), end.join(declared)):
        assert declaration_fault(text) == ""
    for text in (end.join((*declared, "", "")), end.join(declared[::-1]), end.join((*declared, "more")), ""):
        assert declaration_fault(text) == "does not hold the two lines of a bag declaration"
    cut_short = read_manifest(lines[0], "md5", payload=True)
    assert cut_short.faults == ("the last line is cut short",)


def test_a_manifest_of_too_many_lines_is_one_difference(bag: Path) -> None:
    """Each of half a million lines that are no checksums would be a difference of its own, and take a minute."""
    manifest = bag / "manifest-sha256.txt"
    manifest.write_text("x\n" * 500_000, encoding="ascii", newline="\n")
    reported = [each for each in check_bag(bag) if each.path == manifest.name and each.expected.startswith("at most")]
    assert len(reported) == 1
    assert len(check_bag(bag)) < 100
