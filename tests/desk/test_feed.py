"""A page gets every event since it was made, however late its connection comes."""

from __future__ import annotations

import asyncio

from delivery.desk.feed import MISSED, PROGRESS, Feed
from tests.desk.conftest import Client


def first_lines(feed: Feed, release: str, seen: int, count: int) -> list[str]:
    async def go() -> list[str]:
        stream = feed.events(release, seen)
        try:
            return [await anext(stream) for _ in range(count)]
        finally:
            await stream.aclose()  # type: ignore[attr-defined]

    return asyncio.run(go())


def test_what_was_sent_before_a_page_connected_is_not_lost() -> None:
    feed = Feed()
    made = feed.number()
    feed.send("a", "checked")
    assert MISSED in first_lines(feed, "a", made, 2)[1]


def test_a_page_that_shows_everything_gets_no_event() -> None:
    feed = Feed()
    feed.send("a", "checked")
    made = feed.number()
    feed.send("b", "checked")  # of another release
    feed.send("a", PROGRESS)  # of which only the newest counts

    async def next_line() -> str:
        stream = feed.events("a", made)
        await anext(stream)
        asyncio.get_running_loop().call_later(0.01, feed.send, "a", "built")
        return await anext(stream)

    assert "event: built" in asyncio.run(next_line())


def test_a_page_carries_the_number_from_before_anything_of_it_was_read(client: Client) -> None:
    client.desk.feed.send("x", "checked")
    before = client.desk.feed.number()
    assert f'data-seen="{before}"' in client.get("specs/sync-48-24").text
