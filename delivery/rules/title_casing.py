"""Capitals in titles by language; no advice if the language is unknown. Pure.

English: style guides of recipients agree that articles, conjunctions and short prepositions are lower case except
first, last and after - / : ( ; other words are capitalised. Other languages: only small words capitalised in the
English manner are lowered, since nouns and names cannot be distinguished. Common practice, no source.
"""

from __future__ import annotations

import re

from delivery.rules.title_words import AS_WRITTEN, LOW, RISING, SMALL_OR_LARGE

CAPITALS, TURNED = "capitals only", "small and capital letters swapped"
WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")


def recased(text: str, language: str) -> tuple[str, str] | None:
    """The proposal and the rule; None if the capitals are right, intended, or cannot be judged."""
    primary = language.partition("-")[0].lower()
    words = [match for match in WORD.finditer(text) if match[0].upper() != match[0].lower()]
    if not words:
        return None
    flat = _flat(text, words)
    if primary not in LOW:
        return None
    proposed = _set(text.lower() if flat in (CAPITALS, TURNED) else text, primary)
    if proposed == text:
        return None
    return proposed, f"{flat or 'capitals'}: as titles in this language are written"


def _flat(text: str, words: list[re.Match[str]]) -> str:
    """A title of one short word, or of initials, may be intended."""
    letters = "".join(word[0] for word in words)
    if len(letters) >= 5 and letters.isupper() and not all(len(word[0]) <= 3 for word in words):
        return CAPITALS
    if len(letters) >= 5 and all(word[0][0].islower() and word[0][1:].isupper() for word in words if len(word[0]) > 1):
        return TURNED
    return "small letters only" if text == text.lower() and len(letters) >= 2 else ""


def _set(text: str, language: str) -> str:
    words = list(WORD.finditer(text))
    made = text
    for index, match in enumerate(words):
        word = match[0]
        before = text[: match.start()].rstrip(" \"'“‘«¡¿")
        edge = index == 0 or before.endswith(("-", "–", "—", "/", ":", "(", "[", ".", "!", "?"))
        last = index == len(words) - 1 or text[match.end() :].lstrip(" ").startswith((")", "]"))
        made = made[: match.start()] + _word(word, language, edge, last) + made[match.end() :]
    return made


def _word(word: str, language: str, edge: bool, last: bool) -> str:
    low = word.lower()
    if not (word == low or word == word.capitalize() or word[:1].upper() + word[1:].lower() == word):
        return word  # 'iPhone', 'McCrae', 'DJ': intended
    if low in AS_WRITTEN:
        return word
    if edge:
        return word if word[0].isupper() else word[0].upper() + word[1:]
    if low in LOW[language] and not (last and language in RISING):
        return low
    if language not in RISING or low in SMALL_OR_LARGE:
        return word
    return word[0].upper() + word[1:]
