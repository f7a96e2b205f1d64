"""What a file that a package carries declares: a module of `report` with a ``REPORT`` is one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from delivery.report.view.model import View


@dataclass(frozen=True, slots=True)
class Report:
    """A kind of report: its file name and the function that makes it."""

    id: str
    """As a release file or a spec names it under ``papers``, where it is added on request only."""
    file_name: str
    sentence: str
    """Description, for the person who chooses."""
    make: Callable[..., bytes]
    """Pure: the view to the file's bytes; with the paper size as a second argument where *paged*."""
    paged: bool = False
    own: bool = False
    """A spec with ``sheet: own`` has one in its folder, about its files only, and the common one leaves it out."""
    on_request: bool = False
    """True: only where a release file or spec names it. False: in every package, once, for the whole release."""

    def render(self, view: View, page: str = "A4") -> bytes:
        """The report as bytes; *page* is the paper size."""
        return self.make(view, page) if self.paged else self.make(view)
