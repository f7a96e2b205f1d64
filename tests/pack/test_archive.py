"""One zip, the same bytes every time, readable by everybody."""

from __future__ import annotations

import os
import struct
import zipfile
from datetime import date
from pathlib import Path

import pytest

from delivery.errors import Occupied, Unusable
from delivery.pack.archive import write_zip
from tests.pack.invented import make_bag, tree


def test_the_same_bytes_twice_whatever_the_folder_has_been_through(tmp_path: Path) -> None:
    """Order of making, times and rights of the files on disk leave no trace."""
    for name, order in (("one", 1), ("two", -1)):
        folder = tmp_path / name / "OSL-014 rev 1"
        for file in ["b.wav", "a/c.wav", "a-b.wav", "ä.wav"][::order]:
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (folder / file).write_bytes(file.encode("utf-8"))
        if order < 0:
            os.utime(folder / "b.wav", (1e9, 1e9))
            (folder / "a-b.wav").chmod(0o600)
        write_zip(folder, tmp_path / name / "x.zip", dated=date(2026, 3, 1))
    assert (tmp_path / "one/x.zip").read_bytes() == (tmp_path / "two/x.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one/x.zip") as archive:
        infos = archive.infolist()
    assert [info.filename for info in infos] == [f"OSL-014 rev 1/{n}" for n in ("a-b.wav", "a/c.wav", "b.wav", "ä.wav")]
    assert {info.date_time for info in infos} == {(2026, 3, 1, 0, 0, 0)}
    assert {info.external_attr >> 16 for info in infos} == {0o100644}
    assert [bool(info.flag_bits & 0x800) for info in infos] == [False, False, False, True]  # APPNOTE, appendix D
    assert {info.extra for info in infos} == {b""}


def test_python_reads_back_every_byte(tmp_path: Path) -> None:
    bag = make_bag(tmp_path / "OSL-014 rev 1")
    write_zip(bag, tmp_path / "x.zip", dated=date(1970, 1, 1))  # before the first day a zip knows
    with zipfile.ZipFile(tmp_path / "x.zip") as archive:
        assert archive.testzip() is None
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        archive.extractall(tmp_path / "out")
    assert tree(tmp_path / "out" / bag.name) == tree(bag)


def test_a_day_after_the_last_that_a_zip_knows(tmp_path: Path) -> None:
    """A year mistyped in the release file is no reason to fail when everything else is written."""
    write_zip(make_bag(tmp_path / "bag"), tmp_path / "x.zip", dated=date(9999, 12, 31))
    with zipfile.ZipFile(tmp_path / "x.zip") as archive:
        assert {info.date_time for info in archive.infolist()} == {(2107, 12, 31, 0, 0, 0)}


def test_zip64_fields_only_where_they_are_needed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """APPNOTE 4.5.3: tag 0x0001 in the extra field of entries beyond 4 GiB; here the limit is moved down to 1 kB."""
    folder = tmp_path / "x"
    folder.mkdir()
    (folder / "large").write_bytes(bytes(2000))
    (folder / "small").write_bytes(bytes(500))
    monkeypatch.setattr(zipfile, "ZIP64_LIMIT", 1000)
    write_zip(folder, tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "x.zip") as archive:
        extras = {info.filename: info.extra for info in archive.infolist()}
        assert archive.testzip() is None
    assert struct.unpack_from("<H", extras["x/large"])[0] == 1
    # In the small entry's own header the data follow the name at once.
    assert len((tmp_path / "x.zip").read_bytes().split(b"x/small")[1].split(bytes(500))[0]) == 0


def test_nothing_is_overwritten_without_replace(tmp_path: Path) -> None:
    bag = make_bag(tmp_path / "bag")
    target = tmp_path / "x.zip"
    target.write_bytes(b"old")
    with pytest.raises(Occupied):
        write_zip(bag, target)
    assert target.read_bytes() == b"old"
    write_zip(bag, target, replace=True)
    assert zipfile.is_zipfile(target)


def test_a_link_is_refused_and_nothing_is_left(tmp_path: Path) -> None:
    bag = make_bag(tmp_path / "bag")
    (bag / "data" / "link").symlink_to("elsewhere")
    with pytest.raises(Unusable, match="a link or a device"):
        write_zip(bag, tmp_path / "x.zip")
    assert [path.name for path in tmp_path.iterdir()] == ["bag"]
