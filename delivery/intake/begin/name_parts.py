"""Parts of a recording's name that are not its title: studio additions, version, guests. Pure.

Common practice, no source: collected from the names of masters and label copy.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

RATES = r"(?:44\.?1?|48|88\.?2?|96|176\.?4|192)"
TECHNICAL = rf"(?:(?:16|24|32)[\s_\-]?bits?|(?:16|24|32)[\-_]?{RATES}(?:k|khz)?|{RATES}\s?(?:k|khz))"
DAY = (
    r"(?:(?:19|20)\d\d[\-._]?(?:0[1-9]|1[0-2])[\-._]?(?:0[1-9]|[12]\d|3[01])"
    r"|(?:0?[1-9]|[12]\d|3[01])[.\-](?:0?[1-9]|1[0-2])[.\-](?:20)?\d\d)"
)
WORD = r"(?:master(?:ed|s|ing)?|mst|final|approved|bounced?|mix ?down|print|export|render)"
COUNTED = rf"(?:{WORD}|mix|take|version|ver\.?|revision|rev\.?|v)[\s_\-]?\d{{1,3}}(?:\.\d{{1,2}})?"
SURE_END = re.compile(rf"[\s_\-–(\[]+(?:{TECHNICAL}|{DAY}|{COUNTED})[)\]]*$", re.IGNORECASE)
WORD_END = re.compile(rf"(?P<before>[\s_\-–(\[]+)(?P<word>{WORD})[)\]]*$", re.IGNORECASE)

SHORT_FOR = {"inst": "Instrumental", "instr": "Instrumental", "inst.": "Instrumental", "instr.": "Instrumental"}
VERSION = re.compile(
    r"(?:.+ )?(?:re-?mix|remaster(?:ed)?(?: \d{4})?|edit|mix|version|rework|dub|vip|session)(?: \d{4})?"
    r"|live(?: (?:at|in|from) .+)?|inst(?:r|rumental)?\.?|acoustic|unplugged|a ?cappella|acapella|karaoke|demo"
    r"|clean|extended|alternate|alternative take|tv track|stripped|orchestral|sped up|slowed(?: down)?",
    re.IGNORECASE,
)
BARE_VERSION = re.compile(
    r"instrumental|a cappella|acapella|karaoke"
    r"|(?:radio|club|extended|single|album|tv|acoustic|instrumental|live|karaoke|clean) (?:edit|mix|version)",
    re.IGNORECASE,
)
"""A version even without brackets or a dash before it."""
DASHED_VERSION = re.compile(
    rf"(?:{BARE_VERSION.pattern})|live(?: (?:at|in|from) .+)?|acoustic|unplugged|demo|remix"
    r"|remaster(?:ed)?(?: \d{4})?|extended|edit",
    re.IGNORECASE,
)
"""A version after a dash, where an artist's name may come before it and a title after it."""
BRACKETS = re.compile(r"(?P<title>.*\S)\s*[(\[](?P<inside>[^()\[\]]+)[)\]]$")
DASH = re.compile(r"(?P<title>.*\S)\s+[\-–]\s+(?P<inside>\S.*)$")
LAST_TWO = re.compile(r"(?P<title>.*\S)\s+(?P<inside>\S+\s+\S+)$")
LAST_WORD = re.compile(r"(?P<title>.*\S)\s+(?P<inside>\S+)$")
GUEST = re.compile(
    r"(?P<title>.*\S)\s*(?:[(\[]\s*(?:feat\.?|ft\.?|featuring)\s+(?P<inside>[^()\[\]]+)[)\]]"
    r"|\s(?:feat\.?|ft\.|featuring)\s+(?P<bare>[^()\[\]]+))$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Parts:
    """A title divided into title, version and guest."""

    title: str
    version: str = ""
    guest: str = ""
    """As written: one name, or several joined."""


def parts_of(text: str) -> Parts:
    """'Low Water feat. Ada (Instrumental) MASTER v2' -> 'Low Water', 'Instrumental', 'Ada'."""
    title, version, guest = without_studio_words(text), "", ""
    bare = without_studio_words(text, doubtful=True)
    if bare != title and (_version(bare)[1] or GUEST.fullmatch(bare)):
        title = bare  # after a version or a guest, 'final' is not part of the title
    for _ in range(2):  # a guest is named before or after the version
        if not version:
            title, version = _version(title)
        found = GUEST.fullmatch(title)
        if found and not guest:
            title, guest = found["title"].strip(" -–"), (found["inside"] or found["bare"]).strip()
    return Parts(title, version, guest)


def without_studio_words(text: str, *, doubtful: bool = False) -> str:
    """*text* without 'MASTER v2', bounce dates, rates, '(final)' at the end, as long as something is left.

    A word that may belong to a title ('Puppet Master', 'The Final') is removed only beside one that certainly does not,
    in brackets, or in capitals if the title has none.

    Parameters
    ----------
    doubtful : remove such a word as well, for comparisons
    """
    left, sure, words = text, doubtful, 0
    while True:
        counted = SURE_END.search(left)
        word = None if counted else WORD_END.search(left)
        found = counted or word
        if not found or not left[: found.start()].strip(" _-–([") or left[: found.start()].strip().isdecimal():
            break
        if word:
            rest = left[: found.start()]
            sure = sure or word["before"][-1] in "([" or (word["word"].isupper() and not rest.isupper())
        sure, words = sure or bool(counted), words + 1
        left = left[: found.start()].rstrip(" _-–([")
    return left if sure or words > 1 else text


def is_studio_word(word: str) -> bool:
    """True for 'master', 'final', 'v2', 'bounce': parts of file names, not of titles."""
    return bool(re.fullmatch(rf"{WORD}|{COUNTED}|{TECHNICAL}", word, re.IGNORECASE))


def version_key(version: str) -> str:
    """'Instrumental Version' and 'Inst.' are one version."""
    words = re.sub(r"[\W_]+", " ", _spelled(version.casefold()).casefold()).split()
    return " ".join(words[:-1] if len(words) > 1 and words[-1] in ("version", "mix", "edit") else words)


def _version(title: str) -> tuple[str, str]:
    kinds = ((BRACKETS, VERSION), (DASH, DASHED_VERSION), (LAST_TWO, BARE_VERSION), (LAST_WORD, BARE_VERSION))
    for pattern, known in kinds:
        found = pattern.fullmatch(title)
        if found and known.fullmatch(found["inside"].strip()):
            return found["title"].strip(" -–_"), _spelled(found["inside"].strip())
    return title, ""


def _spelled(version: str) -> str:
    """Short forms written out, and capitals kept or added."""
    full = SHORT_FOR.get(version.casefold(), version)
    return full.title() if full.isupper() or full.islower() else full
