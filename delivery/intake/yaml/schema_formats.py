"""Text formats that a JSON Schema names with 'format': one row each, with its source. Defined here because the library
accepts unknown formats without an error."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from delivery.model.codes import CODES, ONLY_ZEROS
from delivery.model.subcode import IndexPoint

WORLD = "worldwide"
ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
ISRC_STORED = re.compile(r"[A-Z0-9]{12}")
PLAY_TIME = re.compile(r"([0-9]{1,2}:){0,2}[0-9]{1,5}(\.[0-9]{1,6})?")
LANGUAGE_TAG = re.compile(r"(?P<primary>[A-Za-z]{2,3})(-[A-Za-z0-9]{1,8})*")


@dataclass(frozen=True, slots=True)
class Form:
    """A format of JSON Schema: its check and the sentences about a text that fails."""

    fits: Callable[[str], bool]
    wanted: str
    hint: Callable[[str], str]
    """The remedy for a text that does not fit."""


def stored_isrc(text: str) -> str:
    """Without the hyphens and blanks of its printed form, in capitals (ISO 3901: they are not part of the code)."""
    return re.sub(r"[\s\-‐‑–]", "", text).upper()


def stored_barcode(text: str) -> str:
    """Digits only: barcodes are printed with blanks or hyphens that are not part of the number."""
    return re.sub(r"[\s\-]", "", text)


def is_iso_date(text: str) -> bool:
    """A day of the calendar in the form of ISO 8601, extended: 2026-11-25."""
    if not ISO_DATE.fullmatch(text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def is_isrc_length(text: str) -> bool:
    """Twelve letters and digits; a rule checks the prefix (unknown prefixes are in use)."""
    return bool(ISRC_STORED.fullmatch(stored_isrc(text)))


def is_barcode_length(text: str) -> bool:
    """12 digits (UPC-A) or 13 (EAN-13), GS1 General Specifications; a rule checks the check digit.

    Zeros alone have a right check digit and are used as a placeholder: no product has them.
    """
    stored = stored_barcode(text)
    return bool(re.fullmatch(r"[0-9]{12,13}", stored)) and bool(stored.strip("0"))


def is_play_time(text: str) -> bool:
    """A position in a recording as players show it: seconds, m:s or h:m:s, with decimals."""
    _, *below = text.split(":")
    return bool(PLAY_TIME.fullmatch(text)) and all(float(piece) < 60 for piece in below)


def seconds_of(at: str | float) -> float:
    """'1:02:03.5' -> 3723.5; a number is seconds already."""
    if not isinstance(at, str):
        return float(at)
    seconds = 0.0
    for piece in at.split(":"):
        seconds = seconds * 60 + float(piece)
    return round(seconds, 6)


INDEX_POINT = re.compile(r"([0-9]{1,2}):([0-5][0-9]):([0-6][0-9]|7[0-4])")
SAMPLES = re.compile(r"([0-9]{1,12}) samples?")


def index_point_of(at: str | float) -> IndexPoint:
    """'01:10:33' is minutes, seconds, frames of 1/75 s; '1:10.440' and 70.44 are seconds; '3106404 samples' a sample.

    Parameters
    ----------
    at : in a form accepted by `is_index_point`, or a number of seconds
    """
    as_written = str(at).strip()
    if counted := SAMPLES.fullmatch(as_written):
        return IndexPoint(as_written, sample=int(counted[1]))
    if framed := INDEX_POINT.fullmatch(as_written):
        minutes, seconds, frames = map(int, framed.groups())
        return IndexPoint(as_written, Fraction(75 * (60 * minutes + seconds) + frames, 75))
    exact = Fraction(0)
    for piece in as_written.split(":"):
        exact = exact * 60 + Fraction(piece)
    return IndexPoint(as_written, exact)


def is_index_point(text: str) -> bool:
    """A position within a track, in one of the forms above; of three groups the last is always frames."""
    text = text.strip()
    if SAMPLES.fullmatch(text) or INDEX_POINT.fullmatch(text):
        return True
    return text.count(":") < 2 and is_play_time(text)


def is_language(text: str) -> bool:
    """A well-formed tag (RFC 5646) with a language of ISO 639-1, -2, -3 or -5; 'qaa' to 'qtz' are private use."""
    import pycountry

    tag = LANGUAGE_TAG.fullmatch(text)
    if tag is None:
        return False
    primary = tag["primary"].lower()
    if "qaa" <= primary <= "qtz" and len(primary) == 3:
        return True
    keys = ("alpha_2",) if len(primary) == 2 else ("alpha_3", "bibliographic")
    known = any(pycountry.languages.get(**{key: primary}) for key in keys)
    return known or pycountry.language_families.get(alpha_3=primary) is not None


def _date_hint(text: str) -> str:
    if ISO_DATE.fullmatch(text):
        return "There is no such day in the calendar."
    return "Write year-month-day with two digits each for month and day, without a time: 2026-11-25."


def _counted(stored: str, wanted: int, alphabet: str) -> str:
    strange = sorted({sign for sign in stored if not re.fullmatch(alphabet, sign)})
    if strange:
        return f"Not part of the code: {' '.join(strange)[:40]}"
    difference = len(stored) - wanted
    many = f"{abs(difference)} {'is' if abs(difference) == 1 else 'are'}"
    return f"It has {len(stored)}: {many} {'missing' if difference < 0 else 'too many'}. Ask for the code again."


def _isrc_hint(text: str) -> str:
    return _counted(stored_isrc(text), 12, "[A-Z0-9]")


def _barcode_hint(text: str) -> str:
    stored = stored_barcode(text)
    if stored and not stored.strip("0"):
        return f"It has {ONLY_ZEROS}: leave it out until the label has one."
    return _counted(stored, 12 if len(stored) < 12 else 13, "[0-9]")


def language_named(text: str) -> tuple[str, str] | None:
    """Shortest code and English name of the language with this code or name; None: ISO 639 has none.

    The library's own search takes 'en' for the language En, and one letter for its mark of a kind of languages ('L' for
    any living one): here a code comes before a name, and one letter is neither.
    """
    import pycountry

    text, languages = text.strip(), pycountry.languages
    if len(text) < 2:
        return None
    try:
        found = languages.get(alpha_2=text) or languages.get(alpha_3=text) or languages.lookup(text)
    except LookupError:
        return None
    return getattr(found, "alpha_2", found.alpha_3), found.name


def _language_hint(text: str) -> str:
    found = language_named(text)
    if found is None:
        return "Write the code, not the name: en, de, ja, pt-BR; zxx for no language at all."
    code, name = found
    return f"Write {code} for {name}."


def is_country(text: str) -> bool:
    """Two capital letters of ISO 3166-1; the United Kingdom is GB there, not UK."""
    import pycountry

    return bool(re.fullmatch("[A-Z]{2}", text)) and pycountry.countries.get(alpha_2=text) is not None


def is_territory(text: str) -> bool:
    """A country, or the word for all of them."""
    return text.strip().casefold() == WORLD or is_country(text)


def has_form(kind: str) -> Callable[[str], bool]:
    """True if a text has the form of that code; a rule checks the check digit, since wrong ones are in use."""
    return lambda text: not CODES[kind].malformed(text)


def _country_hint(text: str) -> str:
    import pycountry

    if text.strip().upper() == "UK":
        return "Write GB, its code in ISO 3166-1."
    try:
        found = pycountry.countries.lookup(text.strip())
    except LookupError:
        return "Write the two letters of ISO 3166-1: PT, JP, GB."
    return f"Write {found.alpha_2} for {found.name}."


def _code_hint(kind: str) -> Callable[[str], str]:
    return lambda text: f"It has {CODES[kind].malformed(text)}. Ask for the code again."


FORMS: dict[str, Form] = {
    "date": Form(is_iso_date, "a date such as 2026-11-25", _date_hint),
    "isrc": Form(is_isrc_length, "12 letters and digits", _isrc_hint),
    "barcode": Form(is_barcode_length, "12 digits (UPC) or 13 digits (EAN)", _barcode_hint),
    "play_time": Form(
        is_play_time, "a time such as 1:23.450, or seconds", lambda _text: "Write minutes:seconds, or h:mm:ss.mmm."
    ),
    "index_point": Form(
        is_index_point,
        "a place in the track: 01:10:33 (minutes:seconds:frames), 1:10.44, seconds, or '3106404 samples'",
        lambda _text: "A minute has 60 seconds, a second 75 frames (00 to 74).",
    ),
    "country": Form(is_country, "a country by two letters of ISO 3166-1, such as PT", _country_hint),
    "territory": Form(is_territory, "worldwide, or a country by two letters of ISO 3166-1", _country_hint),
    **{kind: Form(has_form(kind), CODES[kind].wanted, _code_hint(kind)) for kind in ("iswc", "ipi", "isni")},
    "language": Form(is_language, "a language code of ISO 639, such as en, ja or pt-BR", _language_hint),
}
