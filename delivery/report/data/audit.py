"""An audit for programs: columns and rows of its tables, and its summary as a JSON document that ends with totals."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from delivery.model.audit import TABLE_FIGURES, Audit, AuditRow
from delivery.model.finding import Result

TEXT, INTEGER, NUMBER, FLAG = "text", "integer", "number", "flag"
FIGURE_TYPES = {"container": TEXT, "rate_hz": INTEGER, "bits": INTEGER, "channels": INTEGER}
FINDING_COLUMNS = {
    "path": TEXT,
    "release_file": TEXT,
    "spec": TEXT,
    "rule": TEXT,
    "must": FLAG,
    "answer": TEXT,
    "found": TEXT,
    "wanted": TEXT,
    "why": TEXT,
    "first_at_s": NUMBER,
}
COPY_COLUMNS = {"recording": INTEGER, "path": TEXT, "exact": FLAG, "offset_s": NUMBER, "gain_db": NUMBER}
CODE_COLUMNS = {"clash": INTEGER, "kind": TEXT, "isrcs": TEXT, "path": TEXT}


def file_columns(specs: tuple[str, ...]) -> dict[str, str]:
    """Columns of the table of files, each with its type; a column with the result for each spec."""
    return {
        "path": TEXT,
        "release_file": TEXT,
        "title": TEXT,
        "isrcs": TEXT,
        **{name: FIGURE_TYPES.get(name, NUMBER) for name in TABLE_FIGURES},
        **{f"result {spec}": TEXT for spec in specs},
        "not_met": TEXT,
        "recording": INTEGER,
        "sha256": TEXT,
        "audio_hash": TEXT,
        "problem": TEXT,
    }


def file_row(row: AuditRow, specs: tuple[str, ...], recording: int | None) -> dict[str, Any]:
    """The row of a file.

    Parameters
    ----------
    recording : number of its recording, the same for copies; None: it has none
    """
    results = {f"result {spec}": row.results[spec].value if spec in row.results else None for spec in specs}
    missed = dict.fromkeys(finding.rule for finding in row.findings if finding.result is Result.NOT_READY)
    return {
        "path": row.item.path,
        "release_file": row.item.release_file,
        "title": row.title,
        "isrcs": " ".join(row.isrcs),
        **{name: row.figures.get(name) for name in TABLE_FIGURES},
        **results,
        "not_met": " ".join(missed),
        "recording": recording,
        "sha256": row.sha256,
        "audio_hash": row.audio_hash,
        "problem": row.problem,
    }


def finding_rows(row: AuditRow) -> Iterator[dict[str, Any]]:
    """A row for each requirement that is not met, waived or not measured."""
    for finding in row.findings:
        yield {
            "path": row.item.path,
            "release_file": row.item.release_file,
            "spec": finding.spec,
            "rule": finding.rule,
            "must": finding.must,
            "answer": finding.answer.value,
            "found": finding.found,
            "wanted": finding.wanted,
            "why": finding.why,
            "first_at_s": finding.at_s[0] if finding.at_s else None,
        }


def copy_rows(audit: Audit) -> Iterator[dict[str, Any]]:
    """A row for each file of a recording that is there more than once."""
    for number, group in enumerate(audit.duplicates, start=1):
        for copy in group.copies:
            yield {
                "recording": number,
                "path": copy.path,
                "exact": copy.exact,
                "offset_s": copy.offset_s,
                "gain_db": copy.gain_db,
            }


def code_rows(audit: Audit) -> Iterator[dict[str, Any]]:
    """A row for each file of a clash."""
    for number, clash in enumerate(audit.clashes, start=1):
        kind = "one code, several recordings" if clash.one_code else "one recording, several codes"
        for path in clash.paths:
            yield {"clash": number, "kind": kind, "isrcs": " ".join(clash.isrcs), "path": path}


def document(audit: Audit) -> dict[str, Any]:
    """``rules``, ``duplicates``, ``code_clashes``, ``unreadable`` (the first ones), and ``totals`` last."""
    return {
        "folders": list(audit.folders),
        "specs": list(audit.specs),
        "rules": [
            {
                "spec": one.spec,
                "rule": one.rule,
                "must": one.must,
                "not_met": one.not_met,
                "not_measured": one.not_measured,
                "example": one.example,
            }
            for one in audit.rules
        ],
        "duplicates": [
            [
                {"path": copy.path, "exact": copy.exact, "offset_s": copy.offset_s, "gain_db": copy.gain_db}
                for copy in group.copies
            ]
            for group in audit.duplicates
        ],
        "code_clashes": [{"isrcs": list(clash.isrcs), "paths": list(clash.paths)} for clash in audit.clashes],
        "unreadable": [{"path": path, "problem": problem} for path, problem in audit.problems],
        "tables": list(audit.tables),
        "totals": totals(audit),
    }


def totals(audit: Audit) -> dict[str, Any]:
    """Numbers of files, by spec and result, and of duplicates and clashes."""
    return {
        "files": audit.files,
        "unreadable": audit.unreadable,
        "releases": audit.releases,
        "duration_s": round(audit.duration_s, 3),
        "results": {
            spec: {result.name.lower(): counts.get(result, 0) for result in Result if result is not Result.UNUSABLE}
            for spec, counts in audit.results.items()
        },
        "duplicate_recordings": len(audit.duplicates),
        "duplicate_files": sum(len(group.copies) for group in audit.duplicates),
        "one_code_several_recordings": sum(clash.one_code for clash in audit.clashes),
        "one_recording_several_codes": sum(not clash.one_code for clash in audit.clashes),
    }
