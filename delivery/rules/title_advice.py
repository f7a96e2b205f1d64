"""Advice on titles and names: the text, the usual spelling in the trade, and the rule; never an instruction. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from delivery.rules.title_casing import recased
from delivery.rules.title_words import (
    FEATURING,
    LOOKALIKES,
    PART,
    PRICE,
    SALES,
    STANDARD,
    STUDIO,
    VERSION,
    YEAR,
)

PROFESSIONALLY = re.compile(r"\s*\b(?:p/?k/?a|a/?k/?a)\b", re.IGNORECASE)
"""Before a stage name: 'Ilse Merrow p/k/a Merrow', professionally or also known as."""
PAIRS = {"(": ")", "[": "]", "{": "}", "«": "»", "“": "”"}


@dataclass(frozen=True, slots=True)
class Advice:
    """Advice on the spelling of a title."""

    old: str
    proposed: str
    """Empty: a person must decide."""
    rule: str

    def __str__(self) -> str:
        to = f"{self.old!r} -> {self.proposed!r}" if self.proposed else repr(self.old)
        return f"{to}: {self.rule}"


Look = Callable[[str], tuple[str, str] | None]
"""A text -> the proposal and the rule, or None if there is no advice."""


def about_text(text: str) -> Iterator[Advice]:
    """Advice for any text of label copy, titles and names alike."""
    for look in (_blanks, _lookalikes, _emoji, _brackets, _quotes, _underscores):
        if found := look(text):
            yield Advice(text, *found)


def about_title(title: str, language: str) -> Iterator[Advice]:
    """Advice for titles, except featuring, on which recipients differ."""
    yield from about_text(title)
    looks: tuple[Look, ...] = (_studio, _parts, _sales, lambda text: recased(text, language))
    for look in looks:
        if found := look(title):
            yield Advice(title, *found)


def about_version_in_title(title: str, version: str) -> Iterator[Advice]:
    """'Low Water (Radio Edit)': the version has its own field; the standard version has no label."""
    found = re.fullmatch(r"(?P<title>\S.*?)\s*(?:[(\[](?P<label>[^()\[\]]+)[)\]]|\s[-–]\s(?P<after>[^()\[\]]+))", title)
    label = (found["label"] or found["after"] or "").strip() if found else ""
    if not found or FEATURING.fullmatch(f" {label}"):
        return
    if STANDARD.fullmatch(label):
        yield Advice(title, found["title"], "the standard version carries no label")
    elif VERSION.fullmatch(label) and not STUDIO.search(f" {label}"):
        if version:
            yield Advice(title, found["title"], f"the version has a field of its own, which has {version!r}")
        else:
            yield Advice(title, found["title"], f"the version has a field of its own: version: {label!r}")


def about_version(version: str) -> Iterator[Advice]:
    """Advice on the spelling of a version."""
    yield from about_text(version)
    if STANDARD.fullmatch(version.strip()):
        yield Advice(version, "", "the standard version carries no label: leave the version out")
    if re.fullmatch(r"[(\[].*[)\]]", version.strip()):
        yield Advice(version, version.strip()[1:-1], "brackets are put around the version where it is shown")


def about_featuring(title: str, guests: tuple[str, ...], wanted: str) -> Iterator[Advice]:
    """*wanted*: 'role' (credits, never the title), 'title' ('Title (feat. A & B)'), or 'any'."""
    found = FEATURING.search(title)
    if wanted == "role" and found:
        bare = " ".join(f"{title[: found.start()]} {title[found.end() :]}".split())
        yield Advice(title, bare, f"guests are credited by their role: {{name: {found['guest']}, role: featured}}")
    elif wanted == "title":
        yield from _in_title(title, guests, found)


def about_person(name: str) -> Iterator[Advice]:
    """Advice for composers and lyricists: legal names, one person per entry."""
    yield from about_text(name)
    bare = PROFESSIONALLY.sub(" ", name)
    if FEATURING.search(bare) or re.search(r"\s(?:&|and|und)\s|[/;]", bare):
        yield Advice(name, "", "one person an entry")
    elif bare != name:
        yield Advice(name, PROFESSIONALLY.split(name)[0], "the legal name alone")


def _in_title(title: str, guests: tuple[str, ...], found: re.Match[str] | None) -> Iterator[Advice]:
    names = " & ".join([", ".join(guests[:-1]), guests[-1]] if len(guests) > 1 else guests)
    rule = "guests follow the title as (feat. ...)"
    if found is None and guests:
        yield Advice(title, f"{title} (feat. {names})", rule)
    elif found and not re.fullmatch(r"\s*\(feat\. [^()]+\)", found[0]):
        proposed = f"{title[: found.start()]} (feat. {found['guest']}) {title[found.end() :]}"
        yield Advice(title, " ".join(proposed.split()), rule)


def _blanks(text: str) -> tuple[str, str] | None:
    tidy = " ".join(text.split())
    return (tidy, "one blank between words, none at the ends") if tidy != text else None


def _lookalikes(text: str) -> tuple[str, str] | None:
    """A word that mixes Latin with look-alike letters."""
    words = re.findall(r"\w+", text)
    mixed = [word for word in words if _scripts(word) > {"LATIN"} and _scripts(word.translate(LOOKALIKES)) == {"LATIN"}]
    whole = text
    for word in mixed:
        whole = whole.replace(word, word.translate(LOOKALIKES))
    strange = [c for word in mixed for c in word if c != c.translate(LOOKALIKES)]
    names = ", ".join(dict.fromkeys(unicodedata.name(c, f"U+{ord(c):04X}").lower() for c in strange))
    return (whole, f"letters that only look Latin ({names})") if mixed else None


def _scripts(word: str) -> set[str]:
    return {unicodedata.name(c, "? ").split()[0] for c in word if c.isalpha()}


def _emoji(text: str) -> tuple[str, str] | None:
    pictures = [c for c in text if "\U0001f000" <= c <= "\U0001faff" or "\u2600" <= c <= "\u27bf" or c == "\ufe0f"]
    if not pictures:
        return None
    bare = " ".join("".join(c for c in text if c not in {*pictures, "\u200d"}).split())
    return bare, "no pictures in titles and names"


def _brackets(text: str) -> tuple[str, str] | None:
    open_ones: list[str] = []
    for c in text:
        if c in PAIRS:
            open_ones.append(PAIRS[c])
        elif c in PAIRS.values() and (not open_ones or open_ones.pop() != c):
            return "", f"a bracket or quotation mark {c} that was never opened"
    return ("", f"a bracket or quotation mark that is never closed: {open_ones[-1]} is missing") if open_ones else None


def _quotes(text: str) -> tuple[str, str] | None:
    if re.search(r"\w[`´]\w", text):
        return re.sub(r"(?<=\w)[`´](?=\w)", "'", text), "an apostrophe, not an accent"
    if re.search(r"\w'\w", text) and re.search(r"\w’\w", text):
        return text.replace("’", "'"), "one kind of apostrophe"
    quoted = re.fullmatch(r"[\"“„«](?P<inside>[^\"“”„«»]+)[\"”“»]", text)
    return (quoted["inside"], "no quotation marks around a whole title") if quoted else None


def _underscores(text: str) -> tuple[str, str] | None:
    return (" ".join(text.replace("_", " ").split()), "blanks between words") if "_" in text.strip("_") else None


def _studio(text: str) -> tuple[str, str] | None:
    bare = text
    while (shorter := STUDIO.sub("", bare).strip(" _-")) != bare and shorter:
        bare = shorter
    return (bare, "a working name from the studio, not part of a title") if bare != text.strip(" _-") else None


def _parts(text: str) -> tuple[str, str] | None:
    found = PART.fullmatch(text)
    if not found or bool(found["open"]) != bool(found["close"]):
        return None
    word = "Pt." if found["word"].lower().startswith("p") else "Vol."
    numbers = {"one": "1", "two": "2", "three": "3", "four": "4"}
    number = numbers.get(found["number"].lower(), found["number"].upper())
    proposed = f"{found['head'].rstrip(' ,:-–')}, {word} {number}{found['tail'] or ''}"
    return (proposed, f"a comma and '{word}' before the number") if proposed != text else None


def _sales(text: str) -> tuple[str, str] | None:
    for pattern, what in ((SALES, "advertising and formats"), (YEAR, "years"), (PRICE, "prices")):
        if pattern.search(text):
            return "", f"{what} do not belong in a title"
    return None
