"""A whole audit: measure and judge each file, find copies, write the tables and the overview into one new folder."""

from __future__ import annotations

import pickle
import shutil
import tempfile
from collections.abc import Generator, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from delivery import __version__
from delivery.ledger.cache import MeasurementCache
from delivery.model.audit import Audit, AuditRow, Copy, Duplicates
from delivery.model.spec import Spec
from delivery.pack.swap import whole_or_nothing
from delivery.pipeline.audit_file import audit_version
from delivery.pipeline.engine import Engine, Here, in_order
from delivery.pipeline.sources import Progress, quiet
from delivery.report.data import audit as data
from delivery.tasks.audit.codes import clashes
from delivery.tasks.audit.recordings import Link, Recordings, groups_of
from delivery.tasks.audit.rows import Requirements, release_rows, row_of
from delivery.tasks.audit.tables import Table, has_parquet
from delivery.tasks.audit.take import Taken, take
from delivery.tasks.audit.tally import Tally
from delivery.tasks.audit.tree import Tree, tree_of
from delivery.tasks.mirror import Mirror

OVERVIEW = "overview.html"
TABLES = ("files", "findings", "duplicates", "codes")
SCRATCH = ".work"


@dataclass(slots=True)
class _Seen:
    """Of each file as its row is written: the little that duplicates and codes need."""

    paths: list[str]
    codes: dict[int, tuple[str, ...]]
    known: int = 0


def audit(
    places: Sequence[str | Path],
    specs: Sequence[Spec],
    into: Path,
    *,
    cache: MeasurementCache | None = None,
    engine: Engine | None = None,
    progress: Progress = quiet,
) -> Audit:
    """Audit every sound file below *places* and write *into*: tables and an overview.

    What was measured is in the ledger as soon as it is known: after an interruption nothing is written, and the next
    run continues from there.

    Parameters
    ----------
    places : folders and files, addresses as text; a file at an address is fetched where it is measured, and deleted
    specs : each file is judged as it is, without the conversions that they permit
    into : a path that does not exist yet

    Raises
    ------
    Unusable : a folder is not there, or holds no sound file
    Occupied : *into* exists
    Unfinished : the machine fails: disk full, no permission, no cluster
    """
    into.parent.mkdir(parents=True, exist_ok=True)
    if cache:
        cache.forget_other_audits(audit_version())
    with tempfile.TemporaryDirectory(prefix="delivery-") as fetched, whole_or_nothing(into) as folder:
        tree = tree_of(places, Mirror(Path(fetched)) if any(isinstance(each, str) for each in places) else None)
        scratch = folder / SCRATCH
        scratch.mkdir()
        found = _audited(tree, specs, folder, scratch, cache, engine or Here(), progress)
        shutil.rmtree(scratch)
        from delivery.report.html.audit import render  # its templates are not needed by anyone who is interrupted

        (folder / OVERVIEW).write_bytes(render(found))
    return found


def _audited(
    tree: Tree,
    specs: Sequence[Spec],
    folder: Path,
    scratch: Path,
    cache: MeasurementCache | None,
    engine: Engine,
    progress: Progress,
) -> Audit:
    requirements, names = Requirements.of(specs), tuple(spec.id for spec in specs)
    tally, seen = Tally(), _Seen([], {})
    recordings = Recordings(scratch)
    with closing(recordings), Table(folder, "findings", data.FINDING_COLUMNS) as findings:
        with (scratch / "rows").open("wb") as spool, closing(_taken(tree, cache, engine, progress)) as found:
            for taken in found:
                row = row_of(taken, requirements)
                _note(seen, taken, row)
                recordings.add(taken.measurement)
                tally.add_file(row)
                pickle.dump(row, spool)
                for each in data.finding_rows(row):
                    findings.add(each)
        for row in release_rows(tree.releases, requirements):
            tally.add_findings(row)
            for each in data.finding_rows(row):
                findings.add(each)
        for path, problem in tree.problems:
            tally.add_problem(path, problem)
        progress("finding copies", 0, 1)
        links = list(recordings.links())
        progress("finding copies", 1, 1)
    groups = groups_of(links)
    _write_files(folder, names, _spooled(scratch / "rows"), groups)
    made = Audit(
        folders=tree.folders,
        specs=names,
        files=tally.files,
        unreadable=tally.unreadable + len(tree.problems),
        releases=len(tree.releases),
        results=tally.results,
        rules=tally.rules(),
        worst=tally.worst(),
        problems=tuple(tally.problems),
        duplicates=_duplicates(links, groups, seen.paths),
        clashes=clashes(seen.codes, groups, seen.paths),
        duration_s=tally.duration_s,
        known=seen.known,
        tables=tuple(f"{name}.{kind}" for name in TABLES for kind in ("csv", "parquet")[: 1 + has_parquet()]),
        version=__version__,
    )
    _write_small(folder, made)
    return made


def _taken(tree: Tree, cache: MeasurementCache | None, engine: Engine, progress: Progress) -> Generator[Taken]:
    total = len(tree.items)
    progress("auditing", 0, total)
    with closing(in_order(lambda item: take(item, cache, engine), tree.items, engine.width, engine)) as found:
        for done, taken in enumerate(found, start=1):
            progress("auditing", done, total)
            yield taken


def _note(seen: _Seen, taken: Taken, row: AuditRow) -> None:
    if taken.measurement is not None and row.isrcs:
        seen.codes[len(seen.paths)] = row.isrcs
    seen.paths.append(row.item.path)
    seen.known += taken.was_known


def _spooled(path: Path) -> Iterator[AuditRow]:
    """The rows that were written there: by this process, a moment ago."""
    with path.open("rb") as spool:
        while True:
            try:
                yield pickle.load(spool)
            except EOFError:
                return


def _write_files(folder: Path, specs: tuple[str, ...], rows: Iterator[AuditRow], groups: Mapping[int, int]) -> None:
    with Table(folder, "files", data.file_columns(specs)) as table:
        for number, row in enumerate(rows):
            recording = None if row.problem else groups.get(number, number) + 1
            table.add(data.file_row(row, specs, recording))


def _write_small(folder: Path, made: Audit) -> None:
    for name, columns, rows in (
        ("duplicates", data.COPY_COLUMNS, data.copy_rows(made)),
        ("codes", data.CODE_COLUMNS, data.code_rows(made)),
    ):
        with Table(folder, name, columns) as table:
            for each in rows:
                table.add(each)


def _duplicates(links: Sequence[Link], groups: Mapping[int, int], paths: Sequence[str]) -> tuple[Duplicates, ...]:
    """Groups in order of their first files."""
    linked = {(min(link.one, link.other), max(link.one, link.other)): link for link in links}
    members: dict[int, list[int]] = {}
    for number, first in groups.items():
        members.setdefault(first, []).append(number)
    return tuple(
        Duplicates(tuple(_copy(linked.get((first, number)), paths[number], number == first) for number in group))
        for first, group in sorted(members.items())
    )


def _copy(link: Link | None, path: str, is_first: bool) -> Copy:
    """The file at *path* beside the first one of its group."""
    if is_first or (link and link.alike is None):
        return Copy(path, True, 0.0, 0.0)
    if link is None or link.alike is None:
        return Copy(path, False)
    return Copy(path, False, round(link.alike.offset_s, 2), round(link.alike.gain_db, 1))
