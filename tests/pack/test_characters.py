"""Characters of a name one by one: what is replaced, removed, kept whole and compared."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.pack.characters import bare_ends, cleaned, clusters, cut, key, no_device
from delivery.pack.layout import escapes, on_disk
from delivery.pack.names import distinct, file_name
from delivery.pack.template import FIELDS, Piece, checked_pieces, pieces_of, template_faults, template_fields


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ('a/b\\c|d<e>f"g*h?i%j', "a-b-c-d(e)f'ghipctj"),  # Microsoft, "Naming Files"; RFC 8493 for %
        ("Tide: A Reckoning", "Tide - A Reckoning"),
        ("Tide : A", "Tide - A"),
        ("Tide:", "Tide - "),
        ("3:45", "3-45"),
        ("a\tb\nc\u00a0d\u3000e", "a b c d e"),
        ("a\u200bb\u00adc\u202ed\ufe0fe\u034ff", "abcdef"),  # zero width, soft hyphen, right-to-left, variation, joiner
        ("a\U000e0100b\ue000c\u0000d", "abcd"),
        ("  a   b  ", " a b "),
        ("e\u0301", "é"),
        ("e\u200b\u0301", "é"),
        ("潮 🌊", "潮 🌊"),
    ],
)
def test_a_text_as_one_line_that_three_systems_accept(text: str, written: str) -> None:
    assert cleaned(text) == written


@pytest.mark.parametrize(
    ("stem", "left"),
    [(" ._-a b-_. ", "a b-_"), ("..", ""), ("a.", "a"), ("-", ""), ("a-", "a-"), ("_a_", "a_")],
)
def test_ends_that_hide_a_file_or_are_dropped(stem: str, left: str) -> None:
    """In front also hyphens and underscores; at the end only blanks and full stops, which Windows drops."""
    assert bare_ends(stem) == left


@pytest.mark.parametrize(
    ("stem", "made"),
    [
        ("CON", "CON_"), ("con", "con_"), ("nul.live", "nul_.live"), ("COM1", "COM1_"), ("lpt³", "lpt³_"),
        ("AUX  ", "AUX_  "), ("PRN .x", "PRN_ .x"), ("CONIN$", "CONIN$_"), ("CONOUT$.a", "CONOUT$_.a"),
        ("CONSOLE", "CONSOLE"), ("COM", "COM"), ("COM10", "COM10"), ("a CON", "a CON"), ("CON a", "CON a"),
        ("NUL.CON", "NUL_.CON"),
    ],
)  # fmt: skip
def test_device_names_of_windows_get_an_underscore(stem: str, made: str) -> None:
    assert no_device(stem) == made


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("ab", ["a", "b"]),
        ("e\u0301a", ["e\u0301", "a"]),
        ("\u0301a", ["\u0301", "a"]),
        ("👍🏽!", ["👍🏽", "!"]),
        ("🇸🇪🇳🇴", ["🇸🇪", "🇳🇴"]),
        ("🇸a", ["🇸", "a"]),
        ("🇿🇦🇦🇿🇦", ["🇿🇦", "🇦🇿", "🇦"]),  # the first and the last of the 26 letters
        ("", []),
    ],
)
def test_what_must_not_be_cut_apart(text: str, parts: list[str]) -> None:
    """A letter with its marks, an emoji with its tone, a flag of two letters (UAX #29)."""
    assert clusters(text) == parts


@pytest.mark.parametrize(
    ("text", "max_bytes", "left"),
    [("abc", 3, "abc"), ("abc", 2, "ab"), ("aéb", 2, "a"), ("aéb", 3, "aé"), ("éa", 1, ""), ("abc", 0, "")],
)  # fmt: skip
def test_a_cut_counts_bytes_and_takes_nothing_behind_what_does_not_fit(text: str, max_bytes: int, left: str) -> None:
    assert cut(text, max_bytes) == left


@pytest.mark.parametrize(("one", "other"), [("É", "e\u0301"), ("STRASSE", "straße"), ("ﬁ", "FI"), ("Ａ", "a")])
def test_names_that_may_collide_have_one_key(one: str, other: str) -> None:
    assert key(one) == key(other)
    assert key(one) != key("x")


@pytest.mark.parametrize(
    ("template", "faults"),
    [
        ("{disc_track} {title}", ()),
        ("{track:02} {disc:09}", ()),
        ("  ", ("the template is empty",)),
        ("{titel}", ("unknown field {titel}",)),
        ("{title!r}", ("unknown field {title!r}",)),
        ("{title:02}", ("{title:02} cannot be: only {track:02} and {disc:02} take a width",)),
        ("{track:2}", ("{track:2} cannot be: only {track:02} and {disc:02} take a width",)),
        ("{track:00}", ("{track:00} cannot be: only {track:02} and {disc:02} take a width",)),
        ("{track:022}", ("{track:022} cannot be: only {track:02} and {disc:02} take a width",)),
        ("{a} {b}", ("unknown field {a}", "unknown field {b}")),
    ],
)
def test_faults_of_a_template_in_sentences(template: str, faults: tuple[str, ...]) -> None:
    assert template_faults(template) == faults


def test_a_template_in_pieces() -> None:
    assert pieces_of("{track:02} - {title}.") == (
        Piece("", "track", "02"),
        Piece(" - ", "title", ""),
        Piece(".", None, ""),
        Piece("", None, ""),
    )
    assert template_fields("{{x}} {title} {other}") == ("title", "other")
    assert checked_pieces("a") == (Piece("a", None, ""), Piece("", None, ""))


def test_a_template_with_faults_is_refused_with_every_field_that_is_known() -> None:
    with pytest.raises(Unusable) as refused:
        checked_pieces("{titel} {track:7}")
    assert refused.value.place == "name template '{titel} {track:7}'"
    assert refused.value.found.startswith("unknown field {titel}; {track:7} cannot be")
    assert all(f"{{{field}}}" in refused.value.remedy for field in FIELDS)
    with pytest.raises(Unusable, match="Close every brace"):
        checked_pieces("{title")
    with pytest.raises(Unusable) as unclosed:
        pieces_of("{title")
    assert unclosed.value.wanted == "matching braces"


def fields(**given: object) -> dict[str, object]:
    return dict.fromkeys(FIELDS, "") | {"track": 3, "disc": 1, "title": "Low Water"} | given


@pytest.mark.parametrize(
    ("template", "given", "name"),
    [
        ("{track:02} {title}", {}, "03 Low Water.wav"),
        ("{track} {title}", {}, "3 Low Water.wav"),
        ("{title} ({version})", {"version": "Live"}, "Low Water (Live).wav"),
        ("{title} [{version}] {isrc}", {"isrc": "ZZOSL2600001"}, "Low Water ZZOSL2600001.wav"),
        ("{title} ( - {version}, )", {}, "Low Water.wav"),
        ("{artist} - {title}", {}, "Low Water.wav"),
        ("{artist} - {title}", {"artist": "Merrow: "}, "Merrow - Low Water.wav"),
        ("{title}", {"title": "???"}, "untitled.wav"),
        ("{title}", {"title": "con"}, "con_.wav"),
        ("{title} {bits}-bit {rate}", {"bits": 24, "rate": "44.1"}, "Low Water 24-bit 44.1.wav"),
    ],
)
def test_a_template_filled(template: str, given: dict[str, object], name: str) -> None:
    assert file_name(template, fields(**given), ".wav") == name


@pytest.mark.parametrize(
    ("max_bytes", "name"),
    [
        (40, "03 Abcdefghij (Klmnop) ZZOSL2600001.wav"),
        (38, "03 Abcdefghi (Klmnop) ZZOSL2600001.wav"),
        (36, "03 Abcdefg (Klmnop) ZZOSL2600001.wav"),
        (34, "03 Abcde (Klmnop) ZZOSL2600001.wav"),
        (20, "03 ZZOSL2600001.wav"),
        (12, "03 ZZOSL.wav"),
    ],
)
def test_the_longest_free_text_is_shortened_first(max_bytes: int, name: str) -> None:
    """Numbers and codes are kept until nothing else can be cut."""
    given = fields(title="Abcdefghij", version="Klmnop", isrc="ZZOSL2600001")
    made = file_name("{track:02} {title} ({version}) {isrc}", given, ".wav", max_bytes=max_bytes)
    assert made == name
    assert len(made.encode()) <= max_bytes


def test_a_name_must_be_long_enough_for_untitled() -> None:
    assert file_name("{title}", fields(title="?"), ".wav", max_bytes=12) == "untitled.wav"
    with pytest.raises(Unusable) as refused:
        file_name("{title}", fields(), ".wav", max_bytes=11)
    assert (refused.value.place, refused.value.found) == ("name_max_bytes", "11")
    assert refused.value.wanted == "at least 12 bytes"


@pytest.mark.parametrize(
    ("names", "max_bytes", "made"),
    [
        (("a.wav", "a.wav", "A.wav"), 120, ("a.wav", "a-2.wav", "A-3.wav")),
        (("a.wav", "a.wav", "a-2.wav"), 120, ("a.wav", "a-3.wav", "a-2.wav")),
        (("a", "a"), 120, ("a", "a-2")),
        (("abcdef.wav", "abcdef.wav"), 10, ("abcdef.wav", "abcd-2.wav")),
        (("a. b.wav", "a. b.wav"), 9, ("a. b.wav", "a-2.wav")),
    ],
)
def test_duplicates_are_numbered(names: tuple[str, ...], max_bytes: int, made: tuple[str, ...]) -> None:
    """The number replaces letters where the name is full, and never gives another file's name."""
    assert distinct(names, max_bytes=max_bytes) == made


@pytest.mark.parametrize(
    ("path", "leaves"),
    [
        ("data/a.wav", False), ("data/../a", True), ("/a", True), ("a//b", True), ("./a", True), ("C:/a", True),
        ("a\\..\\b", True), ("\\\\server\\a", True), ("~/a", True), ("a~", False), ("a\0b", True), ("", True),
        ("..a", False),
    ],
)  # fmt: skip
def test_paths_that_would_leave_a_package_on_any_system(path: str, leaves: bool) -> None:
    assert escapes(path) is leaves
    if leaves:
        with pytest.raises(ValueError, match="leaves the package"):
            on_disk(Path("/package"), path)
    else:
        assert on_disk(Path("/package"), path) == Path("/package") / path
