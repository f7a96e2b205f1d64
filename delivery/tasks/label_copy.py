"""Export label copy: a release in the formats others read, and a blank sheet for the client."""

from __future__ import annotations

from pathlib import Path

from delivery import __version__
from delivery.audio.blocks import sound_facts
from delivery.errors import DeliveryError, Occupied, Unusable
from delivery.intake import load_release, load_studio
from delivery.intake.begin.file_names import Guess
from delivery.intake.begin.masters import Master, masters_in
from delivery.meters import figures
from delivery.model.fields import FIELDS
from delivery.model.figure import Measurement, Reading
from delivery.model.label_copy import ROUTES
from delivery.model.part import Delivery, Source
from delivery.model.release import Credit, Release, Track
from delivery.model.unconfirmed import in_short, unconfirmed
from delivery.report.label_copy import csv, xlsx
from delivery.report.registry import label_copy_forms
from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.make import view_of
from delivery.tasks.write import write_bytes

SPARE_ROWS = 20
"""Empty rows of a blank sheet, beside those of the masters."""


def label_copy_of(release_file: Path, form: str) -> bytes:
    """Export the release as *form*, a key of `label_copy_forms`. Lengths come from headers; nothing is measured.

    Raises
    ------
    Faulty : the release or studio file has faults
    Unusable : unknown form
    """
    forms = label_copy_forms()
    if form not in forms:
        raise Unusable("--as", repr(form), "one of " + ", ".join(forms), "Choose one of them.")
    release = load_release(release_file)
    sources = tuple(_source(track) for track in release.tracks)
    delivery = Delivery(release, load_studio(release_file), (), sources, (), version=__version__)
    return forms[form].render(view_of(delivery, figures()))


def unconfirmed_of(release_file: Path) -> str:
    """Unconfirmed values from folder and file names, in one sentence; empty if there are none."""
    return in_short(unconfirmed(load_release(release_file)))


def write_blank_sheet(folder: Path, sheet: Path, *, replace: bool = False) -> None:
    """Write a blank sheet, XLSX or CSV by its name, with a row for each master in *folder*.

    Raises
    ------
    Occupied : the file exists and *replace* is False
    Unusable : unknown kind of file, or no masters
    Unfinished : it cannot be written
    """
    if sheet.suffix.lower() not in (".xlsx", ".csv"):
        raise Unusable(str(sheet), "a name with another ending", ".xlsx or .csv", "Name it so.")
    if sheet.exists() and not replace:
        raise Occupied(str(sheet), "an existing file", "a path that does not exist yet", "Use --replace to replace it.")
    masters, _ = masters_in(folder)
    copy = _blank(masters)
    content = csv.as_csv(copy)
    if sheet.suffix.lower() == ".xlsx":
        content = xlsx.as_workbook(copy, help_lines(), SPARE_ROWS)
    write_bytes(sheet, content)


def help_lines() -> list[tuple[str, str]]:
    """Each field with its explanation, release fields first."""
    return [
        ("Please", "write codes, numbers and durations as they are printed; every cell is text, so nothing is lost."),
        (
            "Shares, IPI ...",
            "are to the right of the person they are about; several persons in one cell are separated by ';'.",
        ),
        *((column.title, column.meaning) for column in FIELDS.values() if column.id not in ROUTES),
    ]


def _blank(masters: list[Master]) -> LabelCopy:
    """A sheet with values from the masters' tags and names; other cells empty."""
    tracks = tuple(_known(position, master) for position, master in enumerate(masters, start=1))
    release = Release(Path("release.yaml"), "", "", tracks)
    facts = [master.facts for master in masters]
    sources = tuple(
        Source(track, Measurement({"duration_s": Reading(known.duration_s)}) if known else None)
        for track, known in zip(tracks, facts, strict=True)
    )
    copy = label_copy(view_of(Delivery(release, load_studio(Path()), (), sources, ()), figures()))
    return LabelCopy(tuple((title, "") for title, _ in copy.release), copy.columns, copy.rows)


def _known(position: int, master: Master) -> Track:
    number = master.tag_number or master.name_guess.number or position
    named = Guess("") if master.tags.get("title") else master.name_guess
    title = master.tags.get("title") or named.title
    return Track(
        position,
        Path(master.name),
        title,
        number,
        master.disc or 1,
        version=master.tags.get("version") or named.version,
        artists=(Credit(named.guest, "featured"),) if named.guest else (),
        isrc=master.name_guess.isrc or master.tags.get("isrc", ""),
    )


def _source(track: Track) -> Source:
    try:
        return Source(track, Measurement({"duration_s": Reading(sound_facts(track.file).duration_s)}))
    except DeliveryError as error:
        return Source(track, None, problem=str(error))
