"""How fast the ledger is searched: 100,000 deliveries made up, each query timed as a person would make it.

    python -m tests.benchmarks.ledger [DELIVERIES]

Prints a table in Markdown; the times include opening the file, and those of commands include starting Python.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from delivery.ledger import rows
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger
from delivery.ledger.past import DeliveredFile, DeliveredRecording, Handover, PastDelivery
from delivery.ledger.same_release import identity_of
from delivery.ledger.store import connect
from delivery.tasks.history import LAST

SONGS, SPECS = 4, ("store-master-24", "cd-rate-16")
WORDS = [
    "amber", "arithmetic", "canal", "copper", "engine", "ferry", "glass", "granite", "harbour", "hollow", "lantern",
    "linen", "low", "north", "orchard", "paper", "quarry", "road", "salt", "signal", "stick", "tally", "tide",
]  # fmt: skip


def made_up(number: int, rng: np.random.Generator) -> PastDelivery:
    """The delivery of that number: titles of two or three words, 4 songs, 8 files."""
    say = lambda count: " ".join(rng.choice(WORDS, count)).title()  # noqa: E731
    album, artist = say(3), say(2)
    hashes = [rng.bytes(16).hex() for _ in range(SONGS)]
    return PastDelivery(
        fingerprint=rng.bytes(12).hex(),
        release_key=f"cat-{number}\n{artist}\n{album}\n".lower(),
        title=album,
        version="",
        artist=artist,
        label=say(1),
        client=say(2),
        catalogue_number=f"CAT-{number:06}",
        upc=f"{2_000_000_000_000 + number}",
        revision=1,
        dated=f"20{16 + number * 10 // 100_000:02}-{number % 12 + 1:02}-{number % 28 + 1:02}",
        package=f"CAT-{number:06} {album} rev 1",
        path=f"/deliveries/{number // 100}/CAT-{number:06} {album} rev 1",
        sealed_by="",
        specs=tuple(
            {"id": spec, "title": spec, "edition": "", "checked": "2026-11-25", "digest": ""} for spec in SPECS
        ),
        waivers=(),
        recordings=tuple(
            DeliveredRecording(at + 1, f"ZZXXX{number * SONGS + at:07}", hashes[at], 200.0 + at, say(2), "", artist)
            for at in range(SONGS)
        ),
        files=tuple(
            DeliveredFile(spec, at + 1, f"data/{spec}/{at + 1:02}.wav", rng.bytes(32).hex(), hashes[at])
            for spec in SPECS
            for at in range(SONGS)
        ),
        document={"release": {"title": album}},
    )


def fill(path: Path, count: int) -> PastDelivery:
    """A ledger of *count* deliveries at *path*; one from its middle."""
    rng = np.random.default_rng(1)
    store = connect(path)
    chosen = made_up(0, rng)
    with store:
        store.execute("BEGIN IMMEDIATE")
        for number in range(count):
            each = made_up(number, rng)
            chosen = each if number == count // 2 else chosen
            rows.write(store, each)
    store.close()
    return chosen


def seconds(work: Callable[[], object]) -> tuple[float, object]:
    """The median of five turns, and what came of it."""
    times, found = [], None
    for _ in range(5):
        begun = time.perf_counter()
        found = work()
        times.append(time.perf_counter() - begun)
    return sorted(times)[2], found


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_DATA_HOME"] = folder  # no ledger of the person who runs it is read
        path = Path(folder) / "ledger.sqlite3"
        one = fill(path, count)
        ledger, handovers = DeliveryLedger(path), HandoverLedger(path)
        for number in range(200):
            handovers.note(made_up(0, np.random.default_rng(number)).fingerprint, Handover("A", "B", "2026-11-01"))
        for day in range(1, 29):
            handovers.note(one.fingerprint, Handover("Plant", "M", f"2026-11-{day:02}"))
        song, file = one.recordings[2], one.files[3]
        asked: dict[str, Callable[[], object]] = {
            "ISRC": lambda: ledger.with_isrc(song.isrc),
            "title, artist and client": lambda: _named(ledger, f"{one.title} {one.artist} {one.client}"),
            "two common words, the last ones": lambda: _named(ledger, "salt lantern"),
            "a word that is nowhere": lambda: _named(ledger, "nowhere"),
            "catalogue number": lambda: _named(ledger, one.catalogue_number),
            "SHA-256 of a file": lambda: ledger.with_bytes(file.sha256),
            "audio hash of a file": lambda: ledger.with_sound(file.audio_hash),
            "codes of an album before a build": lambda: ledger.sent_before(
                isrc=[each.isrc for each in one.recordings],
                audio_hash=[each.audio_hash for each in one.recordings],
                upc=[one.upc],
                catalogue_number=[one.catalogue_number],
            ),
            "last delivery of a release": lambda: (ledger.last_of(identity_of(one)),),
            "a month": lambda: ledger.in_month(one.dated[:7]),
            "what is out": handovers.out,
            "record one": lambda: (ledger.record(replace(one, path="/moved")),),
        }
        print(f"{count} deliveries, {path.stat().st_size / 1e6:.0f} MB\n")
        print("| query | found | s |\n|---|--:|--:|")
        for name, work in asked.items():
            took_s, found = seconds(work)
            print(f"| {name} | {len(found) if isinstance(found, tuple) else ''} | {took_s:.3f} |")
        commands = (["history", song.isrc], ["history", one.title], ["history", one.catalogue_number], ["open"])
        for words in (*commands, ["report", "--month", one.dated[:7]]):
            took_s, _ = seconds(lambda words=words: _run(path, words))  # type: ignore[misc]
            print(f"| `delivery {' '.join(words)}` | | {took_s:.3f} |")


def _named(ledger: DeliveryLedger, text: str) -> tuple[PastDelivery, ...]:
    """As `delivery history` asks: how many there are, and the last of them in full."""
    return ledger.of_numbers(ledger.named(text)[:LAST])


def _run(path: Path, words: list[str]) -> None:
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    command = [sys.executable, "-m", "delivery", *words]
    subprocess.run(command, env=environment | {"DELIVERY_LEDGER": str(path)}, check=True, capture_output=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
