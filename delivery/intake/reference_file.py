"""Reference playlists as files: read and checked by their schema, written whole or not at all."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import asdict
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.text_files import write_text
from delivery.intake.yaml.schema_faults import faults_of
from delivery.model.reference import BandHabit, Reference, ReferenceTrack
from delivery.own_folders import data_folder
from delivery.regular import read_regular

FORM = 1
SUFFIX = ".json"
MOST_BYTES = 64 * 2**20
NAME = re.compile(r"[^\W_](?:[\w .&+'-]{0,78}[\w&+'-])?")
"""A file name on every system: begins with a letter or digit, no separators, no blank or point at the end."""


def references_folder() -> Path:
    """The folder in which references are stored."""
    return data_folder() / "references"


def reference_path(name: str) -> Path:
    """Where the reference *name* is kept, whether or not it exists.

    Raises
    ------
    Unusable : the name cannot be a file name everywhere
    """
    if not NAME.fullmatch(name) or name.endswith(SUFFIX):
        raise Unusable(
            "reference", repr(name), "a name of letters, digits, spaces and hyphens", "Choose one, such as indie-folk."
        )
    return references_folder() / f"{name}{SUFFIX}"


def reference_names() -> tuple[str, ...]:
    """Names of all that are kept, sorted."""
    folder = references_folder()
    found = folder.glob(f"*{SUFFIX}") if folder.is_dir() else ()
    return tuple(sorted((path.stem for path in found if not path.name.startswith(".")), key=str.casefold))


def load_reference(name: str) -> Reference:
    """The reference of this name, or of this file where *name* ends in '.json'.

    Raises
    ------
    Unusable : none of that name, or a file that cannot be read
    Faulty : the file does not follow its schema
    """
    path = Path(name) if name.endswith(SUFFIX) else reference_path(name)
    if not path.is_file():
        names = reference_names()
        raise Unusable(
            "reference",
            f"none called {name!r}" if path.parent == references_folder() else f"no file {name}",
            f"one of those kept ({', '.join(names) or 'none yet'})",
            did_you_mean(name, names) or "Make one: delivery reference make NAME FOLDER",
        )
    data = _data(path)
    return Reference(data["name"], tuple(_track(one) for one in data["tracks"]))


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """A question with the name that is most like this one, in upper or lower case; empty where none is."""
    lower = {each.casefold(): each for each in names}
    near = get_close_matches(name.casefold(), lower, n=1)
    return f"Did you mean {lower[near[0]]!r}?" if near else ""


def save_reference(reference: Reference) -> Path:
    """Write *reference* where references are kept, over an older one of its name; the path.

    Raises
    ------
    Unfinished : it cannot be written; an older one is still there
    """
    path = reference_path(reference.name)
    with suppress(OSError):  # writing reports what is wrong
        path.parent.mkdir(parents=True, exist_ok=True)
    document = {"form": FORM, "name": reference.name, "tracks": [asdict(track) for track in reference.tracks]}
    write_text(path, json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1, sort_keys=True) + "\n")
    return path


def _data(path: Path) -> Any:
    try:
        content = read_regular(path, MOST_BYTES)
        data = json.loads(content.decode("utf-8"), parse_constant=_no_constant)
    except OSError as error:
        raise Unusable(str(path), f"no way to read it ({error.strerror})", "a readable file", "Check it.") from error
    except (ValueError, RecursionError) as error:
        raise Unusable(path.name, "no JSON document", "a reference playlist", REMAKE) from error
    if isinstance(data, dict) and isinstance(data.get("form"), int) and data["form"] > FORM:
        raise Unusable(path.name, f"form {data['form']}", f"form {FORM}", "It was made by a newer version: update.")
    faults = faults_of(data, shipped_schema("reference.schema.json"), {}, path.name)
    if faults:
        raise Faulty(faults)
    _same_lengths(data, path.name)
    return data


REMAKE = "Make it again: delivery reference make NAME FOLDER --replace"


def _same_lengths(data: Any, file_name: str) -> None:
    """Checks beyond the schema: a level for each third octave.

    Raises
    ------
    Faulty : the two rows of a track differ in length
    """
    faults = [
        Unusable(file_name, f"{one['file']}: levels for other bands than named", "a level for each band", REMAKE)
        for one in data["tracks"]
        if len(one["figures"]["third_octave_hz"] or ()) != len(one["figures"]["third_octave_re_loudness_db"] or ())
    ]
    if faults:
        raise Faulty(tuple(faults))


def _no_constant(text: str) -> Any:
    raise ValueError(text)


def _track(row: dict[str, Any]) -> ReferenceTrack:
    figures = {name: tuple(value) if isinstance(value, list) else value for name, value in row["figures"].items()}
    habits = tuple(BandHabit(**habit) for habit in row["habits"])
    return ReferenceTrack(row["file"], row["audio_hash"], row["meters"], figures, habits)
