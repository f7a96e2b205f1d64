"""A first release file from a folder of masters: values from tags and names filled in, missing ones explained."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

from delivery.absolute import absolute
from delivery.errors import Faulty, Unusable
from delivery.intake.begin.masters import Master, agreed, copies_left_out, masters_in, pictures_in, unopened
from delivery.intake.begin.sides import NOTHING, Proposal, propose
from delivery.intake.begin.tracks import track_lines
from delivery.intake.release.confirm import HINT, written
from delivery.intake.release.confirm import KEY as TO_CONFIRM
from delivery.intake.spec.file import load_spec, spec_names
from delivery.intake.studio.file import load_studio
from delivery.intake.yaml.quoting import one_line, quoted, value
from delivery.intake.yaml.schema_formats import is_barcode_length, is_iso_date, stored_barcode
from delivery.model.unconfirmed import ORDER

HEAD = """\
# Release file. What follows a '#' explains and is not read; a key without a value counts as not supplied.
# Put texts in quotes. Files are named relative to this folder.
"""

RELEASE_HELP = {
    "title": "title of the release, without its version",
    "artist": "name the release is shown under",
    "version": "only if it is not the standard one, such as Instrumental Edition",
    "label": "label",
    "catalogue_number": 'the label\'s own number, such as "OSL-014"',
    "upc": "bar code in quotes: 12 digits (UPC) or 13 (EAN)",
    "release_date": "year-month-day",
    "original_date": "only for a reissue: the day of the first release",
    "p_line": "year and owner of the recording",
    "c_line": "year and owner of artwork and texts",
    "genre": "genre, in the recipient's words",
    "language": "of the titles: en, de, ja ...",
    "artwork": "front cover, a picture in this folder",
    "client": "who ordered the work",
    "dated": "the date to print on sheets, year-month-day; without it they say 'not stated'",
    "notes": "anything the reader of the sheet should know",
}
DATES = ("release_date", "original_date")

TAIL = """
# Who approved these masters is written here, with their audio hashes, by: delivery approve FOLDER --by NAME --date DAY

# An exception needs a name and a reason, and is printed on the sheet:
# waivers:
#   - {rule: "id-of-the-rule", track: 1, by: "who", why: "the reason"}
"""

USUAL_SPECS = ("store-master-24", "cd-rate-16")


def first_release_file(folder: Path) -> str:
    """YAML text of a release file for the masters in *folder* (and its folders CD1, Disc 2 ...); it loads without
    changes.

    Raises
    ------
    Unusable, Faulty : as `first_release`
    """
    return first_release(folder)[0]


def first_release(
    folder: Path, specs: Sequence[str] = (), stated: Mapping[str, Any] = MappingProxyType({})
) -> tuple[str, tuple[str, ...]]:
    """The same, with remarks for the user.

    Parameters
    ----------
    specs : specs to deliver to, as named in the release file; if empty, those of the studio file
    stated : stated keys of the release file; they take precedence over tags and names

    Raises
    ------
    Unusable : no masters found, or names that are not valid text
    Faulty : the studio file has faults
    """
    masters, left_out = masters_in(folder)
    comments, lost = copies_left_out(masters, left_out)
    text, noted = release_and_remarks(folder, masters, comments, stated, specs=specs)
    return text, (*noted, *lost, *unopened(masters))


def release_and_remarks(
    folder: Path,
    masters: Sequence[Master],
    remarks: Sequence[str] = (),
    stated: Mapping[str, Any] = MappingProxyType({}),
    stated_tracks: Mapping[str, Mapping[str, Any]] = MappingProxyType({}),
    specs: Sequence[str] = (),
) -> tuple[str, tuple[str, ...]]:
    """YAML text of a release file for *masters*, in their order, and remarks for the user.

    Parameters
    ----------
    remarks : comments above the tracks
    stated : stated keys of the release file, as plain data; they take precedence over tags and names
    stated_tracks : the same for tracks, by the name of their master
    specs : specs to deliver to, chosen when starting; they take precedence over the studio file

    Raises
    ------
    Faulty : the studio file has faults
    """
    artist = str(stated.get("artist") or _artist(masters))
    chosen = stated.get("deliver_to") or specs or _usual(folder)
    sides = _sides(folder, masters, chosen, stated_tracks)
    noted = (sides.remark,) if sides.remark else ()
    lines = [
        *_to_confirm(folder, masters, stated, stated_tracks),
        *_release_lines(folder, masters, stated),
        "",
        "deliver_to:  # names of specs; 'delivery spec list' shows all",
        *(f"  - {quoted(name)}" for name in chosen),
        "",
        *map(_remark, (*remarks, *noted)),
        "tracks:",
        *track_lines(masters, artist, stated_tracks, sides),
    ]
    waivers = [f"waivers: {value(stated['waivers'])}"] if stated.get("waivers") else []
    return HEAD + "\n".join([*lines, *waivers]) + "\n" + TAIL, noted


def _to_confirm(
    folder: Path, masters: Sequence[Master], stated: Mapping[str, Any], stated_tracks: Mapping[str, Mapping[str, Any]]
) -> Iterator[str]:
    """Names of values taken from folder and file names; a client's sheet and tags count as statements."""
    by_name = any(master.tag_number is None for master in masters)
    guesses = {
        "title": not agreed(masters, "album"),
        "artist": bool(_artist(masters)) and not agreed(masters, "album_artist", "artist"),
        "artwork": pictures_in(folder)[0] is not None,
        ORDER: len(masters) > 1 and by_name and not stated_tracks,
    }
    names = [key for key, guessed in guesses.items() if guessed and key not in stated]
    if names:
        yield f"{TO_CONFIRM}: {written(names)}  {HINT}"


def _release_lines(folder: Path, masters: Sequence[Master], stated: Mapping[str, Any]) -> Iterator[str]:
    supplied = {
        "title": agreed(masters, "album") or _folder_title(folder),
        "artist": _artist(masters),
        **{key: agreed(masters, key) for key in ("label", "catalogue_number", "p_line", "c_line", "genre")},
        "upc": stored_barcode(_if(is_barcode_length, agreed(masters, "upc"))),
        "release_date": _if(is_iso_date, agreed(masters, "release_date")),
        "original_date": _if(is_iso_date, agreed(masters, "original_date")),
    }
    for key, sentence in RELEASE_HELP.items():
        if key in stated:
            yield f"{key}: {stated[key] if key in (*DATES, 'dated') else value(stated[key])}"
        elif key == "artwork":
            yield from _artwork_lines(folder)
        else:
            yield _pair(key, supplied.get(key, ""), sentence)
    yield f"revision: {value(stated.get('revision', 1))}  # counts the deliveries of this release"
    others = [key for key in stated if key not in (*RELEASE_HELP, "revision", "deliver_to", "waivers", "tracks")]
    yield from (f"{key}: {value(stated[key])}" for key in others)


def _if(fits: Callable[[str], bool], text: str) -> str:
    return text if fits(text) else ""


def _pair(key: str, value: str, sentence: str) -> str:
    """'label: "Ostrelune Records"', or 'label:  # explanation'."""
    if not value:
        return f"{key}:  # {sentence}"
    return f"{key}: {value if key in DATES else quoted(one_line(value))}"


def _remark(text: str) -> str:
    return f"# {one_line(text)}"


def _artist(masters: Sequence[Master]) -> str:
    named = {master.name_guess.artist for master in masters}
    return agreed(masters, "album_artist", "artist") or (named.pop() if len(named) == 1 else "")


def _folder_title(folder: Path) -> str:
    name = one_line(absolute(folder).name)
    return name or "Untitled"


def _artwork_lines(folder: Path) -> Iterator[str]:
    from delivery.intake.artwork import look_at_artwork

    chosen, names = pictures_in(folder)
    if chosen is None:
        found = f"; found: {', '.join(names)}" if names else ""
        yield _pair("artwork", "", one_line(RELEASE_HELP["artwork"] + found))
        return
    try:
        look = look_at_artwork(folder / chosen)
        sentence = f"{look.kind}, {look.width_px} x {look.height_px} px, {look.mode}"
    except Unusable as error:
        sentence = f"found {error.found}"
    yield f"artwork: {quoted(chosen)}  # {one_line(sentence)}"


def _usual(folder: Path) -> Sequence[str]:
    studio = load_studio(folder)
    known = [name for name, _ in spec_names(studio.spec_folders)]
    return studio.default_specs or [name for name in USUAL_SPECS if name in known]


def _sides(
    folder: Path, masters: Sequence[Master], chosen: Sequence[str], stated_tracks: Mapping[str, Mapping[str, Any]]
) -> Proposal:
    """Proposed sides. None if a side is already assigned, or if a spec cannot be found, which is reported when it is
    used."""
    if any("side" in stated for stated in stated_tracks.values()):
        return NOTHING
    folders = (folder, *load_studio(folder).spec_folders)
    specs = []
    for name in chosen:
        try:
            specs.append(load_spec(name, folders))
        except (Unusable, Faulty):
            continue
    return propose(masters, specs)
