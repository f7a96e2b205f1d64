"""Advice on titles: where style guides of recipients agree (trade notes, c.4), and silence where they do not."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from delivery.rules.title_advice import (
    Advice,
    about_featuring,
    about_person,
    about_text,
    about_title,
    about_version,
    about_version_in_title,
)
from delivery.rules.title_casing import recased

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


@pytest.mark.parametrize(
    ("advised", "lines"),
    [
        (about_text("Low ☀️ Water"), ["'Low ☀️ Water' -> 'Low Water': no pictures in titles and names"]),
        (about_text(" Low  Water"), ["' Low  Water' -> 'Low Water': one blank between words, none at the ends"]),
        (
            about_text("Lоw Wаter"),
            [
                "'Lоw Wаter' -> 'Low Water': letters that only look Latin "
                "(cyrillic small letter o, cyrillic small letter a)"
            ],
        ),
        (about_text("Don`t"), ["'Don`t' -> \"Don't\": an apostrophe, not an accent"]),
        (about_text("Don't don’t"), ['"Don\'t don’t" -> "Don\'t don\'t": one kind of apostrophe']),
        (about_text("«Low Water»"), ["'«Low Water»' -> 'Low Water': no quotation marks around a whole title"]),
        (
            about_text("[Low (Water]"),
            ["'[Low (Water]': a bracket or quotation mark ] that was never opened"],
        ),
        (
            about_text("[Low (Water)"),
            ["'[Low (Water)': a bracket or quotation mark that is never closed: ] is missing"],
        ),
        (about_text("Low_Water"), ["'Low_Water' -> 'Low Water': blanks between words"]),
        (about_text("_Low_"), []),
        (
            about_title("Low Water - mix 7.wav", ""),
            ["'Low Water - mix 7.wav' -> 'Low Water': a working name from the studio, not part of a title"],
        ),
        (
            about_title("Salt (Part Two)", ""),
            ["'Salt (Part Two)' -> 'Salt, Pt. 2': a comma and 'Pt.' before the number"],
        ),
        (
            about_title("Salt: Volume three (Live)", ""),
            ["'Salt: Volume three (Live)' -> 'Salt, Vol. 3 (Live)': a comma and 'Vol.' before the number"],
        ),
        (
            about_title("Salt (Part 2", ""),
            ["'Salt (Part 2': a bracket or quotation mark that is never closed: ) is missing"],
        ),
        (about_title("Low Water (1999)", ""), ["'Low Water (1999)': years do not belong in a title"]),
        (about_title("Low Water 5 €", ""), ["'Low Water 5 €': prices do not belong in a title"]),
        (about_title("Low on vinyl", ""), ["'Low on vinyl': advertising and formats do not belong in a title"]),
        (
            about_title("LOW WATER", "en-GB"),
            ["'LOW WATER' -> 'Low Water': capitals only: as titles in this language are written"],
        ),
        (
            about_title("lOW wATER", "EN"),
            ["'lOW wATER' -> 'Low Water': small and capital letters swapped: as titles in this language are written"],
        ),
        (
            about_title("What The Bell Said", "en"),
            ["'What The Bell Said' -> 'What the Bell Said': capitals: as titles in this language are written"],
        ),
        (
            about_version_in_title("Low Water (Original Mix)", ""),
            ["'Low Water (Original Mix)' -> 'Low Water': the standard version carries no label"],
        ),
        (
            about_version_in_title("Low Water – Live", "Demo"),
            ["'Low Water – Live' -> 'Low Water': the version has a field of its own, which has 'Demo'"],
        ),
        (
            about_version_in_title("Low Water (Radio Edit) [Live]", ""),
            [
                "'Low Water (Radio Edit) [Live]' -> 'Low Water (Radio Edit)': "
                "the version has a field of its own: version: 'Live'"
            ],
        ),
        (about_version_in_title("Low Water (feat. F Remix)", ""), []),
        (about_version_in_title("Low Water (Final Master)", ""), []),
        (about_version("clean"), ["'clean': the standard version carries no label: leave the version out"]),
        (
            about_version("[Deluxe]"),
            ["'[Deluxe]' -> 'Deluxe': brackets are put around the version where it is shown"],
        ),
        (
            about_featuring("Low Water ft. F (Live)", (), "role"),
            [
                "'Low Water ft. F (Live)' -> 'Low Water (Live)': "
                "guests are credited by their role: {name: F, role: featured}"
            ],
        ),
        (
            about_featuring("Low Water ft. F (Live)", ("G",), "title"),
            ["'Low Water ft. F (Live)' -> 'Low Water (feat. F) (Live)': guests follow the title as (feat. ...)"],
        ),
        (about_person("Ilse Merrow & Tam Varrick"), ["'Ilse Merrow & Tam Varrick': one person an entry"]),
        (about_person("Ilse Merrow; Tam Varrick"), ["'Ilse Merrow; Tam Varrick': one person an entry"]),
        (about_person("Ilse Merrow feat. F"), ["'Ilse Merrow feat. F': one person an entry"]),
        (about_person("Ilse Merrow aka I/T"), ["'Ilse Merrow aka I/T': one person an entry"]),
        (about_person("Ilse Merrow aka Merrow"), ["'Ilse Merrow aka Merrow' -> 'Ilse Merrow': the legal name alone"]),
        (
            about_person("Ilse Merrow P/K/A Merrow"),
            ["'Ilse Merrow P/K/A Merrow' -> 'Ilse Merrow': the legal name alone"],
        ),
    ],
)
def test_each_kind_of_advice_as_it_is_printed(advised: Iterator[Advice], lines: list[str]) -> None:
    """Nothing beside it: each of these texts has one fault."""
    assert [str(advice) for advice in advised] == lines


@pytest.mark.parametrize(
    ("title", "language", "proposed"),
    [
        # the first and the last word rise, and those after a mark that begins anew
        ("a Bell - a Buoy - the", "en", "A Bell - A Buoy - The"),
        ("Tide. a Bell! the Buoy? of", "en", "Tide. A Bell! The Buoy? Of"),
        ("Low (Of the) Tide [To a]", "en", "Low (Of The) Tide [To A]"),
        ("Low / the Tide – a Bell — an Oar", "en", "Low / The Tide – A Bell — An Oar"),
        # small words are lowered, others rise, those that are both stay
        ("Low Water And the Tide For a Bell", "en", "Low Water and the Tide for a Bell"),
        ("low water over the tide", "en", "Low Water over the Tide"),
        ("Come Over the tide", "en", "Come Over the Tide"),
        # what has capitals of its own stays
        ("the iPhone of McCrae", "en", "The iPhone of McCrae"),
        # elsewhere only small words are lowered
        ("La Mer Et le vent Des Îles", "fr", "La Mer et le vent des Îles"),
        ("Il Mare E La Luna", "it", "Il Mare e la Luna"),
        ("O Mar E", "pt", "O Mar e"),
        ("Vatten feat. i Dag", "en", "Vatten feat. I Dag"),
    ],
)
def test_capitals_word_by_word(title: str, language: str, proposed: str) -> None:
    """English: first, last and after - / : ( other words rise; elsewhere only small words are lowered, the last too.

    Common practice, no source."""
    found = recased(title, language)
    assert found is not None
    assert found[0] == proposed


@pytest.mark.parametrize(
    ("title", "language"),
    [
        ("BBC UFO DJ", "en"), ("ABCD", "en"), ("A", "en"), ("潮", "en"), ("Low Water", "en"), ("LOW WATER", "xx"),
    ],
)  # fmt: skip
def test_capitals_that_may_be_intended(title: str, language: str) -> None:
    """Initials, a short word, letters without capitals, a language of which nothing is known."""
    assert recased(title, language) is None
