"""Advice on titles: where style guides of recipients agree (trade notes, c.4), and silence where they do not."""

from __future__ import annotations

import pytest

from delivery.rules.title_advice import (
    about_featuring,
    about_person,
    about_text,
    about_title,
    about_version,
    about_version_in_title,
)

SILENT = [
    # English, as it is to be
    ("The Arithmetic of Harbours", "en"), ("Low Water, Long Shadow", "en"), ("What the Bell Buoy Said", "en"),
    ("Water to Drink From", "en"),  # the last word rises, whatever it is
    ("Nine Cables Out", "en"), ("Over the Bar", "en"), ("Come On over", "en"),  # adverb or preposition: nobody can tell
    ("Tide: A Reckoning", "en"), ("Fog / The Lamp", "en"), ("Don't Count", "en"), ("Harbour (For the Keepers)", "en"),
    ("DJ McCrae's iPhone", "en"), ("UFO", "en"), ("A.M.", "en"), ("BBC", "en"), ("Salt Ledger, Pt. 2", "en"),
    ("Vol. 3", "en"), ("Part of Me", "en"), ("Apart 2", "en"), ("1999", "en"), ("100%", "en"), ("Mix Tape", "en"),
    ("Final", "en"), ("Master of Tides", "en"), ("Remix My Heart", "en"), ("Live", "en"), ("Version of Me", "en"),
    # other languages: names and nouns cannot be determined apart
    ("Øresund för två", "sv"), ("La mer et le vent", "fr"), ("Die Rechnung des Hafens", "de"),
    ("El mar de la Plata", "es"),
    ("Über den Fluss", "de"),
    # no language, no advice on capitals
    ("low water", ""), ("LOW WATER", ""), ("LOW WATER", "xx"),
    ("潮の計算", "ja"), ("بحر الليل", "ar"), ("क्षितिज", "hi"),
    # other scripts are no lookalikes
    ("Портовая арифметика", "ru"), ("Αριθμητική", "el"), ("Harbour Портовая", "en"),
]  # fmt: skip


@pytest.mark.parametrize(("title", "language"), SILENT)
def test_no_advice_for_a_correct_title(title: str, language: str) -> None:
    stated = [*about_title(title, language), *about_version_in_title(title, "")]
    assert stated == []


@pytest.mark.parametrize(
    ("title", "language", "proposed", "rule"),
    [
        ("Low  Water", "en", "Low Water", "one blank"),
        (" Low Water", "en", "Low Water", "none at the ends"),
        ("LOW WATER", "en", "Low Water", "capitals only"),
        ("THE ARITHMETIC OF HARBOURS", "en", "The Arithmetic of Harbours", "capitals only"),
        ("low water", "en", "Low Water", "small letters only"),
        ("lOW wATER", "en", "Low Water", "letters swapped"),
        ("What The Bell Buoy Said", "en", "What the Bell Buoy Said", "capitals"),
        ("the Lamp in the Fog", "en", "The Lamp in the Fog", "capitals"),
        ("Tide: a Reckoning", "en", "Tide: A Reckoning", "capitals"),
        ("La Mer Et Le Vent", "fr", "La Mer et le Vent", "capitals"),
        ("LA MER CALME", "fr", "La mer calme", "capitals only"),
        ("El Mar De La Plata", "es", "El Mar de la Plata", "capitals"),
        ("Salt Ledger Part 2", "en", "Salt Ledger, Pt. 2", "a comma and 'Pt.'"),
        ("Salt Ledger (Part II)", "en", "Salt Ledger, Pt. II", "a comma and 'Pt.'"),
        ("Salt Ledger - pt 2", "en", "Salt Ledger, Pt. 2", "a comma and 'Pt.'"),
        ("Ledgers Volume 3", "en", "Ledgers, Vol. 3", "a comma and 'Vol.'"),
        ("Low Water final master 2", "en", "Low Water", "a working name from the studio"),
        ("Low Water_FINAL_final_v3", "en", "Low Water", "a working name from the studio"),
        ("Low Water mix 7", "en", "Low Water", "a working name from the studio"),
        ("Low Water 24bit.wav", "en", "Low Water", "a working name from the studio"),
        ("Low_Water", "en", "Low Water", "blanks between words"),
        ("Low Water 🌊", "en", "Low Water", "no pictures"),
        ("Lоw Water", "en", "Low Water", "letters that only look Latin (cyrillic small letter o)"),
        ("ΑΒΒΑ Low Wαter", "en", "", ""),  # a word all in Greek is Greek; alpha has no Latin twin in the table
        ("Don`t Count", "en", "Don't Count", "an apostrophe"),
        ("Don't Say Don’t", "en", "Don't Say Don't", "one kind of apostrophe"),
        ('"Low Water"', "en", "Low Water", "no quotation marks"),
        ("Low Water (Slow", "en", "", "never closed: ) is missing"),
        ("Low Water) Slow", "en", "", "never opened"),
        ("Low Water (2019)", "en", "", "years do not belong"),
        ("Low Water Exclusive", "en", "", "advertising and formats"),
        ("Low Water only 5€", "en", "", "prices"),
    ],
)
def test_old_and_proposed_with_the_rule(title: str, language: str, proposed: str, rule: str) -> None:
    stated = list(about_title(title, language))
    if not rule:
        assert not [advice for advice in stated if "look Latin" in advice.rule]
        return
    assert any(advice.proposed == proposed and rule in advice.rule and advice.old == title for advice in stated), stated


@pytest.mark.parametrize(
    "text", ["Low  Water", "LOW WATER", "Salt Ledger Part 2", "Low Water final master", "Don`t", "Low_Water"]
)
def test_what_is_proposed_needs_no_second_advice(text: str) -> None:
    """Each rule's proposal satisfies that rule."""
    for advice in about_title(text, "en"):
        assert advice.rule not in {again.rule for again in about_title(advice.proposed, "en")}


@pytest.mark.parametrize(
    ("title", "version", "proposed", "rule"),
    [
        ("Low Water (Radio Edit)", "", "Low Water", "version: 'Radio Edit'"),
        ("Low Water - Live at the Chapel", "", "Low Water", "version: 'Live at the Chapel'"),
        ("Low Water [Remastered 2020]", "", "Low Water", "version: 'Remastered 2020'"),
        ("Low Water (Low Lantern Remix)", "Instrumental", "Low Water", "which has 'Instrumental'"),
        ("Low Water (Original Mix)", "", "Low Water", "the standard version carries no label"),
        ("Low Water (Album Version)", "", "Low Water", "the standard version carries no label"),
    ],
)
def test_versions_have_a_field_of_their_own(title: str, version: str, proposed: str, rule: str) -> None:
    (advice,) = about_version_in_title(title, version)
    assert advice.proposed == proposed
    assert rule in advice.rule


@pytest.mark.parametrize(
    ("version", "proposed"), [("(Radio Edit)", "Radio Edit"), ("Original Mix", ""), ("Radio  Edit", "Radio Edit")]
)
def test_versions_themselves(version: str, proposed: str) -> None:
    (advice,) = about_version(version)
    assert advice.proposed == proposed


@pytest.mark.parametrize(
    ("title", "guests", "wanted", "proposed"),
    [
        ("Low Water (feat. F)", (), "role", "Low Water"),
        ("Low Water ft. F & G (Radio Edit)", (), "role", "Low Water (Radio Edit)"),
        ("Low Water", ("F",), "title", "Low Water (feat. F)"),
        ("Low Water", ("F", "G", "H"), "title", "Low Water (feat. F, G & H)"),
        ("Low Water featuring F", ("F",), "title", "Low Water (feat. F)"),
        ("Low Water (feat. F)", ("F",), "title", None),
        ("Low Water (feat. F)", ("F",), "any", None),
        ("Low Water", ("F",), "role", None),
        ("Defeat. The Tide", (), "role", None),
    ],
)
def test_guests_by_role_or_in_the_title_as_required(
    title: str, guests: tuple[str, ...], wanted: str, proposed: str | None
) -> None:
    """Required by one style guide, forbidden by another: the spec says."""
    stated = list(about_featuring(title, guests, wanted))
    assert [advice.proposed for advice in stated] == ([] if proposed is None else [proposed])


@pytest.mark.parametrize(
    ("name", "output"),
    [
        ("Ilse Merrow", False), ("Ilse Merrow & Tam Varrick", True), ("Ilse Merrow p/k/a Merrow", True),
        ("Ilse Merrow/Tam Varrick", True), ("Anders And", False), ("José Ortega y Gasset", False), ("Brandy Et", False),
    ],
)  # fmt: skip
def test_one_person_an_entry(name: str, output: bool) -> None:
    assert bool(list(about_person(name))) is output


def test_names_are_not_recased() -> None:
    assert list(about_text("merrow & THE glass tide")) == []
