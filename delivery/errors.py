"""Everything that can go wrong, drawn as a tree. Exit codes hang on the classes.

DeliveryError
├── Unusable          an input cannot be used at all; the rest of the job goes on      (2)
│   ├── Unreadable    a file's sound cannot be read to its end                         (2)
│   └── Over          a sample passes what the file can hold; the pipeline makes a finding of it
├── Faulty            a text file has faults; all of them are reported together        (2)
├── NotConfirmed      values taken from file names that nobody has confirmed              (1)
├── Occupied          the place to write to is taken and nobody said to replace it     (2)
└── Unfinished        the machine failed us: disk full, folder gone, no permission     (2)

A requirement that is not met is no error: it is a finding, and exit code 1 follows from findings.
"""

from __future__ import annotations


class DeliveryError(Exception):
    """Base of all errors a user may see; carries data, and turns into one clear message."""

    exit_code = 2


class Unusable(DeliveryError):
    """An input cannot be used at all; the rest of the job goes on."""

    def __init__(self, place: str, found: str, wanted: str, remedy: str) -> None:
        super().__init__(place, found, wanted, remedy)  # all of them: workers pickle it
        self.place, self.found, self.wanted, self.remedy = place, found, wanted, remedy

    def __str__(self) -> str:
        return f"{self.place}: found {self.found}, wanted {self.wanted}. {self.remedy}"


class Unreadable(Unusable):
    """A file's sound cannot be read to its end."""


class Over(Unusable):
    """A sample passes what the file to be written can hold; how far, where, and how high it is."""

    def __init__(
        self, place: str, found: str, wanted: str, remedy: str, over_db: float, peak_dbfs: float, at_s: float
    ) -> None:
        super().__init__(place, found, wanted, remedy)
        self.args = (place, found, wanted, remedy, over_db, peak_dbfs, at_s)
        self.over_db, self.peak_dbfs, self.at_s = over_db, peak_dbfs, at_s


class Occupied(Unusable):
    """The place to write to is taken and nobody said to replace it."""


class Unfinished(Unusable):
    """The machine failed us half-way: disk full, folder gone, no permission."""


class NotConfirmed(DeliveryError):
    """A release that holds values taken from folder and file names is not ready to ship."""

    exit_code = 1

    def __init__(self, place: str, values: tuple[tuple[str, str], ...], remedy: str) -> None:
        super().__init__(place, values, remedy)
        self.place, self.values, self.remedy = place, values, remedy

    def __str__(self) -> str:
        count = f"{len(self.values)} value{'' if len(self.values) == 1 else 's'}"
        lines = [f"  {where}  {what}" for where, what in self.values]
        found = f"{self.place}: found {count} taken from folder and file names, wanted each confirmed."
        return "\n".join([found, *lines, self.remedy])


class Faulty(DeliveryError):
    """A text file has faults; all of them are reported together, in file order."""

    def __init__(self, faults: tuple[Unusable, ...], remarks: tuple[str, ...] = ()) -> None:
        super().__init__(faults, remarks)
        self.faults, self.remarks = faults, remarks

    def __str__(self) -> str:
        return "\n".join([*self.remarks, *map(str, self.faults)])
