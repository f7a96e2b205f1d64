"""Contents of the form on the HTML sheet: every track with its audio hash and what to listen to. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote

from delivery.model.approval import seen_hash
from delivery.model.copy_marks import copy_marks
from delivery.model.part import Delivery, Source, unapproved
from delivery.report.view import words

PLAYED = ("mp3", "m4a", "flac", "wav")
"""Containers that browsers play, listening copies first."""


@dataclass(frozen=True, slots=True)
class AnswerTrack:
    """One track of the form."""

    number: str
    title: str
    length: str
    audio_hash: str
    listen: str
    """Address of a file to play, relative to the sheet; empty: the package holds none that browsers play."""


@dataclass(frozen=True, slots=True)
class AnswerForm:
    """What the reader can do: approve each track of one revision, or request a change."""

    release: str
    """'Merrow: Low Water'."""
    revision: int
    label_copy: str
    """Hash of the label copy on this sheet."""
    tracks: tuple[AnswerTrack, ...]

    @property
    def plays(self) -> bool:
        """Whether the package holds a listening copy of any track."""
        return any(track.listen for track in self.tracks)


def answer_form(delivery: Delivery, running: str) -> AnswerForm | None:
    """None: not built, a master unreadable, approved already, or the sheet of a recipient who approves nothing."""
    release, sources = delivery.release, delivery.sources
    alone = len(delivery.specs) == 1 and delivery.specs[0].own_sheet and not delivery.specs[0].reference_only
    approved = release.approval is not None and not unapproved(release, sources)
    if not delivery.built or alone or approved or not sources or not all(source.audio_hash for source in sources):
        return None
    numbers = words.numbers(release)
    tracks = tuple(
        AnswerTrack(
            number=numbers[source.track.position],
            title=words.titled(source.track.title, source.track.version),
            length=words.clock(_duration_s(source), 0),
            audio_hash=source.audio_hash,
            listen=_listen(delivery, source.track.position),
        )
        for source in sources
    )
    return AnswerForm(running, release.revision, seen_hash(copy_marks(release)), tracks)


def _duration_s(source: Source) -> float:
    return float(source.measurement.value("duration_s") or 0) if source.measurement else 0.0


def _listen(delivery: Delivery, position: int) -> str:
    """The smallest kind of file among the track's parts; the sheet is in the folder above those of the specs."""
    paths = [part.shipped.path for part in delivery.of_track(position) if part.shipped]
    played = [path for path in paths if path.rpartition(".")[2].lower() in PLAYED]
    best = min(played, key=lambda path: PLAYED.index(path.rpartition(".")[2].lower()), default="")
    steps = best.split("/")[2:] if len(delivery.specs) == 1 and delivery.specs[0].own_sheet else best.split("/")[1:]
    return quote("/".join(steps), errors="replace")
