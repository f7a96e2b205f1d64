"""The PQ list as a table: every index point on the disc and in the image, with codes and flags. One row per index
point."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence

from delivery.model.carrier import Song, msf
from delivery.model.cd_text import disc_text, flags, media_number, track_text
from delivery.model.label_copy import inert
from delivery.model.part import Delivery, Image
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.model.subcode import CdText
from delivery.pack.carried import shipped_images, track_of
from delivery.pack.paper import CarrierPaper

COLUMNS = (
    "disc",
    "image",
    "media_catalogue_number",
    "track",
    "index_0",
    "index_1",
    "ends",
    "pause",
    "length",
    "index_0_in_image",
    "index_1_in_image",
    "begins_sample",
    "samples",
    "padding_samples",
    "mark_early_samples",
    "end_late_frames",
    "further_index_points",
    "further_index_points_in_image",
    "isrc",
    "copy_permitted",
    "pre_emphasis",
    "channels",
    "title",
    "performer",
    "songwriter",
    "composer",
    "arranger",
    "message",
    "disc_title",
    "disc_performer",
    "disc_songwriter",
    "disc_composer",
    "disc_arranger",
    "disc_message",
    "disc_genre",
    "disc_id",
)
"""Times are minutes:seconds:frames of 1/75 s; unless noted, on the disc's clock. The last 14 columns are CD-Text."""

TEXTS = ("title", "performer", "songwriter", "composer", "arranger", "message")
OF_DISC = (*TEXTS, "genre", "disc_id")


def render(delivery: Delivery, spec: Spec) -> Mapping[str, bytes]:
    """'pq-list.csv' for all discs: UTF-8 with a byte order mark, LF; the last row of a disc is its lead-out."""
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\n")
    writer.writerow(COLUMNS)
    images = [image for image, _ in shipped_images(delivery, spec) if image.programme.carrier.in_frames]
    for image in images:
        writer.writerows(_rows(delivery.release, image))
    return {"pq-list.csv": into.getvalue().encode("utf-8-sig")} if images else {}


def _rows(release: Release, image: Image) -> Iterator[list[str]]:
    programme = image.programme
    for song in programme.songs:
        yield _row(release, image, song)
    out = {
        "disc": programme.label,
        "image": image.name,
        "media_catalogue_number": media_number(release),
        "track": "lead-out",
        "index_1": msf(programme.lead_out),
        "index_1_in_image": msf(programme.frames),
        "begins_sample": str(programme.length),
    }
    yield [out.get(column, "") for column in COLUMNS]


def _row(release: Release, image: Image, song: Song) -> list[str]:
    programme, track = image.programme, track_of(release, song)
    control = flags(track, programme.carrier)
    first = song.number == 1
    index_0 = 0 if first else programme.on_carrier(song.pause)
    index_1 = programme.on_carrier(song.mark)
    length = programme.track_frames(song)
    return [
        programme.label,
        image.name,
        media_number(release),
        f"{song.number:02}",
        msf(index_0),
        msf(index_1),
        msf(index_1 + length),
        msf(index_1 - index_0),
        msf(length),
        msf(song.pause),
        msf(song.mark),
        str(song.begins),
        str(song.length),
        str(song.padding),
        str(programme.early(song)),
        str(programme.late_frames(song)),
        " ".join(f"{index.number:02}={msf(programme.on_carrier(index.frame))}" for index in song.indices),
        " ".join(f"{index.number:02}={msf(index.frame)}" for index in song.indices),
        track.isrc,
        "yes" if control.copy_permitted else "no",
        "yes" if control.pre_emphasis else "no",
        "2",
        *_texts(track_text(track, release), TEXTS),
        *_texts(disc_text(release), OF_DISC),
    ]


def _texts(text: CdText, names: Sequence[str]) -> list[str]:
    return [inert(getattr(text, name)) for name in names]


PAPER = CarrierPaper(
    id="pq_list",
    sentence="the PQ list as a table: index points on the disc and in the image, codes, flags, CD-Text",
    render=render,
)
