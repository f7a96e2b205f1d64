"""What the head and foot of a printed page need of a view."""

from __future__ import annotations

from typing import Protocol

from delivery.report.view.headings import Words


class Framed(Protocol):
    """A view that can be set on pages: of a release, or of a month."""

    @property
    def running(self) -> str:
        """At the left of each page's head."""

    @property
    def revision(self) -> str:
        """At the right of it, before the page number."""

    @property
    def lang(self) -> str:
        """BCP 47 tag."""

    @property
    def studio(self) -> tuple[str, ...]:
        """For the foot."""

    @property
    def words(self) -> Words:
        """``sheet`` is the paper's title."""
