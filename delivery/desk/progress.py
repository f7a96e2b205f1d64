"""How far a job has come."""

from __future__ import annotations

import time
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Progress:
    """Progress of a job."""

    text: str
    done: int
    total: int
    began_s: float
    """By the monotonic clock."""
    file: str = ""
    """Begun last; empty: not known."""

    @classmethod
    def after(cls, before: Progress | None, text: str, done: int, total: int, file: str) -> Progress:
        """The next one: within a step the time and the file go on."""
        same = before if before is not None and before.text == text else None
        return cls(text, done, total, same.began_s if same else time.monotonic(), file or (same.file if same else ""))

    def left_s(self) -> float | None:
        """Time left at the speed so far; None while nothing is done."""
        return (time.monotonic() - self.began_s) / self.done * (self.total - self.done) if self.done else None

    def as_event(self) -> dict[str, str | int | float | None]:
        """What open pages are sent."""
        return {"text": self.text, "done": self.done, "total": self.total, "left_s": self.left_s(), "file": self.file}
