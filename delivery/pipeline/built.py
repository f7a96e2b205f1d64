"""Result of a build."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from delivery.model.part import Delivery
from delivery.pack import layout
from delivery.pack.names import folder_name


@dataclass(frozen=True, slots=True)
class Built:
    """Result of a build."""

    delivery: Delivery
    package: Path | None
    """None if every part was refused."""
    archive: Path | None = None
    fingerprint: str = ""
    """Fingerprint of the package's tag manifest, to compare by telephone."""
    mail: Path | None = None
    """The mail text beside the package, with the fingerprint."""
    unchanged: bool = False
    """Nothing has changed: ``package`` is the earlier one, and nothing was built."""

    @property
    def is_of_this_revision(self) -> bool:
        """True if the package has the name that a build of the release makes: only replacing it makes it again."""
        return self.package is not None and self.package.name == folder_name(self.delivery.release)

    @property
    def papers(self) -> dict[str, Path]:
        """Files to open first, by kind: the sheet, the browser page, the mail. Empty without a package."""
        if self.package is None:
            return {}
        return {
            "sheet": self.package / layout.SHEET_PDF,
            "page": self.package / layout.SHEET_HTML,
            "mail": self.mail or self.package / layout.MAIL_TEXT,
        }
