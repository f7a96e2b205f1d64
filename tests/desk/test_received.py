"""A package dropped into the page: verified in place if its folder is known, else from a copy that is deleted."""

from __future__ import annotations

import asyncio
import hashlib
import os
import shutil
import signal
import stat
import time
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path
from typing import Any
from zipfile import ZipFile, ZipInfo

import httpx
import pytest

from delivery.desk import transfer
from delivery.desk.sessions import TOKEN_HEADER
from delivery.desk.state import Desk
from delivery.desk.work import VerifyResult
from delivery.errors import Unfinished, Unusable
from delivery.tasks import incoming
from tests.desk.conftest import OWN, Client
from tests.desk.started import Started, build_by_command, start, started_desk
from tests.report.browser import needs_browser

PATIENCE_S = 120.0
MANIFEST = "tagmanifest-sha256.txt"


@pytest.fixture(scope="module")
def package(masters: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A whole package, built by the command."""
    folder = tmp_path_factory.mktemp("built")
    with started_desk(masters, folder) as desk:
        return build_by_command(desk, folder)


def until(done: Callable[[], Any]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not done():
        assert time.monotonic() < end
        time.sleep(0.05)


def listed(package: Path) -> list[tuple[str, int, int]]:
    files = sorted(path for path in package.rglob("*") if path.is_file())
    return [
        (path.relative_to(package).as_posix(), path.stat().st_size, path.stat().st_mtime_ns // 10**6) for path in files
    ]


def offered(client: Client, package: Path, **more: Any) -> httpx.Response:
    manifest = hashlib.sha256((package / MANIFEST).read_bytes()).hexdigest()
    return client.post("received/offer", {"name": package.name, "files": listed(package), "manifest": manifest, **more})


def send(client: Client, key: str, number: int, content: Any, **headers: str) -> httpx.Response:
    own = {**OWN, TOKEN_HEADER: client.session.token, "X-Transfer": key, "X-File": str(number), **headers}
    return client.ask("POST", "received/file", own, content=content)


def copied(client: Client, package: Path) -> VerifyResult:
    """The result for *package*, sent as the page does."""
    key = offered(client, package).json()["transfer"]
    assert key
    for number, (path, *_) in enumerate(listed(package)):
        assert send(client, key, number, (package / path).read_bytes()).status_code == 200
    assert client.post("received/arrived", {"transfer": key}).status_code == 200
    return verified(client)


def verified(client: Client) -> VerifyResult:
    until(lambda: client.desk.received.result is not None or client.desk.received.problem)
    found = client.desk.received.result
    assert found is not None, client.desk.received.problem
    return found


def left(client: Client) -> list[Path]:
    """What is in the private folder."""
    place = client.desk.temporary._place
    return below(place) if place else []


def below(folder: Path) -> list[Path]:
    """Everything in a folder, which may be deleted meanwhile."""
    return [Path(top) / name for top, folders, files in os.walk(folder) for name in (*folders, *files)]


def test_a_package_from_elsewhere_is_copied_verified_and_deleted(client: Client, package: Path) -> None:
    assert copied(client, package).whole
    page = client.get("received").text
    assert package.name in page
    assert "copied into a private folder" in page
    assert "every checksum holds" in page
    assert left(client) == []


def test_one_changed_byte_is_found(client: Client, package: Path, tmp_path: Path) -> None:
    other = Path(shutil.copytree(package, tmp_path / package.name))
    sound = next(other.rglob("*.wav"))
    raw = bytearray(sound.read_bytes())
    raw[-1] ^= 1
    sound.write_bytes(raw)
    found = copied(client, other)
    assert not found.whole
    assert any(path.endswith(sound.name) and what == "changed" for path, what, *_ in found.rows)
    assert left(client) == []


def test_a_folder_that_is_known_is_verified_in_place(client: Client, package: Path, tmp_path: Path) -> None:
    """Known: in an opened folder, or verified by its path before. And nothing is copied."""
    here = Path(shutil.copytree(package, client.folder / package.name))
    assert offered(client, here).json() == {"transfer": ""}
    assert verified(client).whole
    assert client.desk.received.package == here
    assert "nothing was copied" in client.get("received").text
    shutil.rmtree(here)

    elsewhere = Path(shutil.copytree(package, tmp_path / "post" / package.name))
    assert client.post("received", {"path": str(elsewhere)}).status_code == 200
    assert verified(client).whole
    assert offered(client, elsewhere).json() == {"transfer": ""}
    assert verified(client).whole
    assert offered(client, elsewhere, copy=True).json()["transfer"], "another copy, says the user"


@pytest.mark.parametrize("change", ["a name", "a size", "a time", "the tag manifest", "a link"])
def test_a_folder_that_differs_is_not_taken_for_the_dropped_one(
    client: Client, package: Path, tmp_path: Path, change: str
) -> None:
    dropped = Path(shutil.copytree(package, tmp_path / package.name))
    here = Path(shutil.copytree(package, client.folder / package.name))
    sound = next(here.rglob("*.wav"))
    if change == "a name":
        sound.rename(sound.with_name("other.wav"))
    elif change == "a size":
        times = sound.stat()
        sound.write_bytes(sound.read_bytes()[:-1])
        os.utime(sound, ns=(times.st_atime_ns, times.st_mtime_ns))
    elif change == "a time":
        os.utime(sound)
    elif change == "a link":
        sound.rename(tmp_path / "away.wav")
        sound.symlink_to(tmp_path / "away.wav")
    else:
        file = here / MANIFEST
        times = file.stat()
        file.write_bytes(file.read_bytes()[:-2] + b"?\n")
        os.utime(file, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert offered(client, dropped).json()["transfer"], "its own files are wanted"


ODD = ["../a", "a/../../b", "/etc/passwd", "C:\\a", "a\\..\\b", "a//b", "", ".", "a/.", "~/a", "a\0b", "a\nb"]


@pytest.mark.parametrize("path", [*ODD, "x" * 256, "/".join("x" * 40)])
def test_a_path_that_leaves_the_folder_is_refused(client: Client, path: str) -> None:
    answer = client.post("received/offer", {"name": "P", "files": [[path, 1, 0]], "manifest": ""})
    assert answer.status_code == 400, path
    assert left(client) == []


def test_a_name_that_is_no_text_is_refused() -> None:
    """A lone surrogate: JSON can state one."""
    with pytest.raises(Unusable, match="not UTF-8"):
        incoming.offer("P", [incoming.Coming("\ud800", 1)])


@pytest.mark.parametrize("name", ["..", ".", "a/b", "/a", "C:", "", "a\0", "\\\\server\\share"])
def test_an_odd_name_of_the_package_is_refused(client: Client, name: str) -> None:
    assert client.post("received/offer", {"name": name, "files": [["a", 1, 0]]}).status_code == 400
    assert left(client) == []


@pytest.mark.parametrize(
    "files",
    [
        [],
        [["a", 1, 0], ["a", 1, 0]],
        [["a", 1, 0], ["A", 1, 0]],
        [["a", 1, 0], ["a/b", 1, 0]],
        [["a", -1, 0]],
        [["a", incoming.MOST_BYTES, 0], ["b", 1, 0]],
        [[f"{number}", 0, 0] for number in range(incoming.MOST_FILES + 1)],
    ],
    ids=["none", "twice", "twice in capitals", "file and folder", "negative", "too large", "too many"],
)
def test_files_that_no_package_has_are_refused(client: Client, files: list[Any]) -> None:
    answer = client.post("received/offer", {"name": "P", "files": files})
    assert answer.status_code == 400
    assert answer.json()["message"]
    assert left(client) == []


@pytest.mark.parametrize("what", ["offer", "file", "arrived"])
@pytest.mark.parametrize("headers", [{TOKEN_HEADER: "wrong"}, {"Origin": "http://example.org"}])
def test_another_site_cannot_send(client: Client, what: str, headers: dict[str, str]) -> None:
    key = client.post("received/offer", {"name": "P", "files": [["a", 1, 0]]}).json()["transfer"]
    sent = {**OWN, TOKEN_HEADER: client.session.token, "X-Transfer": key, "X-File": "0", **headers}
    assert client.ask("POST", f"received/{what}", sent, content=b"x").status_code == 403
    assert not [path for path in left(client) if path.is_file()]
    client.cookies = {}
    assert send(client, key, 0, b"x").status_code == 403


@pytest.mark.parametrize(
    ("number", "key", "content"),
    [(1, "", b"x"), (-1, "", b"x"), (0, "guessed", b"x"), (0, "", b""), (0, "", b"xx"), (9, "", b"x")],
    ids=["not the next", "negative", "another transfer", "too short", "too long", "not offered"],
)
def test_a_file_that_was_not_offered_so_ends_the_transfer(
    client: Client, number: int, key: str, content: bytes
) -> None:
    known = client.post("received/offer", {"name": "P", "files": [["a", 1, 0], ["b", 1, 0]]}).json()["transfer"]
    assert send(client, key or known, number, content).status_code == 400
    if not key:
        assert left(client) == []
        assert send(client, known, 0, b"x").status_code == 400, "it has ended"


def test_a_package_of_which_a_file_is_missing_is_not_verified(client: Client) -> None:
    key = client.post("received/offer", {"name": "P", "files": [["a", 1, 0], ["b", 1, 0]]}).json()["transfer"]
    assert send(client, key, 0, b"x").status_code == 200
    assert client.post("received/arrived", {"transfer": key}).status_code == 400
    assert left(client) == []


def test_no_link_is_followed_and_no_file_is_replaced(tmp_path: Path) -> None:
    """Even if a link came to lie in the private folder."""
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "a").symlink_to(tmp_path / "target")
    with pytest.raises(Unfinished):
        incoming.create(tmp_path / "own", "a")
    assert not (tmp_path / "target").exists()
    with pytest.raises(ValueError, match="leaves"):
        incoming.create(tmp_path / "own", "../b")


@pytest.mark.skipif(os.name == "nt", reason="modes of POSIX")
def test_the_private_folder_is_for_the_user_alone(client: Client) -> None:
    key = client.post("received/offer", {"name": "P", "files": [["d/a", 1, 0], ["b", 1, 0]]}).json()["transfer"]
    assert send(client, key, 0, b"x").status_code == 200
    place = client.desk.temporary._place
    assert place is not None
    modes = {stat.S_IMODE(path.stat().st_mode) for path in [place, *place.rglob("*")]}
    assert modes == {0o700, 0o600}


def test_a_large_body_is_never_held_in_memory(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of a megabyte go to the disk one after the other."""
    sizes: list[int] = []
    write = incoming.write

    def counted(file: Any, block: bytes, place: Path) -> None:
        sizes.append(len(block))
        write(file, block, place)

    monkeypatch.setattr(incoming, "write", counted)
    size = 20 * 2**20 + 5

    async def body() -> AsyncIterator[bytes]:
        for _ in range(20 * 16):
            yield bytes(2**16)
        yield bytes(5)

    key = client.post("received/offer", {"name": "P", "files": [["a", size, 0], ["b", 1, 0]]}).json()["transfer"]
    assert send(client, key, 0, body()).status_code == 200
    assert sum(sizes) == size
    assert max(sizes) <= transfer.BLOCK_BYTES + 2**16


def test_too_little_space_is_refused_first(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(client.folder)._replace(free=10**9)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage)
    answer = client.post("received/offer", {"name": "P", "files": [["a", 2 * 10**9, 0]]})
    assert answer.status_code == 400
    assert "no space for it" in answer.json()["message"]
    assert "1.0 GB free" in answer.json()["message"]
    assert left(client) == []


def test_cancelled_in_the_middle_nothing_is_left(client: Client) -> None:
    """While a file is arriving, and between two."""
    files = [["a", 2**22, 0], ["b", 1, 0]]
    key = client.post("received/offer", {"name": "P", "files": files}).json()["transfer"]

    async def body() -> AsyncIterator[bytes]:
        for number in range(64):
            if number == 40:
                assert any(path.is_file() for path in left(client)), "it is being written"
                await asyncio.to_thread(client.desk.received.cancel)
            yield bytes(2**16)

    assert send(client, key, 0, body()).status_code == 400
    assert left(client) == []
    assert "Cancelled" in client.get("received").text

    key = client.post("received/offer", {"name": "P", "files": files}).json()["transfer"]
    assert send(client, key, 0, bytes(2**22)).status_code == 200
    assert client.post("received/cancel", {}).status_code == 200
    assert left(client) == []
    assert send(client, key, 1, b"x").status_code == 400


def test_a_page_that_has_gone_leaves_nothing(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(transfer, "IDLE_S", 0.2)
    key = client.post("received/offer", {"name": "P", "files": [["a", 1, 0], ["b", 1, 0]]}).json()["transfer"]
    assert send(client, key, 0, b"x").status_code == 200
    until(lambda: client.desk.received.transfer is None)
    assert left(client) == []


def test_what_a_killed_desk_has_left_is_deleted_at_the_next_start(client: Client, tmp_path: Path) -> None:
    lost = tmp_path / "own" / "temporary" / "x" / "P" / "a.wav"
    lost.parent.mkdir(parents=True)
    lost.write_bytes(b"x")
    Desk(client.desk.folders, client.desk.worker, own=tmp_path / "own").temporary.close()
    assert not lost.exists()


def packed(package: Path, target: Path, change: Callable[[ZipFile], None] = lambda _: None) -> Path:
    with ZipFile(target, "w") as archive:
        for path, *_ in listed(package):
            archive.write(package / path, f"{package.name}/{path}")
        change(archive)
    return target


def dropped_zip(client: Client, file: Path) -> None:
    offer = {"name": file.stem, "files": [[file.name, file.stat().st_size, 0]], "manifest": ""}
    key = client.post("received/offer", offer).json()["transfer"]
    assert send(client, key, 0, file.read_bytes()).status_code == 200
    assert client.post("received/arrived", {"transfer": key}).status_code == 200


def test_a_zip_is_unpacked_verified_and_deleted(client: Client, package: Path, tmp_path: Path) -> None:
    """Dropped, and by its path."""
    file = packed(package, tmp_path / f"{package.name}.zip")
    dropped_zip(client, file)
    assert verified(client).whole
    assert left(client) == []
    assert client.post("received", {"path": str(file)}).status_code == 200
    assert verified(client).whole
    assert left(client) == []
    assert "The zip was unpacked" in client.get("received").text
    assert file.exists()


def link_in(archive: ZipFile) -> None:
    entry = ZipInfo("P/link")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    archive.writestr(entry, "/etc/passwd")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda archive: archive.writestr("P/../../out.txt", "x"), "leaves the package"),
        (lambda archive: archive.writestr("/out.txt", "x"), "leaves the package"),
        (link_in, "a link or a device"),
    ],
)
def test_a_zip_cannot_write_elsewhere(
    client: Client, package: Path, tmp_path: Path, change: Callable[[ZipFile], None], said: str
) -> None:
    dropped_zip(client, packed(package, tmp_path / "P.zip", change))
    until(lambda: client.desk.received.problem)
    assert said in client.desk.received.problem
    assert left(client) == []


def test_a_zip_that_unpacks_to_more_than_is_allowed_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "P.zip"
    with ZipFile(file, "w", 8) as archive:
        archive.writestr("P/zeros", bytes(10**7))
    assert file.stat().st_size < 10**5
    monkeypatch.setattr(incoming, "MOST_BYTES", 10**6)
    with pytest.raises(Unusable, match=r"10\.0 MB"):
        incoming.unpack(file, tmp_path, lambda *_: None)
    file.write_bytes(file.read_bytes()[:-30])
    with pytest.raises(Unusable, match="damaged"):
        incoming.unpack(file, tmp_path, lambda *_: None)


DROP = ("dragEnter", "dragOver", "drop")


def drop(page: Any, *paths: Path) -> None:
    """Drop files or folders as a file manager does: the browser itself gets their paths, the page does not."""
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    session = page.context.new_cdp_session(page)
    for kind in DROP:
        session.send("Input.dispatchDragEvent", {"type": kind, "x": 300, "y": 200, "data": data})


@pytest.fixture
def page(chromium: Any, own_desk: Started) -> Iterator[Any]:
    watched = own_desk.page(chromium, viewport={"width": 1280, "height": 900})
    watched.page.click("nav a:has-text('Received')")
    watched.page.wait_for_selector("#drop-package[data-ready]")  # its modules have run
    yield watched.page
    assert [text for text in watched.errors if "ERR_" not in text and "400" not in text] == []


def private(desk: Started) -> list[Path]:
    return below(desk.own_folder / "temporary")


@needs_browser()
@pytest.mark.slow
def test_a_folder_dropped_in_a_browser(page: Any, own_desk: Started, package: Path, tmp_path: Path) -> None:
    """From elsewhere it is copied; in an opened folder it is found; with one changed byte, that is reported."""
    elsewhere = Path(shutil.copytree(package, tmp_path / "post" / package.name))
    drop(page, elsewhere)
    page.wait_for_selector("#result:has-text('every checksum holds')")
    assert "copied into a private folder" in page.inner_text("#how")
    assert private(own_desk) == []

    known = Path(shutil.copytree(package, own_desk.folder / package.name))
    drop(page, known)
    page.wait_for_selector(f"#result h2:has-text('{known}')")
    page.wait_for_selector("#result:has-text('every checksum holds')")
    assert "nothing was copied" in page.inner_text("#how")
    page.click("#copy-instead")
    page.wait_for_selector("#how:has-text('copied into a private folder')")
    page.wait_for_selector("#result:has-text('every checksum holds')")

    sound = next(elsewhere.rglob("*.wav"))
    raw = bytearray(sound.read_bytes())
    raw[-1] ^= 1
    sound.write_bytes(raw)
    drop(page, elsewhere)
    page.wait_for_selector("#result:has-text('Not as it was packed')")
    assert sound.name in page.inner_text("#result table")
    assert private(own_desk) == []

    drop(page, packed(package, tmp_path / f"{package.name}.zip"))
    page.wait_for_selector("#result:has-text('every checksum holds')")
    assert "The zip was unpacked" in page.inner_text("#how")
    page.set_input_files("#pick-zip", str(packed(elsewhere, tmp_path / f"{package.name} again.zip")))
    page.wait_for_selector("#result:has-text('Not as it was packed')")
    drop(page, sound)
    page.wait_for_selector("#status:has-text('Drop the folder of a package')")
    drop(page, elsewhere, sound)
    page.wait_for_selector("#status:has-text('Drop one folder')")


@needs_browser()
@pytest.mark.slow
def test_what_is_dropped_where_nothing_takes_it_does_not_replace_the_page(page: Any, package: Path) -> None:
    """A browser would open it."""
    page.click("nav a:has-text('History')")
    page.wait_for_selector("#query")
    at = page.url
    drop(page, package / "bagit.txt")
    page.wait_for_timeout(500)
    assert page.url == at
    assert page.locator("#query").count() == 1


@needs_browser()
@pytest.mark.slow
def test_a_transfer_cancelled_in_a_browser_or_killed_leaves_nothing(
    page: Any, own_desk: Started, package: Path, tmp_path: Path
) -> None:
    large = Path(shutil.copytree(package, tmp_path / "large"))
    for number in range(20):
        with (large / "data" / f"{number}.bin").open("wb") as file:
            file.truncate(200 * 10**6)
    drop(page, large)
    page.wait_for_selector("#result button:has-text('Cancel')")
    until(lambda: any(path.is_file() for path in private(own_desk)))
    page.click("#result button:has-text('Cancel')")
    page.wait_for_selector("#result:has-text('Cancelled')")
    until(lambda: private(own_desk) == [])

    drop(page, large)
    until(lambda: any(path.is_file() for path in private(own_desk)))
    own_desk.process.send_signal(signal.SIGKILL)
    own_desk.process.wait(30)
    assert private(own_desk), "it was killed"
    again = start(own_desk.folder, own_desk.environment)
    try:
        until(lambda: private(own_desk) == [])
    finally:
        again.process.send_signal(signal.SIGTERM)
        again.process.wait(30)
        assert again.process.stdout is not None
        again.process.stdout.close()
