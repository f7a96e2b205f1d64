"""Which reports there are: every module in a folder of this package that declares a ``REPORT``.

Not among them: the data document, which records the hashes of all others, and the sheets of discs and sides, of which
there is one for each.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from types import ModuleType

import delivery.report
from delivery.model.registry import modules, register
from delivery.report.view.report import Report


@cache
def reports() -> dict[str, Report]:
    """Every report by id, sorted. Imports all of them, the PDF's libraries too.

    Raises
    ------
    ValueError : two of them claim one id or one file name
    """
    folders = (module for module in modules(delivery.report) if hasattr(module, "__path__"))
    found = register((report for folder in folders for report in _declared(folder)), lambda report: report.id)
    register(found.values(), lambda report: report.file_name)
    return found


@cache
def label_copy_forms() -> dict[str, Report]:
    """Forms of label copy by their short name: 'csv' for the report 'label_copy_csv'. Imports only these."""
    from delivery.report import label_copy

    return register(_declared(label_copy), lambda report: report.id.removeprefix("label_copy_"))


def on_request() -> dict[str, Report]:
    """The reports that a release file or a spec may name under ``papers``."""
    return {name: report for name, report in reports().items() if report.on_request}


def _declared(folder: ModuleType) -> Iterator[Report]:
    declared = (getattr(module, "REPORT", None) for module in modules(folder))
    return (report for report in declared if isinstance(report, Report))
