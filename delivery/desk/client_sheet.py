"""The client's sheet on its way into a release file: questions, changes, and then the written file.

An import asks questions while it reads. It is started again with every answer, with the answers so far; the first
question without one ends it. Nothing is written before the user agrees to the changes.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from delivery.errors import DeliveryError, Faulty

if TYPE_CHECKING:
    from delivery.tasks.start import Started

NAMED = "sheet"
"""Stands for a name of which nothing can be used."""
MOST_NAME = 60
"""Characters: 240 bytes at most, which every file system takes."""
ODD = '/\\:*?"<>|'
NONE = "none"
"""The answer that none of the choices is right."""


class _Unanswered(Exception):
    """Raised at a question without an answer yet; ends the import."""

    def __init__(self, question: str, choices: Sequence[str]) -> None:
        super().__init__(question, choices)
        self.question, self.choices = question, tuple(choices)


@dataclass(frozen=True, slots=True)
class Reading:
    """State of the import after the answers given so far."""

    question: str = ""
    choices: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    """Cells that cannot be used, rows without a file; or why the sheet cannot be used at all."""
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    ready: bool = False
    """It can be written, or there is nothing new in it."""


@dataclass(eq=False)
class ClientSheet:
    """A sheet that was dropped in."""

    name: str
    content: bytes
    answers: dict[str, int | None] = field(default_factory=dict)
    leave_out: bool = False
    """Cells with faults and rows without a file are left out."""
    reading: Reading = field(default_factory=Reading)

    def read(self, folder: Path) -> None:
        """Import it into the release file of *folder* as far as the answers lead; nothing is written."""
        try:
            started = self._imported(folder, write=False)
        except _Unanswered as asked:
            self.reading = Reading(asked.question, asked.choices)
        except Faulty as found:
            remarks = tuple(map(without_option, found.remarks))
            self.reading = Reading(faults=tuple(map(str, found.faults)), remarks=remarks)
        except DeliveryError as error:
            self.reading = Reading(faults=(str(error),))
        else:
            changes = started.changes or ()
            remarks = tuple(map(without_option, started.remarks))
            self.reading = Reading(remarks=remarks, changes=changes, kept=started.kept, ready=True)

    def write(self, folder: Path) -> Started:
        """Write it into the release file. Raises as `start_from_sheet`."""
        return self._imported(folder, write=True)

    def _imported(self, folder: Path, *, write: bool) -> Started:
        from delivery.tasks.start import start_from_sheet

        with tempfile.TemporaryDirectory(prefix="delivery-desk-") as own:
            sheet = Path(own) / file_name(self.name)
            sheet.write_bytes(self.content)
            return start_from_sheet(folder, sheet, ask=self._ask, leave_out=self.leave_out, replace=write)

    def _ask(self, question: str, choices: Sequence[str]) -> int | None:
        if question not in self.answers:
            raise _Unanswered(question, choices)
        return self.answers[question]


def without_option(remark: str) -> str:
    """A remark without the option of the command line that it proposes: the sheet is corrected instead."""
    return re.sub(
        r"; use --column '.*' to read it\.$", ": give it the name of a field in the sheet to have it read.", remark
    )


def file_name(given: str) -> str:
    """The client's name of the sheet, which questions and faults show, as far as it can be the name of a file here."""
    name = PurePath(given.replace("\\", "/"))
    stem, suffix = (
        "".join(sign for sign in part if sign.isprintable() and sign not in ODD) for part in (name.stem, name.suffix)
    )
    return f"{stem[:MOST_NAME].strip(' .') or NAMED}{suffix[:8].lower()}"
