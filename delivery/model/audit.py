"""What an audit of a catalogue finds: a row for each file, duplicates, clashes of codes, and totals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from delivery.model.finding import Finding, Result

TABLE_FIGURES = (
    "duration_s",
    "container",
    "rate_hz",
    "bits",
    "channels",
    "integrated_lufs",
    "true_peak_dbtp",
    "plr_db",
)
"""Figures of each file in the table of files."""


@dataclass(frozen=True, slots=True)
class AuditItem:
    """A file to audit."""

    path: str
    """Below the folder audited, or as it was named."""
    location: str
    """Absolute path, or an address."""
    release_file: str = ""
    """The release file that names it, a path or an address; empty: none does."""
    position: int = 0
    """Of its track in that release file."""
    release_copy: str = ""
    """Where the release file was fetched to; empty: it lies on this machine."""


@dataclass(frozen=True, slots=True)
class AuditRow:
    """One file as audited; findings only of what is not met, waived or not measured."""

    item: AuditItem
    title: str
    isrcs: tuple[str, ...] = ()
    """In storage form: those of the release file and of the file's own tags."""
    sha256: str = ""
    audio_hash: str = ""
    figures: Mapping[str, object] = field(default_factory=dict)
    results: Mapping[str, Result] = field(default_factory=dict)
    """By spec id."""
    findings: tuple[Finding, ...] = ()
    problem: str = ""
    """Why it could not be measured; then nothing else is known of it."""


@dataclass(frozen=True, slots=True)
class RuleCount:
    """How many files, or releases, do not meet one requirement."""

    spec: str
    rule: str
    must: bool
    """Whether it can keep a file from being ready: a must whose rule is certain."""
    not_met: int
    not_measured: int
    example: str
    """The path of the first one."""


@dataclass(frozen=True, slots=True)
class Copy:
    """One file of a recording that is there more than once."""

    path: str
    exact: bool = True
    """Sample for sample the first one of the group."""
    offset_s: float | None = None
    """How much later than the first one it begins; None: compared with another one of the group."""
    gain_db: float | None = None
    """How much louder than the first one it is."""


@dataclass(frozen=True, slots=True)
class Duplicates:
    """Files of one recording, in the order of the audit."""

    copies: tuple[Copy, ...]


@dataclass(frozen=True, slots=True)
class CodeClash:
    """One ISRC on several recordings, or several ISRCs on one recording."""

    isrcs: tuple[str, ...]
    paths: tuple[str, ...]

    @property
    def one_code(self) -> bool:
        """True for one ISRC on several recordings."""
        return len(self.isrcs) == 1


@dataclass(frozen=True, slots=True)
class Audit:
    """The summary of an audit; rows and findings are in its tables."""

    folders: tuple[str, ...]
    specs: tuple[str, ...]
    files: int
    unreadable: int
    releases: int
    results: Mapping[str, Mapping[Result, int]]
    """By spec: number of files in each state."""
    rules: tuple[RuleCount, ...]
    """By spec, musts first, then by number of files."""
    worst: tuple[AuditRow, ...]
    """The files with the most requirements that are not met."""
    problems: tuple[tuple[str, str], ...]
    """Path and reason of the first ones that could not be read."""
    duplicates: tuple[Duplicates, ...]
    clashes: tuple[CodeClash, ...]
    duration_s: float
    known: int
    """Files taken from the ledger; the others were measured in this run."""
    tables: tuple[str, ...] = ()
    """Names of the tables beside the overview."""
    version: str = ""

    @property
    def is_open(self) -> bool:
        """Whether a file or a release does not meet a must."""
        return any(one.must and (one.not_met or one.not_measured) for one in self.rules)
