"""Source: a master as supplied, with its figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from delivery.model.carried import Item
    from delivery.model.figure import Measurement
    from delivery.model.track import Track


@dataclass(frozen=True, slots=True)
class Source:
    """A master as supplied."""

    track: Track
    measurement: Measurement | None
    """None if the file could not be used; ``problem`` gives the reason."""
    sha256: str = ""
    """Hash of the file's bytes; empty if it could not be read."""
    problem: str = ""
    carried: tuple[Item, ...] = ()
    """Tags, chunks and pictures in it."""
    doubled: Measurement | None = None
    """Of a mono master that may be copied to both channels: its measurement after the copy."""
    address: str = ""
    """Of another machine, where the file was fetched from; empty: it is on this machine."""

    @property
    def place(self) -> str:
        """Address or path, as printed."""
        return self.address or str(self.track.file)

    @property
    def audio_hash(self) -> str:
        """Hash of the samples; empty if they could not be read."""
        return str(self.measurement.value("audio_hash") or "") if self.measurement else ""
