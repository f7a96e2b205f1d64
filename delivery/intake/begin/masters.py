"""Contents of a folder of masters: audio in order, pictures, and the tags of each audio file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath

from delivery.audio.blocks import SoundFacts, sound_facts
from delivery.errors import Unusable
from delivery.formats import containers, isrc_texts, notes, read_tags
from delivery.intake.begin.file_names import Guess, disc_of_folder, guess, natural, shared_end
from delivery.intake.begin.name_parts import is_studio_word
from delivery.intake.yaml.quoting import NO_TEXT

_UNCODED = ("pcm", "float")
LOSSLESS = frozenset((".wave", ".bwf", ".rf64", ".bw64", ".w64", ".aif", ".aifc", ".caf", ".dsf", ".dff")) | {
    container.extension for container in containers().values() if container.codings[0] in _UNCODED
}
LOSSY = frozenset({".mp4", ".ogg"}) | {
    container.extension for container in containers().values() if container.codings[0] not in _UNCODED
}
"""Endings of sound files: of what is written here, and more that are only read or are other names for it."""
PICTURES = frozenset({".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp"})
MANY_TITLES = 4
"""'Low Water' and 'High Water' share a word; when this many titles share one, it is not part of the title."""
SAME_NAME = "because there is a lossless file of the same name"
COVER_WORDS = ("cover", "front", "artwork", "sleeve")


@dataclass(frozen=True, slots=True)
class Master:
    """A master found in a folder, with what its name, tags and header state."""

    name: str
    """Path relative to the folder, with '/' as separator."""
    disc: int | None
    """From the sub-folder, the tags or the file name."""
    name_guess: Guess
    tags: Mapping[str, str] = field(default_factory=dict)
    facts: SoundFacts | None = None
    problem: str = ""
    """Why it cannot be opened."""
    notes: tuple[str, ...] = ()
    """Information in the file besides its tags, for a person to read."""
    isrcs: tuple[tuple[str, str], ...] = ()
    """Tag that holds a recording code, and its text."""

    @property
    def tag_number(self) -> int | None:
        """Track number from the tags; None if there is none."""
        text = self.tags.get("track_number", "").partition("/")[0]
        return int(text) if text.isdecimal() and int(text) > 0 else None


def masters_in(folder: Path) -> tuple[list[Master], list[str]]:
    """Masters by disc and number, and names of listening copies left out because lossless files lie beside them.

    Raises
    ------
    Unusable : not a folder, no audio in it, or a name that is not valid text
    """
    files = list(_sound_files(folder))
    lossless = [file for file in files if file.suffix.lower() in LOSSLESS]
    left_out = [file.relative_to(folder).as_posix() for file in files if file not in lossless] if lossless else []
    masters = [master_of(file, folder) for file in lossless or files]
    if not masters:
        raise Unusable(
            str(folder), "no sound file in this folder", "masters, or folders CD1, CD2 ... of them", _where(folder)
        )
    return _in_order(_without_shared_words(masters)), left_out


def _sound_files(folder: Path) -> Iterator[Path]:
    for file in _entries(folder):
        if file.is_file() and file.suffix.lower() in LOSSLESS | LOSSY:
            yield file
    for inner in _entries(folder):
        if inner.is_dir() and disc_of_folder(inner.name):
            yield from (one for one in _entries(inner) if one.is_file() and one.suffix.lower() in LOSSLESS | LOSSY)


def _entries(folder: Path) -> list[Path]:
    """Everything that is not hidden, in natural order.

    Raises
    ------
    Unusable : no such folder, not readable, or a name that is not valid text
    """
    try:
        entries = [entry for entry in folder.iterdir() if not entry.name.startswith((".", "~", "$"))]
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unusable(str(folder), f"no way to look inside ({reason})", "a folder of masters", "Check it.") from error
    for entry in entries:
        if NO_TEXT.search(entry.name):
            raise Unusable(
                repr(entry.name),
                "a name with characters that are not valid text",
                "a printable name",
                "Rename the file.",
            )
    return sorted(entries, key=lambda entry: (natural(entry.name), entry.name))


def _where(folder: Path) -> str:
    inside = [entry.name for entry in _entries(folder) if entry.is_dir() and any(_sound_files(entry))]
    return f"There is sound in {inside[0]!r}: name that folder." if inside else "Name the folder of the masters."


def master_of(file: Path, folder: Path) -> Master:
    """Values from the header, tags and name of one file; *folder* is the base of its relative name."""
    name, name_guess = file.relative_to(folder).as_posix(), guess(file.stem)
    disc = disc_of_folder(file.parent.name) if file.parent != folder else name_guess.disc
    try:
        facts = sound_facts(file)
        known = facts.container in containers()
        tags, chunk_notes = (read_tags(file, facts.container), notes(file)) if known else ({}, ())
        isrcs = isrc_texts(file, facts.container) if known else ()
    except Unusable as error:
        return Master(name, disc, name_guess, problem=error.found)
    tagged = tags.get("disc_number", "").partition("/")[0]
    if disc is None and tagged.isdecimal() and int(tagged) > 0:
        disc = int(tagged)
    return Master(name, disc, name_guess, tags, facts, notes=chunk_notes, isrcs=isrcs)


def unopened(masters: Iterable[Master]) -> tuple[str, ...]:
    """A sentence for each master of which only the name is known."""
    return tuple(
        f"{master.name} does not open ({master.problem}): its tags and length are not known."
        for master in masters
        if master.problem
    )


def copies_left_out(masters: Iterable[Master], left_out: Iterable[str]) -> tuple[list[str], tuple[str, ...]]:
    """Comments for the release file on the copies that are no masters, and a remark on each that may be a lost song."""
    named = {PurePosixPath(master.name).stem.casefold() for master in masters}
    names = list(left_out)
    alone = [name for name in names if PurePosixPath(name).stem.casefold() not in named]
    comments = [
        f"left out, {'though no lossless file has its name' if name in alone else SAME_NAME}: {name}" for name in names
    ]
    remedy = "If it is a song of the release, ask for its master."
    return comments, tuple(f"{name} is left out: no lossless file has its name. {remedy}" for name in alone)


def _without_shared_words(masters: list[Master]) -> list[Master]:
    """'01 Low Water master', '02 Lamps master': a word shared by all names is a studio habit, not part of a title."""
    titles_here = list(dict.fromkeys(master.name_guess.title for master in masters))
    many = shared_end(titles_here)
    few = len(titles_here) < MANY_TITLES
    if not many or (few and not all(map(is_studio_word, titles_here[0].split()[-many:]))):
        return masters
    titles = (" ".join(master.name_guess.title.split()[:-many]).rstrip(" -_") for master in masters)
    return [
        replace(master, name_guess=replace(master.name_guess, title=title or master.name_guess.title))
        for master, title in zip(masters, titles, strict=True)
    ]


def _in_order(masters: list[Master]) -> list[Master]:
    """By disc; within a disc by track numbers in the tags if all files have a unique one, else by name."""
    ordered: list[Master] = []
    for disc in sorted({master.disc or 1 for master in masters}):
        here = [master for master in masters if (master.disc or 1) == disc]
        numbers = [master.tag_number for master in here]
        if None not in numbers and len(set(numbers)) == len(here):
            here.sort(key=lambda master: master.tag_number or 0)
        ordered += here
    return ordered


def pictures_in(folder: Path) -> tuple[str | None, list[str]]:
    """The picture to propose as cover (the only one, or the only one named so), and all pictures in the folder."""
    names = [entry.name for entry in _entries(folder) if entry.is_file() and entry.suffix.lower() in PICTURES]
    called = [name for name in names if any(word in name.casefold() for word in COVER_WORDS)]
    candidates = names if len(names) == 1 else called
    return (candidates[0] if len(candidates) == 1 else None), names


def agreed(masters: Iterable[Master], *fields: str) -> str:
    """The text on which all tagged files agree in the first of *fields* where they do; empty if there is none."""
    tagged = [master.tags for master in masters if master.tags]
    for name in fields:
        texts = {tags.get(name, "").strip() for tags in tagged}
        if len(texts) == 1:
            only = texts.pop()
            if only:
                return only
    return ""
