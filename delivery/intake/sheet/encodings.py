"""Text from bytes: valid Unicode as such; of older encodings the one that gives plausible words. Pure."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from delivery.errors import Unusable

MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
OLDER = {
    "cp1252": "Windows-1252", "mac_roman": "Mac OS Roman", "cp932": "Shift JIS", "cp1250": "Windows-1250",
    "cp1251": "Windows-1251", "cp1253": "Windows-1253", "cp1255": "Windows-1255",
}  # fmt: skip
"""As spreadsheet programs save 'CSV' in Western Europe, on older Macs, in Japan, in Central Europe, and for Cyrillic,
Greek and Hebrew. The first is the default."""
CLEARER = 1.0
"""Minimum lead over the next best encoding."""
UNREADABLE = 0.9
"""Cost per non-ASCII letter above which no reading is plausible."""
COMMON = frozenset("éèêëàâäáãåçùûüúîïíìôöóòõøßæñœÉÈÊÀÂÄÁÃÅÇÜÚÎÍÔÖÓÕØÆÑŒ")
SIGNS = frozenset("©®™℗°€£¿¡«»„‚‹›“”‘’–—…·×&№・「」『』（）〜～、。！？：；，．／＆　\u00a0")
FEW_BEFORE = frozenset("lLdDjJcCnNsStTmMuUoOiI'")
"""Letters often followed by an apostrophe."""
FEW_AFTER = frozenset("stmdlrvn")


@dataclass(frozen=True, slots=True)
class Reading:
    """A text as decoded by one codec, and its cost: the lower, the likelier."""

    codec: str
    text: str
    cost: float


def decoded(content: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    """UTF-8 or UTF-16 by mark, UTF-8 by form, else the most plausible older encoding, with a remark.

    Raises
    ------
    Unusable : bytes that are invalid, or implausible, in all of these
    """
    for mark, encoding in MARKS:
        if content.startswith(mark):
            try:
                return content.decode(encoding), ()
            except UnicodeDecodeError as error:
                raise _no_text(name) from error
    if b"\0" in content:
        raise _no_text(name)
    try:
        return content.decode("utf-8"), ()
    except UnicodeDecodeError:
        return _older(content, name)


def _older(content: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    readings = [reading for codec in OLDER if (reading := _read(content, codec))]
    if not readings:
        raise _no_text(name)
    readings.sort(key=lambda reading: (reading.cost, reading.codec != "cp1252"))
    chosen, *others = readings
    beyond = sum(not character.isascii() for character in chosen.text)
    if chosen.cost > UNREADABLE * beyond:
        raise Unusable(
            name,
            f"accents that make no words in any encoding ({_sample(chosen.text)!r})",
            "a CSV file in UTF-8, or XLSX",
            "Save it again as 'CSV UTF-8' or XLSX.",
        )
    doubt = next((other for other in others if other.cost - chosen.cost < CLEARER), None)
    if doubt and chosen.codec != "cp1252":
        raise Unusable(
            f"{name} line {_line(chosen.text)}",
            f"{_sample(chosen.text)!r} ({OLDER[chosen.codec]}) or {_sample(doubt.text)!r} ({OLDER[doubt.codec]})",
            "text in one encoding",
            "Open it in the program it was made with and save it as 'CSV UTF-8' or XLSX.",
        )
    close = f", not {_sample(others[0].text)!r} as {OLDER[others[0].codec]}" if others else ""
    read_as = f"{OLDER[chosen.codec]}: {_sample(chosen.text)!r}{close}"
    return chosen.text, (f"{name} is not UTF-8; it is read as {read_as}. Check the accents.",)


def _line(text: str) -> int:
    found = re.search(r"[^\x00-\x7f]", text)
    return text.count("\n", 0, found.start() if found else 0) + 1


def _read(content: bytes, codec: str) -> Reading | None:
    try:
        text = content.decode(codec)
    except UnicodeDecodeError:
        return None
    return Reading(codec, text, cost(text))


def cost(text: str) -> float:
    """How implausible the non-ASCII characters are as text; 0 if all are as in words."""
    total = 0.0
    for found in re.finditer(r"[^\x00-\x7f]", text):
        at = found.start()
        total += _cost(text[at - 1] if at else " ", found[0], text[at + 1] if at + 1 < len(text) else " ")
    return total


def _cost(before: str, character: str, after: str) -> float:
    if character in "ºª":
        return 0.0 if before in "nN" or before.isdecimal() else 2.0
    if not character.isalpha():
        return _cost_of_sign(before, character, after)
    cased = 2.0 if character.isupper() and before.isalpha() and before.islower() else 0.0
    if character in COMMON:
        return cased + (1.0 if not before.isascii() and before.isalpha() else 0.0)
    if unicodedata.name(character, "").startswith("LATIN"):
        lone = 1.0 if not before.isalpha() and not after.isalpha() else 0.0
        odd = 2.0 if character in "ƒıﬁﬂ" else 0.5
        return cased + lone + odd + (1.0 if not before.isascii() and before.isalpha() else 0.0)
    beside_ascii = any(one.isascii() and one.isalpha() for one in (before, after))
    final_inside = character == "ς" and after.isalpha()
    half_width = "\uff61" <= character <= "\uff9f"
    lone = not before.isalpha() and not after.isalpha() and not _east_asian(character)
    small = character.islower() and before in ',;\t\n"'
    odd = beside_ascii + final_inside + (character in "ΰΐ")
    return cased + 2.0 * odd + 1.0 * (half_width + lone) + 0.5 * small


def _cost_of_sign(before: str, character: str, after: str) -> float:
    inside = before.isalpha() and after.isalpha()
    if character == "’" and inside:
        return 0.0 if before in FEW_BEFORE or after in FEW_AFTER else 0.5
    if character == "…" and after.isalpha():
        return 1.5
    if character in "£€" and after.isalpha():
        return 1.5
    if character in SIGNS:
        return 1.5 if inside and character in "–—°«»„‚‹›“”©®™·×¿¡€£№" and not _east_asian(before) else 0.0
    if unicodedata.category(character) in ("Cc", "Cn", "Co", "Mn"):
        return 3.0
    return 2.0 if before.isalpha() or after.isalpha() else 1.0


def _east_asian(character: str) -> bool:
    return unicodedata.east_asian_width(character) in "WF"


def _sample(text: str) -> str:
    """The first non-ASCII word with its surroundings."""
    found = re.search(r"[^\s,;|\"]*[^\x00-\x7f][^\s,;|\"]*", text)
    return found[0][:24] if found else ""


def _no_text(name: str) -> Unusable:
    return Unusable(
        name, "bytes that are no text", "a CSV file in UTF-8, or XLSX", "Save it again as 'CSV UTF-8' or XLSX."
    )
