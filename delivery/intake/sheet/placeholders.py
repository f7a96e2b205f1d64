"""Placeholder words: 'TBC', 'n/a', 'none', a dash; ditto marks, 'idem', 'see track 1'. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from delivery.intake.sheet.cells import clean
from delivery.intake.sheet.parsed import CellError, Choice

TO_COME = frozenset(
    ("tbc", "tba", "tbd", "t.b.c.", "t.b.a.", "t.b.d.", "to follow", "to come", "to be confirmed", "to be announced",
     "to be defined", "to be determined", "coming soon", "not yet", "folgt", "folgt noch", "wird nachgereicht",
     "a definir", "à définir", "à confirmer", "por confirmar", "por definir", "da definire", "da confermare",
     "a confirmar", "volgt", "未定", "後日")
)  # fmt: skip
NOT_GIVEN = frozenset(
    ("n/a", "n.a.", "n. a.", "n.a", "n\\a", "not applicable", "not available", "k.a.", "k. a.", "keine angabe",
     "entfällt", "sans objet", "no aplica", "non applicabile", "nvt", "n.v.t.", "n.v.t", "該当なし", "不明", "?", "??",
     "???", "-", "--", "---", "‐", "‑", "–", "—", "−", "ー", "/", "//", ".", "..", "...", "…", "_", "x.x.", "(none)",
     "<none>")
)  # fmt: skip
NONE = frozenset(
    ("none", "nil", "null", "nothing", "no one", "nobody", "keine", "keiner", "keins", "kein", "aucun", "aucune",
     "néant", "ninguno", "ninguna", "nenhum", "nenhuma", "nessuno", "nessuna", "geen", "ingen", "inget", "brak",
     "нет", "אין", "ללא", "なし", "無し", "無")
)  # fmt: skip
NOT_KNOWN = frozenset(
    ("na", "unknown", "unbekannt", "inconnu", "desconocido", "missing", "pending", "follows", "xxx", "xx")
)  # fmt: skip
"""Also ordinary words."""
CLEAR, DOUBTFUL = TO_COME | NOT_GIVEN, NONE | NOT_KNOWN
MARKS = frozenset(
    ('"', "''", "'", "“", "”", "„", "″", "〃", "´´", "``", "''''", '""', ",,", '-"-', '- " -', "-''-", '–"–', '—"—',
     "–″–", "-〃-", "↑", "^", "々")
)  # fmt: skip
WORDS = frozenset(
    ("ditto", "dito", "dto.", "dto", "do.", "idem", "ídem", "id.", "ibid", "ibid.", "ibidem", "same", "the same",
     "as above", "same as above", "see above", "like above", "same as before", "same as previous", "s.o.", "s. o.",
     "s.o", "siehe oben", "wie oben", "wie vor", "wie zuvor", "dasselbe", "derselbe", "dieselbe", "dieselben",
     "gleich", "gleiche", "le même", "la même", "les mêmes", "même", "comme ci-dessus", "voir ci-dessus",
     "ci-dessus", "igual", "el mismo", "los mismos", "lo mismo", "mismo", "igual que arriba", "como arriba",
     "o mesmo", "mesmo", "igual acima", "idem acima", "c.s.", "come sopra", "vedi sopra", "lo stesso", "stesso",
     "zie boven", "als boven", "idem dito", "samma", "som ovan", "同上", "同じ", "同", "то же", 'כנ"ל', "כנ״ל", "כנל")
)  # fmt: skip
SIDEWAYS = frozenset(
    ("ditto", "dito", "dto.", "dto", "do.", "idem", "ídem", "id.", "ibid", "ibid.", "same", "the same", "dasselbe",
     "derselbe", "dieselbe", "dieselben", "gleich", "le même", "la même", "les mêmes", "el mismo", "los mismos",
     "o mesmo", "lo stesso")
)  # fmt: skip
"""Those that may repeat the name beside them: 'Composer: Ilse Merrow, lyricist: idem'."""
_HOW = (
    "same as|as per|as on|as in|as|see|see also|like|cf\\.?|ditto|dito|dto\\.?|idem|id\\.|siehe|vgl\\.?|wie|wie bei"
    "|gleich wie|analog|voir|comme|même que|mêmes que|ver|véase|igual que|como|mismo que|vedi|come|zie|als|se|som"
)
_TRACK = (
    "tracks?|songs?|titles?|titel|lied|cut|row|line|zeile|piste|plage|titre|morceau|pista|faixa|canción|tema|brano"
    "|traccia|nummer|spår|spor"
)
REFERENCE = re.compile(
    rf"[(\[]?(?:(?:{_HOW})\s+|(?:[=→]|->)\s*(?={_TRACK})|s\.\s*)(?:in|for|on|at|bei|zu|that of)?\s*"
    rf"(?P<word>{_TRACK})?\s*(?:no\.?|nr\.?|n°|#)?\s*(?P<number>\d{{1,3}}|[a-p]\d{{1,2}})[)\]]?\.?",
    re.IGNORECASE,
)
BY_TITLE = re.compile(rf"(?:{_HOW})\s+(?:(?:{_TRACK})\s+)?[\"'“„«]?(?P<title>.+?)[\"'”“»]?", re.IGNORECASE)
LEFT_OPEN = re.compile(
    rf"[(\[]?(?:(?:see|same as|as on|siehe|wie|gleich wie|voir|comme|ver|igual que|vedi|come|zie)\s+"
    rf"(?:{_TRACK}|above|oben)|same as)\b.*",
    re.IGNORECASE,
)
NAMES_OF_WORKS = ("title", "album")
"""Fields in which any word may be a value, and which a release needs."""
NAMES_OF_ACTS = ("artist", "album_artist")
PLACES = ("recording_country", "territories")
SAY_NONE = ("samples", "explicit", "instrumental", "language")
"""Fields in which 'none' is a statement, handled by their parsers."""


def is_absent(field: str, text: str) -> bool:
    """True if *text* states that *field* has no value.

    Raises
    ------
    CellError : it may be intended as a value
    """
    word = clean(text).casefold()
    if word not in CLEAR and word not in DOUBTFUL:
        return False
    if field in NAMES_OF_WORKS:
        raise CellError(
            "a title",
            f'Ask for the title. If this is the title, write it in quotation marks: "{text}".',
            (Choice(f"the title is {text!r}", text),),
        )
    if field in PLACES and word == "na":
        raise CellError(
            "a country, or an empty cell",
            "Write Namibia, or empty the cell.",
            (Choice("it is not given", None), Choice("Namibia", "NA" if field == "recording_country" else ("NA",))),
        )
    if field in SAY_NONE and word in NONE:
        return False
    if field in NAMES_OF_ACTS and word in DOUBTFUL:
        value = text if field == "album_artist" else (text,)
        raise CellError(
            "a name, or an empty cell",
            f'If there is none, empty the cell; if it is the name, write it in quotation marks: "{text}".',
            (Choice("there is none", None), Choice(f"the name is {text!r}", value)),
        )
    return True


def unquoted(text: str) -> str:
    """A quoted word that would not count as a value without the quotes; empty for all others."""
    found = re.fullmatch(r"[\"“„«](.+)[\"”“»]", clean(text))
    return found[1] if found and (found[1].casefold() in CLEAR | DOUBTFUL or is_ditto(found[1])) else ""


def is_placeholder(text: str) -> bool:
    """True if an entry of a list is a placeholder: '00014107338; -'."""
    return clean(text).casefold() in CLEAR | NONE


def is_ditto(text: str) -> bool:
    """True if *text* stands for the value above, such as 'idem' or a ditto mark."""
    word = clean(text).casefold()
    return word in MARKS or word in WORDS or bool(REFERENCE.fullmatch(word))


def refuse_open(names: Sequence[str]) -> None:
    """Refuse a name that refers to another one and would be printed as a name.

    Raises
    ------
    CellError : one of *names* is such a word
    """
    for name in names:
        if is_ditto(name) or LEFT_OPEN.fullmatch(name):
            raise CellError("names", f"{name!r} refers to another name: write that name.")
