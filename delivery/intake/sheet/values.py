"""A cell becomes a value, or a fault that quotes it. Pure. Only provable damage is repaired, with a remark."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from delivery.intake.sheet.cells import Cell, clean
from delivery.intake.sheet.codes import read_ipi, read_isrc, read_iswc, read_upc
from delivery.intake.sheet.isni import read_isni
from delivery.intake.sheet.names import KINDS, names_in, split_list
from delivery.intake.sheet.parsed import CellError, Choice, Parsed
from delivery.intake.sheet.placeholders import NONE, is_absent, unquoted
from delivery.intake.sheet.positions import read_number, read_side
from delivery.intake.sheet.times import read_date, read_duration, read_gap, read_length, read_whole, read_year
from delivery.intake.yaml.schema_formats import WORLD, is_country, is_language, language_named
from delivery.model.label_copy import ROUTES

Reader = Callable[[Cell], Parsed]

YES = frozenset(
    ["yes", "y", "x", "true", "1", "ja", "j", "oui", "o", "si", "sí", "s", "sim", "はい", "✓", "✔", "explicit", "e"]
)
NO = frozenset(["no", "n", "false", "0", "nein", "non", "nao", "não", "not", "いいえ", *NONE])
EXPLICIT = {
    **dict.fromkeys(YES, "explicit"),
    **dict.fromkeys(NO, "no"),
    **dict.fromkeys(("explizit", "explicite", "explícito", "explicito", "esplicito", "expliciet"), "explicit"),
    **dict.fromkeys(("clean", "cleaned", "edited", "radio", "censored", "zensiert"), "clean"),
    **dict.fromkeys(("not explicit", "non explicit", "non-explicit", "nicht explizit", "clean/no"), "no"),
}
LANGUAGES = {
    "deutsch": "de", "français": "fr", "francais": "fr", "español": "es", "espanol": "es", "italiano": "it",
    "português": "pt", "portugues": "pt", "nederlands": "nl", "svenska": "sv", "norsk": "no", "dansk": "da",
    "suomi": "fi", "polski": "pl", "englisch": "en", "anglais": "en", "inglés": "en", "ingles": "en", "inglese": "en",
    "inglês": "en", "engels": "en", "engelska": "en", "engelsk": "en", "französisch": "fr", "spanisch": "es",
    "japanisch": "ja", "日本語": "ja", "allemand": "de", "japonais": "ja", "中文": "zh", "한국어": "ko",
    "русский": "ru", "ελληνικά": "el", "العربية": "ar", "עברית": "he", "norwegian": "no", "greek": "el",
}  # fmt: skip
WORDLESS = frozenset(("instrumental", "no lyrics", "no language", "no words", "ohne text", "sans paroles", "zxx"))


def read_text(cell: Cell) -> Parsed:
    """A date in a text column may once have been '1/2' or 'May 5': which one is no longer known."""
    if isinstance(cell.value, (date, datetime, time, timedelta)):
        kind = "date" if isinstance(cell.value, date) else "time"
        raise CellError(
            "the text itself", f"A spreadsheet made a {kind} of it: format the cell as text and type it again."
        )
    if isinstance(cell.value, bool):
        raise CellError("a text", "Format the cell as text and type it again.")
    return Parsed(cell.text)


def read_names(cell: Cell, field: str, acts: Collection[str] = ()) -> Parsed:
    """The names in *cell*, split as usual for the kind of people in *field*."""
    read_text(cell)
    if cell.text in acts:
        return Parsed((cell.text,))
    return names_in(cell, KINDS[field])


def read_list(cell: Cell) -> Parsed:
    """Ids of specs, separated by ';', ',' or lines."""
    read_text(cell)
    return Parsed(tuple(part.strip() for one in split_list(cell) for part in one.split(",") if part.strip()))


def read_explicit(cell: Cell) -> Parsed:
    """Explicit, clean or no. Raises CellError for anything else."""
    found = EXPLICIT.get(clean(cell.text).casefold())
    if found is None:
        raise CellError("explicit, clean or no", "Ask which of the three it is.")
    return Parsed(found)


def read_yes(cell: Cell) -> Parsed:
    """A yes or no. Raises CellError for anything else."""
    text = clean(cell.text).casefold()
    if text in YES or text == "instrumental":
        return Parsed(True)
    if text in NO or text in ("vocal", "vocals"):
        return Parsed(False)
    raise CellError("yes or no", "Write one of them.")


def read_language(cell: Cell) -> Parsed:
    """A code, or a name in English or in the language itself; an instrumental has none."""
    text = read_text(cell).value
    if text.casefold() in WORDLESS:
        return Parsed("zxx")
    if text.casefold() in NONE:
        choices = (Choice("it has no words: an instrumental", "zxx"), Choice("the language is not given", None))
        raise CellError(
            "a language, or 'instrumental'",
            "Write 'instrumental' if there is no singing; otherwise empty the cell.",
            choices,
        )
    if re.fullmatch(r"[A-Za-z]{2,3}(-\w+)*", text) and is_language(text):
        return Parsed(text)
    if text.casefold() in LANGUAGES:
        return Parsed(LANGUAGES[text.casefold()])
    found = language_named(text)
    if found is None:
        raise CellError("a language of ISO 639, such as en or Portuguese", "Write its code or its English name.")
    return Parsed(found[0])


def read_country(cell: Cell) -> Parsed:
    """A country as its two letters (ISO 3166-1). Raises CellError if there is no such country."""
    import pycountry

    text = read_text(cell).value
    if text.upper() in ("UK", "U.K."):
        return Parsed("GB", f"{cell.place} has {text}, which is GB in ISO 3166-1")
    if is_country(text.upper()):
        return Parsed(text.upper())
    try:
        return Parsed(pycountry.countries.lookup(text).alpha_2)
    except LookupError:
        raise CellError(
            "a country of ISO 3166-1, such as PT or Japan", "Write two letters or its English name."
        ) from None


def read_territories(cell: Cell) -> Parsed:
    """Countries, or 'worldwide'. Raises CellError for an unknown one."""
    text = read_text(cell).value
    if re.sub(r"[\s\-]", "", text.casefold()) in (
        "world",
        WORLD,
        "theworld",
        "ww",
        "weltweit",
        "mondeentier",
        "monde",
        "mundo",
    ):
        return Parsed((WORLD,))
    parts = [part for part in re.split(r"[;,\n/]|\s\+\s", "\n".join(cell.lines)) if part.strip()]
    return Parsed(tuple(read_country(Cell(cell.place, part, part)).value for part in parts))


def read_bpm(cell: Cell) -> Parsed:
    """Beats a minute. Raises CellError for anything else."""
    found = re.fullmatch(r"(\d{1,3}(?:[.,]\d+)?)\s*(?:bpm)?", cell.text, re.IGNORECASE)
    if isinstance(cell.value, (date, time)) or not found or not float(found[1].replace(",", ".")):
        raise CellError("beats a minute, such as 92", "Write the number.")
    return Parsed(float(found[1].replace(",", ".")))


def read_credits(cell: Cell) -> Parsed:
    """'violin: Ada; cello: Bo Q': function and name."""
    entries = []
    read_text(cell)
    for part in split_list(cell):
        role, colon, name = part.partition(":")
        if not (colon and role.strip() and name.strip()):
            raise CellError("function: name, separated by ';'", "Write what each of them did: violin: Ada Quay.")
        entries += [{"name": one.strip(), "role": role.strip().lower()} for one in name.split(",") if one.strip()]
    return Parsed(tuple(entries))


def read_samples(cell: Cell) -> Parsed:
    """'none', or recordings separated by ';', cleared ones marked '(cleared)' or '(cleared: whose letter)'."""
    text = read_text(cell).value
    if text.casefold() in NO or text.casefold() == "no samples":
        return Parsed(())
    entries: list[dict[str, Any]] = []
    for part in re.split(r"[;\n]", "\n".join(cell.lines)):
        found = re.fullmatch(
            r"(?P<of>.+?)\s*(?:[(\[](?P<mark>(?:not |un)?cleared)(?::\s*(?P<by>[^)\]]+))?[)\]])?",
            part.strip(),
            re.IGNORECASE,
        )
        if found and found["of"]:
            mark = (found["mark"] or "").casefold()
            entries.append(
                {"of": found["of"], "cleared": mark == "cleared", **({"by": found["by"]} if found["by"] else {})}
            )
    return Parsed(tuple(entries))


READERS: Mapping[str, Reader] = {
    "disc": read_whole, "side": read_side, "number": read_number, "duration": read_length,
    "isrc": read_isrc, "iswc": read_iswc,
    "explicit": read_explicit, "instrumental": read_yes, "language": read_language, "title_language": read_language,
    "release_language": read_language,
    "recording_country": read_country, "recording_year": read_year, "bpm": read_bpm, "preview_start": read_duration,
    "samples": read_samples, "gap_before": read_gap, "upc": read_upc, "release_date": read_date,
    "original_date": read_date, "territories": read_territories, "ipi": read_ipi, "isni": read_isni,
    "other_credits": read_credits,
    **dict.fromkeys(ROUTES, read_list),
}  # fmt: skip
"""Field id -> parser of its cells; all others are texts."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The result of reading a cell: a value, or the error that refused it."""

    value: Any
    remark: str = ""
    refused: CellError | None = None


def read(field: str, cell: Cell, acts: Collection[str] = ()) -> Outcome:
    """The value of *cell* as *field*: None for an empty cell, or why it cannot be used.

    Parameters
    ----------
    acts : names known to be one act
    """
    if cell.trouble:
        return Outcome(None, refused=CellError("a value", f"{cell.trouble}. Put the value itself into the cell."))
    if cell.empty:
        return Outcome(None)
    try:
        if is_absent(field, cell.text):
            return Outcome(None, f"{cell.place}: {cell.text!r} counts as not supplied")
        if literal := unquoted(cell.text):
            cell = Cell(cell.place, literal, literal)
        entries = read_names(cell, field, acts) if field in KINDS else READERS.get(field, read_text)(cell)
    except CellError as refused:
        return Outcome(None, refused=refused)
    if entries.value == () and not any(map(str.isalnum, cell.text)):  # only separators: that states nothing
        return Outcome(None, f"{cell.place}: {cell.text!r} counts as not supplied")
    return Outcome(entries.value, entries.remark)
