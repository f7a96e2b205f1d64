"""Words in titles, by language: the basis of the advice on titles. Pure.

Style guides agree on little more than this; where they differ, a spec decides. Words that one guide lowers
and another capitalises ('over', 'like') are in no list: no advice is better than wrong advice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


LOW: Mapping[str, frozenset[str]] = {
    "en": _words("a an and as but for from nor of or the to at by in with"),
    "fr": _words("de du des la le les et ou un une à au aux en dans sur"),
    "es": _words("de del la el los las y o un una a al en con por para"),
    "it": _words("di del della la il lo i gli le e o un una a al in con"),
    "pt": _words("de do da dos das o a os as e ou um uma em no na com"),
    "de": _words("der die das den dem des und oder ein eine im in am an auf mit von vom zu zum zur für bei"),
    "nl": _words("de het een en of van in op met voor aan"),
    "sv": _words("och en ett i på av för till med den det"),
    "no": _words("og en et i på av for til med den det"),
    "da": _words("og en et i på af for til med den det"),
}
"""Small words that are lower case inside a title. In English the others are capitalised; elsewhere they stay as
written."""

RISING = frozenset(("en",))
"""Languages in which every other word begins with a capital."""

SMALL_OR_LARGE = _words(
    "into onto off on out over up upon via per near past like so yet if is be than till vs v n o down "
    "feat ft featuring von van de la le y"
)
"""In English: adverb here, preposition there, or part of a name."""

AS_WRITTEN = frozenset(("feat", "ft", "featuring"))
"""Advice on guests is given by another rule."""

STANDARD = re.compile(
    r"(?:original|main|album|standard|single|full|explicit|clean|uncensored|dirty) (?:mix|version|edit)"
    r"|original|explicit|clean|album mix|main mix|stereo|full length",
    re.IGNORECASE,
)
"""Labels of the standard version, which needs none."""

VERSION = re.compile(
    r"(?:.*\b)?(?:re-?mix|remaster(?:ed)?|(?:radio|club|extended|single|video|short|long) edit|edit|mix"
    r"|live(?: (?:at|in|from) .+)?|instrumental|acoustic|a cappella|acapella|demo|dub|unplugged|karaoke"
    r"|(?:\w+ )?version|session|sessions|rework|bootleg|bonus track|tv track|sped up|slowed(?: down)?"
    r"|orchestral)(?:\b.*)?",
    re.IGNORECASE,
)

STUDIO = re.compile(
    r"[\s_\-]+[(\[]?(?:(?:final|master(?:ed)?|mastering|mixdown|bounce|print|rough|approved|render|take|rev|revision|ver|v)"
    r"[\s_\-]*)+[0-9]*[)\]]?$|[\s_\-]+(?:mix|v|rev)[\s_\-]?[0-9]+$|[\s_\-]+(?:16|24|32)[\s\-]?bit$|\.(?:wav|aiff?|flac|mp3)$",
    re.IGNORECASE,
)
"""Working names of files that are not song titles: 'final master 2', 'mix 7', '24bit', '.wav'."""

SALES = re.compile(
    r"\b(?:exclusive|brand new|free download|out now|new single|best price|bonus cd|on vinyl|mp3|limited offer)\b",
    re.IGNORECASE,
)
YEAR = re.compile(r"[(\[]\s*(?:19|20)[0-9]{2}\s*[)\]]")
PRICE = re.compile(r"[$€£¥]\s?[0-9]|[0-9]\s?[$€£¥]")
FEATURING = re.compile(
    r"\s*[(\[]?\s*\b(?P<word>feat\.?|ft\.?|featuring|f/)\s+(?P<guest>[^()\[\]]+?)\s*[)\]]?(?=\s*[(\[]|\s*$)",
    re.IGNORECASE,
)
PART = re.compile(
    r"(?P<head>\S.*?)(?P<joint>\s*[,:\-–]?\s*)(?P<open>[(\[]?)\b(?P<word>part|pt|vol|volume)\b\.?\s*"
    r"(?P<number>[0-9]{1,3}|[IVX]{1,5}|one|two|three|four)(?P<close>[)\]]?)(?P<tail>\s*[(\[].*)?",
    re.IGNORECASE,
)

LOOKALIKES = str.maketrans(
    "АВЕЅІЈКМНОРСТУХаеіјорсухѕԁԛԝΑΒΕΖΗΙΚΜΝΟΡΤΥΧον",
    "ABESIJKMHOPCTYXaeijopcyxsdqwABEZHIKMNOPTYXov",
)
"""Cyrillic and Greek letters that look Latin, after Unicode TR 39 (confusables): those found in titles; from memory."""
