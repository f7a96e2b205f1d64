"""Files of earlier packages on their way into a new one: each arrives proven, or an error stops the build."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from threading import Event

import pytest
from blake3 import blake3

from delivery.errors import Unfinished
from delivery.model.figure import Measurement
from delivery.model.part import Shipped, TagReport
from delivery.pack.take_over import take_over
from delivery.pipeline import package_folder
from delivery.pipeline.package_folder import Lost, PackageFolder

CONTENT = bytes(range(256)) * 500
SHA256 = hashlib.sha256(CONTENT).hexdigest()
AT_MOST_S = 60
"""Nothing is timed: only a copy that nobody lets go waits so long."""


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    path = tmp_path / "rev 1" / "01.wav"
    path.parent.mkdir()
    path.write_bytes(CONTENT)
    return path


@pytest.fixture
def folder(tmp_path: Path, earlier: Path) -> Iterator[PackageFolder]:
    (tmp_path / "rev 2").mkdir()
    with PackageFolder(tmp_path / "rev 2", {SHA256: earlier}) as folder:
        yield folder


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Event:
    """No copy begins before it is opened."""
    opened = Event()

    def waiting(source: Path, target: Path, sha256: str, blake3_hex: str) -> bool:
        assert opened.wait(AT_MOST_S)
        return take_over(source, target, sha256, blake3_hex)

    monkeypatch.setattr(package_folder, "take_over", waiting)
    return opened


def shipped(sha256: str = SHA256, size_bytes: int = len(CONTENT), path: str = "data/wav/01 One.wav") -> Shipped:
    tags = TagReport({})
    return Shipped(path, size_bytes, sha256, "", Measurement({}), tags, blake3=blake3(CONTENT).hexdigest())


def test_a_file_arrives_while_other_work_goes_on(folder: PackageFolder, earlier: Path, gate: Event) -> None:
    assert folder.bring(shipped())
    assert folder.holds(shipped())
    assert folder.source_of(shipped()) == earlier
    assert list(folder.path.iterdir()) == []
    gate.set()
    folder.settled()
    assert (folder.path / "data/wav/01 One.wav").read_bytes() == CONTENT


def test_what_no_earlier_package_holds_is_not_brought(folder: PackageFolder, earlier: Path) -> None:
    """Unknown, or cut short since; later, gone."""
    assert not folder.bring(shipped("0" * 64))
    assert not folder.bring(shipped(size_bytes=len(CONTENT) + 1))
    earlier.unlink()
    assert not folder.bring(shipped())
    assert not folder.holds(shipped())
    folder.settled()
    assert list(folder.path.iterdir()) == []


def test_a_damaged_file_is_lost(folder: PackageFolder, earlier: Path) -> None:
    earlier.write_bytes(CONTENT[:-1] + b"\0")
    assert folder.bring(shipped())
    with pytest.raises(Lost) as lost:
        folder.settled()
    assert lost.value.files == (SHA256,)
    assert list(folder.path.rglob("*.wav")) == []


def test_a_file_that_changed_while_it_was_used_is_lost(folder: PackageFolder, earlier: Path, gate: Event) -> None:
    """What was read of it meanwhile, such as its tags, may be of other bytes than the copy."""
    os.utime(earlier, ns=(10**18, 10**18))
    assert folder.bring(shipped())
    gate.set()
    folder._copies[shipped().path].arrived.result()
    earlier.write_bytes(CONTENT)
    with pytest.raises(Lost):
        folder.settled()


def test_a_file_that_is_gone_in_the_end_is_lost(folder: PackageFolder, earlier: Path) -> None:
    assert folder.bring(shipped())
    folder._copies[shipped().path].arrived.result()
    earlier.unlink()
    with pytest.raises(Lost):
        folder.settled()


@pytest.mark.parametrize("opened_first", [False, True])
def test_a_removed_file_does_not_arrive_later(folder: PackageFolder, gate: Event, *, opened_first: bool) -> None:
    """Whether its copy waits, or has been made."""
    others = [shipped(path=f"data/wav/{at}.wav") for at in range(package_folder.COPIES)]
    assert all(map(folder.bring, others))  # these keep every thread
    assert folder.bring(shipped())
    if opened_first:
        gate.set()
        folder.settled()
    folder.remove(shipped().path)
    gate.set()
    folder.settled()
    assert not folder.holds(shipped())
    assert sorted(path.name for path in folder.path.rglob("*.wav")) == [f"{at}.wav" for at in range(len(others))]


def test_a_full_disk_is_reported_and_no_damage_of_the_earlier_file(
    folder: PackageFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> bool:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(package_folder, "take_over", full)
    assert folder.bring(shipped())
    with pytest.raises(Unfinished, match="space"):
        folder.settled()


def test_no_copy_goes_on_behind_the_end(tmp_path: Path, earlier: Path, gate: Event) -> None:
    """After an error, nothing may be written into the folder that is deleted then; what waited is not begun."""
    with PackageFolder(tmp_path, {SHA256: earlier}) as folder:
        assert all(folder.bring(shipped(path=f"data/{at}.wav")) for at in range(50))
        folder._copies["data/49.wav"].arrived.add_done_callback(lambda _: gate.set())
    assert all(copy.arrived.done() for copy in folder._copies.values())
    assert any(copy.arrived.cancelled() for copy in folder._copies.values())
