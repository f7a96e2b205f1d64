"""What the list of releases prints of each, kept so that hundreds of release files need not be read to print it."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from delivery.errors import DeliveryError
from delivery.intake import load_release, load_studio
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.same_release import ReleaseIdentity
from delivery.pipeline.deliveries import identity_of
from delivery.regular import read_regular
from delivery.report.view import history, words
from delivery.tasks.stores import ledger_path
from delivery.tasks.write import write_bytes

FORM = 1
_TEXTS = ("title", "version", "artist", "label", "catalogue_number", "upc")
MOST_BYTES = 64 * 2**20


@dataclass(frozen=True, slots=True)
class Summary:
    """One release file, as the list prints it."""

    stamp: tuple[int, ...]
    """Time and size of the release file when it was read."""
    title: str
    artist: str = ""
    artwork: str = ""
    """Path of the cover; empty: none."""
    tracks: int = 0
    words: str = ""
    """What a search looks through."""
    problem: str = ""
    """Why the file cannot be read; empty: it was read."""
    identity: tuple[Any, ...] = ()
    """What the ledger recognises the release by."""
    ledger: str = ""
    last: str = ""
    """The last delivery, in words; empty: none."""
    ledger_stamp: tuple[int, ...] = ()
    """Time and size of the ledger when `last` was looked up."""
    checked: str = ""
    """Result of the last check of this text, as `Result` writes it; empty: none is known."""
    open_points: str = ""
    """What was open then: '3 to settle, 2 questions'."""


def stamp_of(path: Path) -> tuple[int, ...]:
    """Time and size of a file; empty if it is not there."""
    try:
        found = path.stat()
    except OSError:
        return ()
    return found.st_mtime_ns, found.st_size


def summarised(release_file: Path) -> Summary:
    """Read a release file; its faults are its `problem`."""
    stamp, folder = stamp_of(release_file), release_file.parent
    try:
        release, studio = load_release(release_file), load_studio(release_file)
        ledger = str(ledger_path(studio))
    except DeliveryError as error:
        return Summary(stamp, folder.name, words=str(release_file), problem=str(error))
    named = [release.title, release.artist, release.upc, release.catalogue_number, release.client, str(folder)]
    named += [text for track in release.tracks for text in (track.title, track.isrc, track.file.name)]
    found = identity_of(release)
    identity = (*(getattr(found, name) for name in _TEXTS), [list(each) for each in found.recordings])
    title, artist = words.titled(release.title, release.version), words.supplied(release.artist)
    cover = str(release.artwork or "")
    return with_last(Summary(stamp, title, artist, cover, len(release.tracks), " ".join(named), "", identity, ledger))


def with_last(summary: Summary) -> Summary:
    """The same, with its last delivery if the ledger has changed since it was looked up."""
    stamp = stamp_of(Path(summary.ledger)) if summary.ledger else ()
    if summary.problem or stamp == summary.ledger_stamp:
        return summary
    texts, recordings = dict(zip(_TEXTS, summary.identity, strict=False)), summary.identity[-1]
    identity = ReleaseIdentity(**texts, recordings=tuple((isrc, heard) for isrc, heard in recordings))
    last = DeliveryLedger(Path(summary.ledger)).last_of(identity, document=False)
    return replace(summary, last=history.last(last) if last else "", ledger_stamp=stamp)


def kept(file: Path) -> dict[str, Summary]:
    """Summaries by the path of their release file; none if the file cannot be used."""
    try:
        found = json.loads(read_regular(file, MOST_BYTES))
        if found["form"] != FORM:
            return {}
        return {path: _summary(one) for path, one in found["releases"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def keep(file: Path, summaries: dict[str, Summary]) -> None:
    """Write them; on a full disk nothing is lost, and only the next start takes longer."""
    releases = {path: asdict(one) for path, one in sorted(summaries.items())}
    with suppress(DeliveryError):
        write_bytes(file, json.dumps({"form": FORM, "releases": releases}).encode())


def _summary(values: dict[str, Any]) -> Summary:
    read: dict[str, Any] = {name: tuple(each) if isinstance(each, list) else each for name, each in values.items()}
    return Summary(**read)
