"""The work of a check and a build grows with the number of songs, and no faster: calls are counted, not timed."""

from __future__ import annotations

import sys
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FrameType

import pytest

import delivery
from delivery.ledger.cache import MeasurementCache
from delivery.pipeline import Options, build, check, resolve_request
from tests.albums import Song, write_album

OURS = str(Path(delivery.__file__).parent)
FEW, SOME, MANY = 5, 10, 20
MOST = 3.0
"""Of the calls for 10 more songs, over those for 5 more: 2 where they grow with the songs, 4 with their square."""
UNNOTICED = 20
"""So many calls more are no growth: what is done once may be done a few times more."""


@contextmanager
def counted() -> Iterator[Counter[CodeType]]:
    """Count the calls of the program's own functions; each value of a generator is one."""
    calls: Counter[CodeType] = Counter()

    def noted(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_code.co_filename.startswith(OURS):
            calls[frame.f_code] += 1

    threading.setprofile(noted)
    sys.setprofile(noted)
    try:
        yield calls
    finally:
        sys.setprofile(None)
        threading.setprofile(None)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Calls:
    """Of an album: what a check of unchanged masters calls, and what a build calls after it."""

    check: Counter[CodeType]
    build: Counter[CodeType]


@pytest.fixture(scope="module")
def albums(tmp_path_factory: pytest.TempPathFactory) -> tuple[Calls, Calls, Calls]:
    """Calls for albums of FEW, SOME and MANY songs."""

    def of(songs: int) -> Calls:
        folder = tmp_path_factory.mktemp(f"{songs}")
        titles = [Song(f"Song {at}", 44_100, 0.3, seed=at) for at in range(1, songs + 1)]
        release = write_album(folder / "masters", titles, ("cd-rate-16",))
        with MeasurementCache(folder / "ledger.sqlite3") as cache:
            check(resolve_request(release), Options(1, cache))
            with counted() as checked:
                check(resolve_request(release), Options(1, cache))
            with counted() as built:
                assert build(resolve_request(release), folder / "out", Options(1, cache)).package
        return Calls(checked, built)

    return of(FEW), of(SOME), of(MANY)


@pytest.mark.parametrize("job", ["check", "build"])
def test_no_function_is_called_more_than_in_proportion_to_the_songs(
    albums: tuple[Calls, Calls, Calls], job: str
) -> None:
    few, some, many = (getattr(each, job) for each in albums)
    assert sum(many.values()) > 10_000  # else nothing was counted
    faster = {
        f"{code.co_filename.removeprefix(OURS)}:{code.co_firstlineno} {code.co_name}": (few[code], some[code], count)
        for code, count in many.items()
        if count - some[code] > MOST * max(0, some[code] - few[code]) + UNNOTICED
    }
    assert not faster
