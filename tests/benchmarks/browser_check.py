"""How long the sheet's own check of a large package takes in a browser, and how much memory.

    python -m tests.benchmarks.browser_check [GIGABYTES] [MEGABYTES_A_FILE]

A package of one short song is built, padded to GIGABYTES (3) with files of MEGABYTES_A_FILE (100), and given to its own
sheet in Chromium and in Firefox, whichever are installed; then one byte is changed and it is given once more. Linux
only: memory is that of all processes of the browser, from /proc.
"""

from __future__ import annotations

import hashlib
import os
import re
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from delivery.pack import layout
from delivery.pipeline import Options, build, resolve_request
from tests.albums import Song, write_album, write_spec
from tests.benchmarks.figures import record_values
from tests.report import browser as chromium
from tests.report import firefox

TAG_MANIFEST, MANIFEST = "tagmanifest-sha256.txt", "manifest-sha256.txt"
MEGABYTE = 1_000_000
PATIENCE_S = 900


def padded(package: Path, gigabytes: float, megabytes_a_file: int) -> Path:
    """The package with files of noise added, its checksums right again; the first of them."""
    manifest = package / MANIFEST
    lines = manifest.read_text(encoding="utf-8").splitlines()
    for number in range(round(1000 * gigabytes / megabytes_a_file)):
        name = f"data/native/padding {number:03}.wav"
        digest = hashlib.sha256()
        with (package / name).open("wb") as file:
            for _ in range(megabytes_a_file):
                piece = os.urandom(MEGABYTE)
                digest.update(piece)
                file.write(piece)
        lines.append(f"{digest.hexdigest()}  {name}")
    manifest.write_text("\n".join(lines) + "\n", encoding="utf-8")
    tags = package / TAG_MANIFEST
    changed = re.sub(
        rf"[0-9a-f]{{64}}(?=\s+{MANIFEST})", hashlib.sha256(manifest.read_bytes()).hexdigest(), tags.read_text("utf-8")
    )
    tags.write_text(changed, encoding="utf-8")
    return package / "data/native/padding 000.wav"


def resident_mb(root: int) -> float:
    """Of a process and all below it."""
    below: dict[int, list[int]] = {}
    held: dict[int, int] = {}
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                fields = (folder / "stat").read_text().rsplit(")", 1)[1].split()
                held[int(folder.name)] = int((folder / "statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
            except OSError:  # it ended
                continue
            below.setdefault(int(fields[1]), []).append(int(folder.name))
    found, waiting = 0.0, [root]
    while waiting:
        process = waiting.pop()
        found += held.get(process, 0) / 1e6
        waiting += below.get(process, [])
    return found


@contextmanager
def watched_memory() -> Iterator[list[float]]:
    """Megabytes that this process and its children hold, every half second; without what it held at first."""
    samples, ended = [0.0], threading.Event()
    before = resident_mb(os.getpid())

    def watch() -> None:
        while not ended.wait(0.5):
            samples.append(resident_mb(os.getpid()) - before)

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        yield samples
    finally:
        ended.set()
        watcher.join()


@contextmanager
def chromium_check() -> Iterator[Callable[[Path], str]]:
    """What the sheet of a package reports about it in Chromium."""

    def checked(package: Path) -> str:
        page = chromium.Watched(opened.new_page())
        page.page.goto((package / layout.SHEET_HTML).as_uri())
        page.page.locator("#package input[type=file]").set_input_files(package)
        status = page.page.locator("#package [role=status]").filter(has_text=re.compile("Fingerprint|Nothing could"))
        status.wait_for(timeout=PATIENCE_S * 1000)
        notes = "; ".join(page.page.locator("#package li").all_text_contents())
        return f"{status.text_content()} {notes}"

    with chromium.browser() as opened:
        yield checked


@contextmanager
def firefox_check() -> Iterator[Callable[[Path], str]]:
    """The same in Firefox."""

    def checked(package: Path) -> str:
        text, notes = firefox.checked(opened, package / layout.SHEET_HTML, package, within_s=PATIENCE_S)
        return f"{text} {'; '.join(notes)}"

    with firefox.browser() as opened:
        yield checked


BROWSERS = {"chromium": (chromium.program, chromium_check), "firefox": (firefox.program, firefox_check)}


def flip_first_byte(path: Path) -> None:
    with path.open("r+b") as file:
        byte = file.read(1)[0]
        file.seek(0)
        file.write(bytes([byte ^ 1]))


def timed(check: Callable[[Path], str], package: Path, how: str) -> tuple[float, float]:
    """Seconds and megabytes."""
    with watched_memory() as samples:
        begun_s = time.perf_counter()
        text = check(package)
        took_s = time.perf_counter() - begun_s
    print(f"{how}: {took_s:.1f} s, at most {max(samples):.0f} MB more; {text}", flush=True)
    return took_s, max(samples)


def main(gigabytes: float = 3.0, megabytes_a_file: int = 100) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
        album = write_album(folder, [Song("One")], ["native"])
        package = build(resolve_request(album), folder / "out", Options()).package
        assert package
        first = padded(package, gigabytes, megabytes_a_file)
        for browser, (program, opened) in BROWSERS.items():
            if not program():
                print(f"NOT TRIED: {browser} is not installed")
                continue
            with opened() as check:
                took_s, memory_mb = timed(check, package, f"{browser}, as built")
                flip_first_byte(first)
                timed(check, package, f"{browser}, one byte changed")
                flip_first_byte(first)
            found = {f"{browser}_s": f"{took_s:.0f}", f"{browser}_mb": f"{memory_mb:,.0f}"}
            record_values("safety", "browser-check", {"gigabytes": f"{gigabytes:g}", **found})


if __name__ == "__main__":
    main(*map(float, sys.argv[1:2]), *map(int, sys.argv[2:3]))
