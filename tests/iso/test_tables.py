"""Countries and languages, against pycountry: its data and its answers."""

from __future__ import annotations

import pycountry
import pytest

from delivery.iso.countries import country_of, find_country
from delivery.iso.languages import find_language, is_family, language_of
from tests.iso.renew import COLUMNS, stored, table


@pytest.mark.parametrize("name", COLUMNS)
def test_the_stored_table_is_the_one_that_is_written_today(name: str) -> None:
    assert stored(name).read_text(encoding="utf-8") == table(name)


def test_every_country_is_found_by_each_of_its_codes_and_names() -> None:
    for one in pycountry.countries:
        assert country_of(one.alpha_2) is not None
        for _, text in one:
            for typed in (text, text.upper(), text.lower()):
                found = find_country(typed)
                assert found is not None, typed
                assert found.alpha_2 == pycountry.countries.lookup(typed).alpha_2


def test_every_language_is_found_by_each_of_its_codes_and_names() -> None:
    """A name that is the code of another language is that code: pycountry takes 'en' for the language En."""
    codes = {code: one.alpha_3 for one in pycountry.languages for key, code in one if key in ("alpha_3", "alpha_2")}
    for one in pycountry.languages:
        assert language_of(one.alpha_3) is not None
        for key, text in one:
            if key not in ("scope", "type"):
                found = find_language(text.upper())
                assert found is not None, text
                assert found.alpha_3 == codes.get(text.lower(), pycountry.languages.lookup(text).alpha_3), text


def test_every_family_is_known_and_is_no_language() -> None:
    for one in pycountry.language_families:
        assert is_family(one.alpha_3)
        assert language_of(one.alpha_3) is None
    assert not is_family("eng")


@pytest.mark.parametrize(("text", "alpha_3"), [("en", "eng"), ("KO", "kor"), ("ga", "gle"), ("L", None), ("", None)])
def test_a_code_comes_before_a_name_and_a_kind_of_language_is_none(text: str, alpha_3: str | None) -> None:
    """'L' is the mark of living languages in ISO 639-3; En (enc), Ko (fuj) and Ga (gaa) are languages."""
    found = find_language(text)
    assert (found and found.alpha_3) == alpha_3


@pytest.mark.parametrize("text", ["", "UK", "XX", "Atlantis"])
def test_what_is_no_country_is_not_found(text: str) -> None:
    assert find_country(text) is None
