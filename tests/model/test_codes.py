"""Codes against the examples that their standards and keepers publish."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean, isni

from delivery.model.codes import CODES, ONLY_ZEROS, known_prefix, same_product, shape_fault, with_lost_zero

PUBLISHED = [
    ("gtin", "6291041500213"),  # GS1, "how to calculate a check digit manually": 629104150021 -> 3
    ("gtin", "5012345678900"),  # GS1 UK: 501234567890 -> 0
    ("gtin", "8904000210037"),  # GS1 India: 890400021003 -> 7
    ("gtin", "036000291452"),  # the encyclopaedias' UPC
    ("gtin", "4006381333931"),
    ("iswc", "T-034.524.680-1"),  # the example of the agency that keeps ISO 15707
    ("iswc", "T0000000010"),  # computed by the published rule
    ("isni", "0000 0001 2281 955X"),  # python-stdnum's example
    ("isni", "0000000218250097"),  # ORCID's own example, the same check digit
    ("ipi", "00014107338"),  # registration files of music publishers: 000141073 -> 38
    ("ipi", "00123456790"),  # the same rule: 001234567 -> 90
    ("ipi", "00000000199"),
    ("ipi", "90002000000"),  # the rule's edges, computed by hand: 10 x 9 + 6 x 2 = 102, remainder 1: 101 - 1 gives 00
    ("ipi", "91000000100"),  # 10 x 9 + 9 x 1 + 2 x 1 = 101, remainder 0: 00
    ("isrc", "US-SKG-19-12345"),  # summaries of ISO 3901:2019
    ("isrc", "ISRC USSKG1912345"),
]


@pytest.mark.parametrize(("kind", "text"), PUBLISHED)
def test_published_examples_are_right(kind: str, text: str) -> None:
    assert CODES[kind].fault(text) == ""


@pytest.mark.parametrize(("kind", "text"), [pair for pair in PUBLISHED if pair[0] != "isrc"])
def test_any_other_check_digit_is_wrong(kind: str, text: str) -> None:
    stored = CODES[kind].stored(text)
    others = [stored[:-1] + digit for digit in "0123456789" if digit != stored[-1]]
    assert all("check digit would be" in CODES[kind].fault(other) for other in others)


def test_a_page_that_starts_with_the_wrong_weight() -> None:
    """03600029145 with weights 1, 3 from the right would end in 8, as one public page has it; GS1's rule gives 2."""
    assert CODES["gtin"].fault("036000291458") == "the check digit would be 2"


@pytest.mark.parametrize(
    ("kind", "stored", "printed"),
    [
        ("isrc", "USSKG1912345", "US-SKG-19-12345"),
        ("iswc", "T0345246801", "T-034.524.680-1"),
        ("isni", "000000012281955X", "0000 0001 2281 955X"),
        ("ipi", "00014107338", "00014107338"),
        ("gtin", "2000000140018", "2000000140018"),
    ],
)
def test_display_and_storage_are_two_spellings_of_one_code(kind: str, stored: str, printed: str) -> None:
    code = CODES[kind]
    assert code.printed(stored) == printed
    assert code.stored(printed) == stored
    assert code.stored(f" {printed.lower()} ") == stored


def test_what_is_no_code_is_printed_as_it_is() -> None:
    assert CODES["isrc"].printed("to follow") == "to follow"


@given(st.text(alphabet="0123456789", min_size=11, max_size=12))
def test_product_codes_agree_with_the_library(body: str) -> None:
    zeros = not body.strip("0")
    assert CODES["gtin"].fault(body + ean.calc_check_digit(body)) == (ONLY_ZEROS if zeros else "")


@pytest.mark.parametrize(
    ("kind", "text"),
    [("gtin", "000000000000"), ("gtin", "0000000000000"), ("ipi", "00000000000"), ("isni", "0" * 16),
     ("iswc", "T-000.000.000-0")],
)  # fmt: skip
def test_zeros_alone_are_no_code(kind: str, text: str) -> None:
    """The check digits of the first three are right; common practice, no source: forms are filled up with them."""
    assert CODES[kind].malformed(text) == ONLY_ZEROS


def test_an_x_is_no_zero() -> None:
    assert CODES["isni"].malformed("000000000000000X") == ""


@pytest.mark.parametrize("kind", ["gtin", "iswc", "isni", "ipi"])
def test_nothing_is_doubted_of_what_has_no_form(kind: str) -> None:
    """`malformed` reports it: an incomplete code has no check digit."""
    assert CODES[kind].doubt("12") == CODES[kind].doubt("to follow") == ""


@pytest.mark.parametrize(
    "address",
    [
        "https://isni.org/isni/000000012281955X",
        "https://isni.org/isni/000000012281955X/",
        "http://www.isni.org/isni/0000 0001 2281 955x",
        "isni.org/isni/000000012281955X",
        "https://isni.org/page/000000012281955X",
        "http://isni.org/000000012281955X",
    ],
)
def test_an_isni_may_be_given_as_its_address(address: str) -> None:
    """The form of the address as the agency's own pages print it; from memory."""
    assert CODES["isni"].stored(address) == "000000012281955X"
    assert CODES["isni"].printed(address) == "0000 0001 2281 955X"
    assert CODES["isni"].fault(address) == ""


@pytest.mark.parametrize("text", ["https://isni.org/isni/", "https://isni.example/isni/000000012281955X"])
def test_other_addresses_are_no_isni(text: str) -> None:
    assert CODES["isni"].malformed(text)


@given(st.text(alphabet="0123456789X", min_size=16, max_size=16))
def test_isni_agrees_with_the_library(text: str) -> None:
    assert (CODES["isni"].fault(text) == "") == isni.is_valid(text)


def test_a_upc_and_its_ean_are_one_product() -> None:
    assert same_product("036000291452", "0036000291452")
    assert not same_product("036000291452", "036000291453")


def test_a_lost_zero_is_given_back_only_when_the_check_digit_proves_it() -> None:
    found = with_lost_zero("36000291452")
    assert found
    assert found.code == "036000291452"
    assert found.text == "36000291452 has lost a leading zero, as its check digit proves: 036000291452"
    assert with_lost_zero("36000291453") is None
    assert with_lost_zero("6000291452") is None
    assert with_lost_zero("3600029145X") is None


def test_prefixes() -> None:
    """'QZ' and 'ZZ' are in use and in no country list; the library's own list knows them."""
    assert known_prefix("QZS1Z9900001")
    assert not known_prefix("QQS1Z9900001")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("OSL-014", ""),
        ("OSL-14", "6 characters, not 7"),
        ("OSL-O14", "character 5 is 'O', not a digit"),
        ("osl-014", "character 1 is 'o', not 'O'"),
        ("OSL-٠١٤", "character 5 is '٠', not a digit"),
    ],
)
def test_catalogue_numbers_by_pattern(text: str, fault: str) -> None:
    assert shape_fault(text, "OSL-###") == fault


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("ab-1", ""),
        ("äß-7", ""),
        ("a1-1", "character 2 is '1', not a letter"),
        ("ab-X", "character 4 is 'X', not a digit"),
    ],
)
def test_a_pattern_may_ask_for_letters(text: str, fault: str) -> None:
    assert shape_fault(text, "@@-#") == fault
