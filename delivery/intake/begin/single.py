"""A release of one song from its master alone: command-line values become a release file beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from delivery.errors import Unusable, typed
from delivery.intake.begin.first_file import release_and_remarks
from delivery.intake.begin.masters import master_of
from delivery.intake.release.file import release_of
from delivery.intake.resolve_paths import named_beside
from delivery.intake.text_files import write_text
from delivery.intake.yaml.text import document_of

SUFFIX = ".release.yaml"
OF_TRACK = ("isrc", "version", "explicit", "language", "composers")
"""Values that belong to the recording; all others belong to the release."""


def single_release_file(song: Path, stated: Mapping[str, Any], specs: Sequence[str] = ()) -> Path:
    """The release file of a single, 'Song.release.yaml' beside 'Song.wav'; written if it does not exist.

    Parameters
    ----------
    stated : keys of the release file, title and artist among them; those of `OF_TRACK` go to the track; artwork is a
        path as typed here
    specs : specs to deliver to; if empty, those of the studio file

    Raises
    ------
    Unusable : no title or artist is stated or tagged, or values are stated for a file that exists already
    Faulty, Unfinished : a stated value or the studio file has faults, or the release file cannot be written
    """
    target = song.with_name(song.stem + SUFFIX)
    if target.exists():
        if stated:
            found = f"a release file already, and {', '.join(f'--{key}' for key in stated)}"
            raise Unusable(target.name, found, "one of the two", "Edit the file, then build again without them.")
        return target
    master = master_of(song, song.parent)
    tags = {"title": master.tags.get("title", ""), "artist": master.tags.get("artist", "")}
    known = {**{key: text for key, text in tags.items() if text.strip()}, **stated}
    missing = [f"--{key}" for key in ("title", "artist") if key not in known]
    if missing:
        remedy = f"Name them: delivery build {typed(song)} --title TITLE --artist NAME --isrc CODE"
        raise Unusable(song.name, f"no {' and no '.join(missing)}", "both, in tags or as options", remedy)
    of_track = {"title": known["title"], **{key: known[key] for key in OF_TRACK if key in known}}
    of_release = {key: text for key, text in known.items() if key not in OF_TRACK}
    keys = {"artwork": None, **of_release}
    if keys["artwork"]:
        keys["artwork"] = named_beside(song.parent, Path(keys["artwork"]))
    text, _ = release_and_remarks(song.parent, [master], (), keys, {master.name: of_track}, specs)
    release_of(document_of(text, target.name), target)  # a wrong code is refused before anything is written
    write_text(target, text)
    return target
