"""Label copy as files of a package: which forms there are, and what each is called. All come from the view."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module

from delivery.report.view.model import View


@dataclass(frozen=True, slots=True)
class Export:
    form: str
    """As 'delivery label-copy --as' names it; papers are called label_copy_<form>, and so is the module."""
    file_name: str
    says: str

    @property
    def id(self) -> str:
        return f"label_copy_{self.form}"

    def render(self, view: View) -> bytes:
        made: bytes = import_module(f"delivery.report.label_copy.{self.form}").render(view)
        return made


EXPORTS: Mapping[str, Export] = {
    export.id: export
    for export in (
        Export("csv", "label-copy.csv", "for spreadsheets, UTF-8; reads back as the same release"),
        Export("xlsx", "label-copy.xlsx", "a workbook, every cell text; reads back as the same release"),
        Export("json", "label-copy.json", "for programs, with lengths and printed codes"),
        Export("jsonld", "label-copy.jsonld", "for programs, in the open vocabulary of schema.org"),
        Export("text", "label-copy.txt", "the running order with codes and credits, for a mail"),
    )
}
"""By the name under which a spec or a release file asks for it as a paper."""
