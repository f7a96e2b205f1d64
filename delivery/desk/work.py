"""What the worker process does: checks, builds and verifies, as the commands do. Results are small enough to send."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from delivery.desk.work_compare import (
    KeepJob,
    KeptResult,
    PairJob,
    PairResult,
    ReferenceJob,
    ReferenceResult,
    beside_reference,
    compare_files,
    keep_reference,
)

if TYPE_CHECKING:
    from delivery.model.part import Delivery
    from delivery.pipeline.run import Built
    from delivery.report.view.model import View

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class CheckJob:
    """A check to be done in the worker process."""

    release_file: Path


@dataclass(frozen=True, slots=True)
class BuildJob:
    """A build to be done in the worker process."""

    release_file: Path
    replace: bool = False


@dataclass(frozen=True, slots=True)
class VerifyJob:
    """A package to be verified in the worker process."""

    package: Path
    """The package folder, or the zip of one."""
    unpacked: Path | None = None
    """Private folder into which a zip is unpacked."""
    temporary: Path | None = None
    """Deleted by the desk when the job has ended."""


@dataclass(frozen=True, slots=True)
class CheckResult:
    """Result of a check."""

    view: View
    remarks: tuple[str, ...]
    last: BuildResult | None = None
    """The last package of this release that is still there."""


@dataclass(frozen=True, slots=True)
class BuildResult:
    """Result of a build."""

    view: View
    remarks: tuple[str, ...]
    package: Path | None
    """None if every deliverable was refused."""
    fingerprint: str = ""
    sheet: Path | None = None
    page: Path | None = None
    mail: str = ""
    """The mail text."""
    unchanged: bool = False
    """Nothing has changed since the last delivery: `package` is the earlier one, and nothing was built."""
    found: bool = False
    """Built before this desk was started, and found again."""


@dataclass(frozen=True, slots=True)
class VerifyResult:
    """Result of verifying a package."""

    whole: bool
    files: int
    rows: tuple[tuple[str, str, str, str], ...]
    """Path, subject, expected, found."""
    fingerprint: str
    lists: tuple[str, ...] = ()
    """For a folder that is not a package: the checksum lists it was checked against."""
    listed: int = 0
    sealed: bool = False
    sealed_by: str = ""
    """Fingerprint of the key that sealed it, if the seal holds."""


Job = CheckJob | BuildJob | VerifyJob | PairJob | ReferenceJob | KeepJob
Outcome = CheckResult | BuildResult | VerifyResult | PairResult | ReferenceResult | KeptResult


def do(job: Job, workers: int, progress: Progress) -> Outcome:
    """Do *job*.

    Raises
    ------
    DeliveryError : as the command of that name
    """
    doing: dict[type[Job], Callable[[Any, int, Progress], Outcome]] = {
        CheckJob: _check,
        BuildJob: _build,
        VerifyJob: _verify,
        PairJob: compare_files,
        ReferenceJob: beside_reference,
        KeepJob: keep_reference,
    }
    return doing[type(job)](job, workers, progress)


def _check(job: CheckJob, workers: int, progress: Progress) -> CheckResult:
    from datetime import date

    from delivery import Options, check, figures, resolve_request
    from delivery.report.view.make import view_of
    from delivery.tasks.earlier import earlier_deliveries, last_built
    from delivery.tasks.stores import MeasurementCache, delivered_before, ledger_path

    request = resolve_request(job.release_file, today=date.today())
    known = earlier_deliveries(request.release, request.studio, job.release_file.parent, request.specs)
    with MeasurementCache(ledger_path(request.studio)) as cache:
        delivery = check(request, Options(workers=workers, cache=cache, progress=progress, earlier=known))
    remarks = (*request.remarks, *delivered_before(delivery), *cache.remarks)
    view, before = _small(view_of(delivery, figures())), last_built(delivery, known)
    return CheckResult(view, remarks, _result(before, view, (), found=True) if before else None)


def _build(job: BuildJob, workers: int, progress: Progress) -> BuildResult:
    from datetime import date

    from delivery import Options, build, figures, resolve_request
    from delivery.report.view.make import view_of
    from delivery.tasks.earlier import earlier_deliveries
    from delivery.tasks.stores import MeasurementCache, delivered_before, ledger_path

    request = resolve_request(job.release_file, today=date.today())
    with MeasurementCache(ledger_path(request.studio)) as cache:
        known = earlier_deliveries(request.release, request.studio, specs=request.specs)
        options = Options(workers=workers, cache=cache, replace=job.replace, progress=progress, earlier=known)
        built = build(request, job.release_file.parent, options)
    remarks = (*request.remarks, *delivered_before(built.delivery, None if built.unchanged else built.package))
    return _result(built, _small(view_of(built.delivery, figures())), remarks)


def _result(built: Built, view: View, remarks: tuple[str, ...], *, found: bool = False) -> BuildResult:
    if built.package is None:
        return BuildResult(view, remarks, None)
    papers = built.papers
    try:
        mail = papers["mail"].read_text(encoding="utf-8")
    except (OSError, UnicodeError):  # of a package that lies there since another day
        mail = ""
    printed, unchanged = built.fingerprint, built.unchanged and not found
    return BuildResult(view, remarks, built.package, printed, papers["sheet"], papers["page"], mail, unchanged, found)


def _verify(job: VerifyJob, workers: int, progress: Progress) -> VerifyResult:
    from delivery import verify

    package = job.package
    if job.unpacked is not None:
        from delivery.tasks.incoming import unpack

        package = unpack(job.package, job.unpacked, progress)
    checked = verify(package, workers=workers, progress=progress)
    key = checked.sealed_by.fingerprint if checked.sealed_by else ""
    rows, lists = tuple(checked.rows()), checked.lists
    whole, files, fingerprint = checked.whole, checked.files, checked.fingerprint
    return VerifyResult(whole, files, rows, fingerprint, lists, checked.listed, checked.sealed, key)


def _small(view: View) -> View:
    """Without the measurements: the view has every number that is printed."""
    return replace(view, delivery=_bare(view.delivery))


def _bare(delivery: Delivery) -> Delivery:
    from delivery.model.figure import Measurement

    def lean(measurement: Measurement | None) -> Measurement | None:
        if measurement is None:
            return None
        return Measurement({name: one for name, one in measurement.items() if name == "duration_s"})

    sources = tuple(replace(one, measurement=lean(one.measurement), doubled=None) for one in delivery.sources)
    return replace(delivery, sources=sources, parts=(), images=(), selections=(), joins=(), likenesses=())
