"""One browser for all of these tests; each module has it without the pages of another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.report import browser as chromium


@pytest.fixture(scope="package")
def launched() -> Iterator[Any]:
    """Not for longer than this package: while it runs, nothing else in this thread can start an event loop."""
    with chromium.browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def browser(launched: Any) -> Iterator[Any]:
    """With a first context and an empty page in it, so that neither ends with a test's own page."""
    launched.new_context().new_page()
    yield launched
    for context in launched.contexts:
        context.close()
