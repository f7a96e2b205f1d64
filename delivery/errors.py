"""The tree of errors. Exit codes are attributes of the classes.

DeliveryError
├── Unusable          an input cannot be used; the rest of the job continues      (2)
│   ├── Unreadable    the audio cannot be decoded to its end                         (2)
│   └── Over          a sample exceeds full scale of the file; the pipeline reports it as a finding
├── Faulty            a text file has faults; all of them are reported together        (2)
├── NotConfirmed      values taken from file names are not confirmed yet              (1)
├── Occupied          the target exists and --replace was not given                     (2)
└── Unfinished        the machine failed: folder gone, no permission                (2)
    └── NoSpace       a disk is full: which one, how much is needed                (2)

A requirement that is not met is not an error but a finding; findings lead to exit code 1.
"""

from __future__ import annotations

from pathlib import Path


class DeliveryError(Exception):
    """Base class of all errors shown to users: carries data and converts to one clear message."""

    exit_code = 2


class Unusable(DeliveryError):
    """An input cannot be used; the rest of the job continues."""

    def __init__(self, place: str, found: str, wanted: str, remedy: str) -> None:
        super().__init__(place, found, wanted, remedy)  # all of them: workers pickle it
        self.place, self.found, self.wanted, self.remedy = place, found, wanted, remedy

    def __str__(self) -> str:
        return f"{self.place}: found {self.found}, wanted {self.wanted}. {self.remedy}"


class Unreadable(Unusable):
    """The audio of a file cannot be decoded to its end."""


class Over(Unusable):
    """A sample exceeds full scale of the file to be written: by how much and where."""

    def __init__(
        self, place: str, found: str, wanted: str, remedy: str, over_db: float, peak_dbfs: float, at_s: float
    ) -> None:
        super().__init__(place, found, wanted, remedy)
        self.args = (place, found, wanted, remedy, over_db, peak_dbfs, at_s)
        self.over_db, self.peak_dbfs, self.at_s = over_db, peak_dbfs, at_s


class Occupied(Unusable):
    """The target exists and --replace was not given."""


class Unfinished(Unusable):
    """The machine failed half-way: disk full, folder gone, no permission."""


class NoSpace(Unfinished):
    """A disk is full."""

    def __init__(self, place: str, found: str, wanted: str, remedy: str, disk: str) -> None:
        super().__init__(place, found, wanted, remedy)
        self.args = (place, found, wanted, remedy, disk)
        self.disk = disk
        """Where it is mounted."""

    def needing(self, wanted: str) -> NoSpace:
        """The same with what is needed in all."""
        return NoSpace(self.place, self.found, wanted, self.remedy, self.disk)


class NotConfirmed(DeliveryError):
    """A release that holds values taken from folder and file names is not ready to ship."""

    exit_code = 1

    def __init__(self, place: str, values: tuple[tuple[str, str], ...], remedy: str) -> None:
        super().__init__(place, values, remedy)
        self.place, self.values, self.remedy = place, values, remedy

    def __str__(self) -> str:
        count = f"{len(self.values)} value{'' if len(self.values) == 1 else 's'}"
        lines = [f"  {where}  {what}" for where, what in self.values]
        found = f"{self.place}: found {count} from folder and file names, wanted each confirmed."
        return "\n".join([found, *lines, self.remedy])


class Faulty(DeliveryError):
    """A text file has faults, all reported together in file order."""

    def __init__(self, faults: tuple[Unusable, ...], remarks: tuple[str, ...] = ()) -> None:
        super().__init__(faults, remarks)
        self.faults, self.remarks = faults, remarks

    def __str__(self) -> str:
        return "\n".join([*self.remarks, *map(str, self.faults)])


def typed(path: Path) -> str:
    """*path* as part of a command to type: quoted if it has blanks."""
    text = here(path)
    return f'"{text}"' if " " in text else text


def here(path: Path) -> str:
    """*path* as a person would type it: relative to the working folder if below it, else absolute."""
    path, folder = path.resolve(), Path.cwd()
    below = path.is_relative_to(folder) and folder != Path(folder.anchor)
    return str(path.relative_to(folder) if below else path)
