"""Whole or nothing: the target is there completely, or as it was before."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pytest

from delivery.errors import Occupied, Unfinished, Unusable
from delivery.pack import swap, system
from delivery.pack.swap import recover, whole_file_or_nothing, whole_or_nothing
from tests.pack.invented import make_bag, tree


@pytest.fixture(params=["one step", "two renames"])
def renames(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Linux exchanges names in one step; every other system takes the second way."""
    if request.param == "two renames":
        monkeypatch.setattr(system, "_renameat2", lambda *_: False)
    return str(request.param)


def build(target: Path, salt: bytes = b"", *, replace: bool = False) -> None:
    with whole_or_nothing(target, replace=replace) as hidden:
        make_bag(hidden, salt)


@pytest.mark.usefixtures("renames")
def test_a_new_folder(tmp_path: Path) -> None:
    target = tmp_path / "OSL-014 rev 1"
    with whole_or_nothing(target) as hidden:
        assert not target.exists()
        assert hidden.parent == tmp_path
        assert hidden.name.startswith(".OSL-014 rev 1.")
        make_bag(hidden)
    assert list(tmp_path.iterdir()) == [target]
    assert tree(target) == tree(make_bag(tmp_path / "the same"))


@pytest.mark.skipif(os.name == "nt", reason="no such rights on Windows")
def test_the_folder_has_ordinary_rights(tmp_path: Path) -> None:
    (tmp_path / "ordinary").mkdir()
    build(tmp_path / "x")
    assert (tmp_path / "x").stat().st_mode == (tmp_path / "ordinary").stat().st_mode


@pytest.mark.skipif(os.name == "nt", reason="folders cannot be opened there")
def test_everything_is_on_the_disk_before_it_gets_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else a power cut could leave a package with its name and without its content (POSIX fsync, rationale)."""
    settled = []

    def noted(file: int) -> None:
        assert not (tmp_path / "x").exists() or os.path.samestat(os.fstat(file), tmp_path.stat())
        settled.append(os.fstat(file).st_ino)

    monkeypatch.setattr(os, "fsync", noted)
    build(tmp_path / "x")
    assert settled[-1] == tmp_path.stat().st_ino
    assert {path.stat().st_ino for path in (tmp_path / "x", *(tmp_path / "x").rglob("*"))} <= set(settled)


@pytest.mark.parametrize("fault", [ValueError, KeyboardInterrupt, SystemExit, GeneratorExit])
def test_any_failure_leaves_nothing(tmp_path: Path, fault: type[BaseException]) -> None:
    def broken() -> None:
        with whole_or_nothing(tmp_path / "x") as hidden:
            make_bag(hidden)
            raise fault

    with pytest.raises(fault):
        broken()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("fault", [ValueError, KeyboardInterrupt, OSError])
def test_any_failure_leaves_the_old_one(tmp_path: Path, fault: type[BaseException]) -> None:
    old = tree(make_bag(tmp_path / "x"))

    def broken() -> None:
        with whole_or_nothing(tmp_path / "x", replace=True) as hidden:
            make_bag(hidden, b"new")
            raise fault

    with pytest.raises(Unfinished if fault is OSError else fault):
        broken()
    assert tree(tmp_path) == {f"x/{path}": content for path, content in old.items()}


@pytest.mark.usefixtures("renames")
def test_replacing_swaps_the_whole(tmp_path: Path) -> None:
    make_bag(tmp_path / "x")
    (tmp_path / "x" / "left over").touch()
    build(tmp_path / "x", b"new", replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["x"]
    assert tree(tmp_path / "x") == tree(make_bag(tmp_path / "the same", b"new"))


@pytest.mark.usefixtures("renames")
def test_an_occupied_target_is_not_touched(tmp_path: Path) -> None:
    make_bag(tmp_path / "x")
    before = tree(tmp_path)
    with pytest.raises(Occupied, match="remove it if it is not needed"):
        build(tmp_path / "x")
    assert tree(tmp_path) == before


@pytest.mark.usefixtures("renames")
def test_a_target_that_came_up_meanwhile_is_not_touched(tmp_path: Path) -> None:
    def late() -> None:
        with whole_or_nothing(tmp_path / "x") as hidden:
            make_bag(hidden)
            (tmp_path / "x").mkdir()
            (tmp_path / "x" / "theirs").touch()

    with pytest.raises(Occupied):
        late()
    assert tree(tmp_path) == {"x/theirs": b""}


def test_only_a_package_is_ever_replaced(tmp_path: Path) -> None:
    """A wrong path and 'replace' together must not cost anybody a folder of music."""
    music = tmp_path / "music"
    music.mkdir()
    (music / "take 1.wav").write_bytes(b"irreplaceable")
    (tmp_path / "file").touch()
    (tmp_path / "link").symlink_to(make_bag(tmp_path / "bag"))
    for name in ("music", "file", "link"):
        with pytest.raises(Occupied, match="not a package"):
            build(tmp_path / name, replace=True)
    assert (music / "take 1.wav").read_bytes() == b"irreplaceable"
    (tmp_path / "empty").mkdir()
    build(tmp_path / "empty", replace=True)


def test_places_that_cannot_be(tmp_path: Path) -> None:
    with pytest.raises(Unfinished, match="Make the folder"):
        build(tmp_path / "none" / "x")
    assert not (tmp_path / "none").exists()
    with pytest.raises(Unfinished, match="shorter name"):
        build(tmp_path / ("x" * 250))
    with pytest.raises(Unusable, match="the root of a disk"):
        build(Path(tmp_path.anchor))


def test_a_change_of_the_working_directory_moves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "elsewhere").mkdir()
    with whole_or_nothing(Path("x")) as hidden:
        make_bag(hidden)
        monkeypatch.chdir(tmp_path / "elsewhere")
    assert (tmp_path / "x" / "bagit.txt").exists()


@pytest.mark.parametrize(
    ("code", "remedy"),
    [(errno.ENOSPC, "Free some room"), (errno.EROFS, "can be written to"), (errno.EACCES, "the right to write")],
)
def test_system_errors_become_one_clear_message(tmp_path: Path, code: int, remedy: str) -> None:
    def broken() -> None:
        with whole_or_nothing(tmp_path / "x") as hidden:
            raise OSError(code, os.strerror(code), str(hidden / "data" / "a.wav"))

    with pytest.raises(Unfinished, match=remedy) as caught:
        broken()
    assert caught.value.place == str(tmp_path / "x" / "data" / "a.wav"), "the hidden name is not shown"


def test_no_right_to_write(tmp_path: Path) -> None:
    folder = tmp_path / "read only"
    folder.mkdir(mode=0o500)
    if os.access(folder, os.W_OK):
        pytest.skip("this user may write everywhere")
    with pytest.raises(Unfinished, match="the right to write") as caught:
        build(folder / "x")
    assert caught.value.place == str(folder / "x")


@pytest.mark.parametrize("call", ["stat", "open"])
def test_a_disk_that_fails_once_all_is_in_place_does_not_deny_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    """The package existed although the message stated that nothing was written."""
    real, moved, target = getattr(os, call), [], tmp_path / "x"
    into_place = swap._into_place

    def failing(path: object, *more: object, **named: object) -> object:
        if moved and (str(path).endswith(".new") or str(path) == str(tmp_path)):
            raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))
        return real(path, *more, **named)

    def moving(*given: Any) -> None:
        into_place(*given)
        moved.append(True)

    monkeypatch.setattr(swap, "_into_place", moving)
    monkeypatch.setattr(os, call, failing)
    build(target)
    assert (target / "bagit.txt").exists()


@pytest.mark.parametrize("left", [".x.0a1b2c3d.new", ".x.0a1b2c3d.old", ".x.lock"])
def test_what_a_dead_process_left_is_cleared_by_the_next(tmp_path: Path, left: str) -> None:
    make_bag(tmp_path / "x")
    if left.endswith("lock"):
        (tmp_path / left).touch()
    else:
        make_bag(tmp_path / left, b"half")
    foreign = [".x.new", ".x.0a1b2c3d.bak", ".xx.0a1b2c3d.new", ".x.0a1b2c3d.new.wav"]
    for stranger in foreign:
        (tmp_path / stranger).mkdir()
    build(tmp_path / "x", b"new", replace=True)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*foreign, "x"])


def test_an_old_folder_set_aside_is_restored(tmp_path: Path) -> None:
    old = tree(make_bag(tmp_path / ".x.0a1b2c3d.old"))
    make_bag(tmp_path / ".x.0a1b2c3d.new", b"new")
    recover(tmp_path / "x")
    assert [path.name for path in tmp_path.iterdir()] == ["x"]
    assert tree(tmp_path / "x") == old


def test_two_runs_do_not_build_one_target(tmp_path: Path) -> None:
    """In this process, and in another: the other's hidden folder is kept while that process runs."""
    with whole_or_nothing(tmp_path / "x") as hidden:
        make_bag(hidden)
        with pytest.raises(Occupied, match="another run"):
            build(tmp_path / "x")
        other = """
            import sys
            from pathlib import Path
            from delivery.errors import Occupied
            from delivery.pack.swap import recover, whole_or_nothing
            recover(Path(sys.argv[1]))
            try:
                with whole_or_nothing(Path(sys.argv[1])):
                    print("built")
            except Occupied as refused:
                print(refused.found)
        """
        command = [sys.executable, "-c", textwrap.dedent(other), str(tmp_path / "x")]
        output = subprocess.run(command, check=True, capture_output=True, text=True, timeout=30).stdout
        assert "another run" in output
        assert hidden.exists()
    assert [path.name for path in tmp_path.iterdir()] == ["x"]


@pytest.mark.usefixtures("renames")
def test_one_file(tmp_path: Path) -> None:
    target = tmp_path / "x.zip"
    with whole_file_or_nothing(target) as hidden:
        hidden.write_bytes(b"one")
    with pytest.raises(Occupied), whole_file_or_nothing(target):
        pass
    with whole_file_or_nothing(target, replace=True) as hidden:
        hidden.write_bytes(b"two")
    assert tree(tmp_path) == {"x.zip": b"two"}


def test_one_file_that_fails_leaves_the_old_one(tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"one")

    def broken() -> None:
        with whole_file_or_nothing(tmp_path / "x.zip", replace=True) as hidden:
            hidden.write_bytes(b"two")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        broken()
    assert tree(tmp_path) == {"x.zip": b"one"}
