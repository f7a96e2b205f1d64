"""Codes of the trade: storage, printing and check digits. Pure.

A code can be checked only as far as its standard permits: an ISRC has no check digit, and an unlisted prefix is not a
fault (ISO 3901:2019: the first five characters are one element, assigned by registrants' agencies).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

ONLY_ZEROS = "only zeros, which are a placeholder and no code"
_SPLIT = re.compile(r"[\s.\-‐‑–—]")


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of code: its form, and its check digit if it has one."""

    id: str
    title: str
    wanted: str
    """Its form in words."""
    form: str
    """Regular expression of the storage form."""
    check: Callable[[str], str]
    """Right check characters of a code in storage form; empty if the standard has none."""
    parts: tuple[int, ...]
    """Lengths of the printed groups; empty: printed as stored."""
    joint: str
    source: str
    prefix: str = ""
    """Prefix people write that is not part of the code."""
    address: str = ""
    """Regular expression of the agency's web address, up to the code."""

    def stored(self, text: str) -> str:
        """Storage form: without blanks, dots and hyphens, in capitals; for a web address the code at its end."""
        shown = re.fullmatch(rf"{self.address}([^/?#]+)/?", text.strip(), re.IGNORECASE) if self.address else None
        bare = _SPLIT.sub("", shown[1] if shown else text).upper()
        named = re.fullmatch(rf"{self.prefix}:?(.+)", bare) if self.prefix else None
        return named[1] if named and not re.fullmatch(self.form, bare) else bare

    def printed(self, text: str) -> str:
        """Printed form, in the groups of its standard; other texts are returned unchanged."""
        code = self.stored(text)
        if not self.parts or not re.fullmatch(self.form, code):
            return text
        if self.id == "iswc":
            return f"T-{code[1:4]}.{code[4:7]}.{code[7:10]}-{code[10]}"
        ends = [sum(self.parts[:count]) for count in range(len(self.parts) + 1)]
        return self.joint.join(code[start:end] for start, end in pairwise(ends))

    def fault(self, text: str) -> str:
        """What is wrong with it, in words; empty for a right code."""
        return self.malformed(text) or self.doubt(text)

    def malformed(self, text: str) -> str:
        """Why it does not have the form of the code; empty if it does."""
        code = self.stored(text)
        if re.fullmatch(self.form, code):
            return "" if code.strip("T0") else ONLY_ZEROS
        return f"{len(code)} characters, where the code has {self.wanted}"

    def doubt(self, text: str) -> str:
        """Why a code of the right form has a wrong check digit. Such codes are in use all the same."""
        code = self.stored(text)
        right = self.check(code) if re.fullmatch(self.form, code) else ""
        return "" if not right or code.endswith(right) else f"the check digit would be {right}"


def _gtin(code: str) -> str:
    from stdnum import ean

    return str(ean.calc_check_digit(code[:-1]))


def _iswc(code: str) -> str:
    """S = 1 + sum of i times digit i; the digit is (10 - S mod 10) mod 10."""
    total = 1 + sum(place * int(digit) for place, digit in enumerate(code[1:10], start=1))
    return str(-total % 10)


def _isni(code: str) -> str:
    from stdnum.iso7064 import mod_11_2

    return str(mod_11_2.calc_check_digit(code[:-1]))


def _ipi(code: str) -> str:
    """Weights 10 down to 2, modulo 101; two digits."""
    total = sum(weight * int(digit) for weight, digit in zip(range(10, 1, -1), code[:9], strict=True)) % 101
    return f"{(101 - total) % 100 if total else 0:02}"


def _none(_code: str) -> str:
    return ""


CODES: Mapping[str, Code] = {
    code.id: code
    for code in (
        Code("isrc", "ISRC", "2 letters, 3 letters or digits, 7 digits", "[A-Z]{2}[A-Z0-9]{3}[0-9]{7}", _none,
             (2, 3, 2, 5), "-", "ISO 3901:2019", "ISRC"),
        Code("gtin", "UPC / EAN", "12 digits (UPC) or 13 digits (EAN)", "[0-9]{12,13}", _gtin,
             (), "", "GS1 General Specifications: weights 3 and 1 from the right, modulo 10", "(?:UPC|EAN|GTIN)"),
        Code("iswc", "ISWC", "T and 10 digits", "T[0-9]{10}", _iswc,
             (1, 3, 3, 3, 1), "", "ISO 15707", "ISWC"),
        Code("isni", "ISNI", "16 characters: 15 digits and a digit or X", "[0-9]{15}[0-9X]", _isni,
             (4, 4, 4, 4), " ", "ISO 27729; ISO/IEC 7064, MOD 11-2; address as the ISNI agency publishes it", "ISNI",
             r"(?:https?://)?(?:www\.)?isni\.org/(?:isni/|page/)?"),
        Code("ipi", "IPI name number", "11 digits", "[0-9]{11}", _ipi,
             (), "", "weights 10 to 2, modulo 101, as music publishers' registration files use it", "(?:IPI|CAE)"),
    )
}  # fmt: skip


def same_product(one: str, other: str) -> bool:
    """A UPC is the EAN of the same digits with a leading zero: compared on 14 digits (GS1)."""
    gtin = CODES["gtin"]
    return gtin.stored(one).zfill(14) == gtin.stored(other).zfill(14)


def known_prefix(isrc: str) -> bool:
    """True if the library's list has the first two letters; the list is frozen, so False is only a sign."""
    from stdnum import isrc as library

    return bool(library.is_valid(CODES["isrc"].stored(isrc)))


@dataclass(frozen=True, slots=True)
class LeadingZero:
    """A digit dropped by a spreadsheet, restorable only by the check digit."""

    code: str
    text: str


def with_lost_zero(digits: str) -> LeadingZero | None:
    """11 digits that with a leading zero are a UPC with a right check digit; None if that proves nothing.

    A leading zero is the only digit that a spreadsheet drops. 12 digits need none: they are already a UPC.
    """
    if not re.fullmatch("[0-9]{11}", digits) or CODES["gtin"].fault("0" + digits):
        return None
    return LeadingZero("0" + digits, f"{digits} has lost a leading zero, as its check digit proves: 0{digits}")


def shape_fault(text: str, pattern: str) -> str:
    """How *text* differs from *pattern* (# a digit, @ a letter, anything else itself); empty if it matches."""
    if len(text) != len(pattern):
        return f"{len(text)} characters, not {len(pattern)}"
    tests: Mapping[str, Callable[[str], bool]] = {"#": lambda c: c in "0123456789", "@": lambda c: c.isalpha()}
    for place, (sign, wanted) in enumerate(zip(text, pattern, strict=True), start=1):
        if not tests.get(wanted, wanted.__eq__)(sign):
            words = {"#": "a digit", "@": "a letter"}.get(wanted, f"'{wanted}'")
            return f"character {place} is {sign!r}, not {words}"
    return ""
