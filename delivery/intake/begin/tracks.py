"""Tracks of a first release file: values from tags and file names filled in, missing ones explained."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from delivery.intake.begin.codes_found import to_choose
from delivery.intake.begin.file_names import Guess
from delivery.intake.begin.masters import Master
from delivery.intake.begin.sides import NOTHING, Proposal
from delivery.intake.release.confirm import KEY as TO_CONFIRM
from delivery.intake.release.confirm import written
from delivery.intake.yaml.quoting import one_line, quoted, value
from delivery.intake.yaml.schema_formats import is_isrc_length, is_language, stored_isrc
from delivery.model.fields import FIELDS
from delivery.model.fields.row import NOT_IN_FILE
from delivery.model.label_copy import ROUTES
from delivery.tags.values import JOINT

TRACK_HELP = {
    "version": "only if it is not the standard one, such as Radio Edit",
    "artists": "only if not the release's artist: - a name, or - {name: ..., role: featured}",
    "isrc": "12 letters and digits, hyphens allowed",
    "explicit": "explicit, clean (a version without the words) or no",
    "composers": 'legal names: ["...", "..."]',
    "lyricists": "legal names",
    "language": "of the lyrics: en, de, ja ...",
    "instrumental": "true if there is no singing or speech",
    "gap_before_s": "silence before this track in seconds; 0: it continues from the track before",
}
FURTHER = (
    *dict.fromkeys(
        field.key
        for field in FIELDS.values()
        if not field.of_release
        and field.key not in (*TRACK_HELP, "title", "number", "disc", "isni", *ROUTES, NOT_IN_FILE)
    ),
    *("band", "index_1", "index_points", "mono_as", "copy_permitted", "pre_emphasis", "cd_text", "sections"),
    "version_of",
)
"""Further keys of a track; specs/release.schema.json explains each."""
NO_WORDS = "zxx"
"""ISO 639-2: no linguistic content."""
ALWAYS_LISTED = ("isrc", "explicit", "composers")
"""Written for every track, since most recipients require them; other keys are explained on the first track only."""

Place = tuple[int | None, int | None]
"""Disc and number worth writing; None if counting gives the same."""


def track_lines(
    masters: Sequence[Master],
    release_artist: str,
    keys: Mapping[str, Mapping[str, Any]] = MappingProxyType({}),
    sides: Proposal = NOTHING,
) -> Iterator[str]:
    """YAML lines of the tracks, in the order of *masters*; values in *keys* take precedence over tags and names."""
    places = stated_places([keys.get(master.name, {}) for master in masters]) if keys else _named_places(masters)
    for index, (master, place) in enumerate(zip(masters, places, strict=True)):
        own = keys.get(master.name, {})
        title = own.get("title") or _title(master, masters)
        yield from lines_of(master, place, release_artist, own, title, letter=sides.letter(index), teach=index == 0)


def lines_of(
    master: Master,
    place: Place,
    release_artist: str,
    keys: Mapping[str, Any],
    title: str,
    *,
    letter: str = "",
    teach: bool = False,
) -> Iterator[str]:
    """One track, as lines of a list indented by two.

    Parameters
    ----------
    letter : letter of the side proposed to begin with it
    teach : explain the keys it does not use
    """
    disc, number = place
    yield f"  # {one_line(_described(master))}"
    yield from (f"  # {one_line(note)}" for note in master.notes)
    yield f"  - file: {quoted(master.name)}"
    yield f"    title: {quoted(one_line(str(title)))}"
    placed = {"disc": disc, "number": number, "side": letter}
    yield from (f"    {key}: {data}" for key, data in placed.items() if data)
    yield from _track_fields(master, release_artist, keys, teach=teach)
    if guesses := _guessed(master, release_artist, keys, {key for key, data in placed.items() if data}):
        yield f"    {TO_CONFIRM}: {written(guesses)}"
    if teach:
        yield f"    # further keys: {', '.join(FURTHER)}"


def _named_places(masters: Sequence[Master]) -> list[Place]:
    many_discs = len({master.disc or 1 for master in masters}) > 1
    stated = _stated_numbers(masters)
    return [
        (
            (master.disc or 1)
            if many_discs and (index == 0 or (masters[index - 1].disc or 1) != (master.disc or 1))
            else None,
            stated[index],
        )
        for index, master in enumerate(masters)
    ]


def stated_places(tracks: Sequence[Mapping[str, Any]]) -> list[Place]:
    """Stated disc and number of *tracks*, in order."""
    places: list[Place] = []
    last = (1, 0)
    for own in tracks:
        disc = int(own.get("disc") or last[0])
        counted = last[1] + 1 if disc == last[0] else 1
        number = int(own.get("number") or counted)
        places.append((disc if disc != last[0] else None, number if number != counted else None))
        last = (disc, number)
    return places


def _title(master: Master, masters: Sequence[Master]) -> str:
    """Title from the tag; else from the file name without its number, if that is certain or all files have one."""
    tagged, own = one_line(master.tags.get("title", "")), master.name_guess
    if tagged or own.number is None:
        return tagged or own.title
    return own.title if own.sure or _all_numbered(masters) else f"{own.number} {own.title}"


def _all_numbered(masters: Sequence[Master]) -> bool:
    return len(masters) > 1 and all(master.name_guess.number for master in masters)


def _stated_numbers(masters: Sequence[Master]) -> list[int | None]:
    """Numbers worth writing: those that rise on their disc and differ from plain counting."""
    stated: list[int | None] = []
    last_disc, last, believed = 1, 0, _all_numbered(masters)
    for master in masters:
        disc = master.disc or 1
        last = last if disc == last_disc else 0
        named = master.tag_number or (master.name_guess.number if master.name_guess.sure or believed else None)
        jumps = named is not None and last + 1 < named <= 999
        stated.append(named if jumps else None)
        last_disc, last = disc, named if jumps and named else last + 1
    return stated


def _track_fields(master: Master, release_artist: str, keys: Mapping[str, Any], teach: bool) -> Iterator[str]:
    supplied = _supplied(master, release_artist)
    if keys:
        known = {key: value(data) for key, data in keys.items() if key not in ("title", "disc", "number", "file")}
        if {"writers", "composers", "lyricists"} & set(known):
            supplied.pop("composers", None), supplied.pop("lyricists", None)
        supplied = {**supplied, **known}
    choices = [] if "isrc" in keys else _codes(master)
    if choices:
        supplied.pop("isrc", None)
    for key, meaning in TRACK_HELP.items():
        if key == "isrc" and choices:
            yield "    isrc:  # the master carries several codes; write the right one here:"
            yield from (f"    #   {one_line(choice)}" for choice in choices)
        elif key in supplied:
            yield f"    {key}: {supplied[key]}"
        elif teach:
            yield f"    {key}:  # {meaning}"
        elif key in ALWAYS_LISTED and not (key == "composers" and "writers" in supplied):
            yield f"    {key}:"
    yield from (f"    {key}: {text}" for key, text in supplied.items() if key not in TRACK_HELP)


def _supplied(master: Master, release_artist: str) -> dict[str, str]:
    """Keys and YAML values from tags and file name of one track."""
    tags = {key: one_line(text) for key, text in master.tags.items()}
    language = tags.get("language", "")
    isrc = next((code for code in (tags.get("isrc", ""), master.name_guess.isrc) if is_isrc_length(code)), "")
    version = tags.get("version") or ("" if tags.get("title") else master.name_guess.version)
    found = {
        "version": quoted(version) if version else "",
        "artists": _artists(tags, master.name_guess, release_artist),
        "isrc": quoted(stored_isrc(isrc)) if isrc else "",
        "explicit": tags.get("explicit", "") if tags.get("explicit") in ("explicit", "clean", "no") else "",
        "composers": _names(tags.get("composers", "")),
        "lyricists": _names(tags.get("lyricists", "")),
        "language": language if language != NO_WORDS and is_language(language) else "",
        "instrumental": "true" if language == NO_WORDS else "",
    }
    return {key: value for key, value in found.items() if value}


def _codes(master: Master) -> list[str]:
    """Recording codes to choose from, if a master carries several."""
    return to_choose(
        [*((f"{column} tag", text) for column, text in master.isrcs), ("file name", master.name_guess.isrc)]
    )


def _artists(tags: Mapping[str, str], named: Guess, release_artist: str) -> str:
    """Artists as YAML; empty if it is the release's artist alone."""
    artist = tags.get("artist") or named.artist
    main = [quoted(artist)] if artist and artist != release_artist else []
    guest = "" if tags.get("title") else named.guest
    guests = [f"{{name: {quoted(guest)}, role: featured}}"] if guest else []
    return f"[{', '.join([*main, *guests])}]" if main or guests else ""


def _guessed(master: Master, release_artist: str, keys: Mapping[str, Any], placed: set[str]) -> list[str]:
    """Keys whose values come from the file's name or folder, or are proposed. Tags count as stated."""
    named, tags = master.name_guess, master.tags
    untitled = not one_line(tags.get("title", ""))
    artist = "" if tags.get("artist") else named.artist
    guesses = {
        "title": untitled,
        "version": untitled and bool(named.version) and not tags.get("version"),
        "artists": (bool(artist) and artist != release_artist) or (untitled and bool(named.guest)),
        "isrc": is_isrc_length(named.isrc)
        and not is_isrc_length(one_line(tags.get("isrc", "")))
        and not _codes(master),
        "disc": "disc" in placed and (named.disc is not None or "/" in master.name),
        "number": "number" in placed and master.tag_number is None,
        "side": "side" in placed,
    }
    return [key for key, guessed in guesses.items() if guessed and (key not in keys or key == "side")]


def _names(text: str) -> str:
    names = [name.strip() for name in text.split(JOINT.strip()) if name.strip()]
    return f"[{', '.join(map(quoted, names))}]" if names else ""


def _described(master: Master) -> str:
    """'3:45.120, 44.1 kHz, 24 bit, 2 channels', or why it does not open."""
    facts = master.facts
    if facts is None:
        return f"does not open: {master.problem}"
    minutes, seconds = divmod(round(facts.duration_s, 3), 60)
    depth = facts.coding if facts.bits is None else f"{facts.bits} bit"
    channels = f"{facts.channels} channel{'' if facts.channels == 1 else 's'}"
    return f"{int(minutes)}:{seconds:06.3f}, {facts.rate_hz / 1000:g} kHz, {depth}, {channels}"
