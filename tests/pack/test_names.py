"""File names: whatever the title, one safe file on Windows, macOS and Linux."""

from __future__ import annotations

import dataclasses
import ntpath
import re
import sys
import unicodedata
from datetime import date
from pathlib import Path, PurePosixPath, PureWindowsPath

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from delivery.errors import Unusable
from delivery.model.chain import Target
from delivery.pack.characters import cleaned, clusters, cut, key
from delivery.pack.names import (
    FIELDS,
    distinct,
    fields_of,
    file_name,
    folder_name,
    template_faults,
    template_fields,
)
from tests.pack.invented import GUEST, PCM, RELEASE, track

FIELDS_OF_ONE = {**fields_of(RELEASE, RELEASE.tracks[0], PCM, "cd-rate-16"), "version": "Live"}

# Letters of every kind, with the troublesome ones far more often than by chance.
TROUBLE_MARKS = [*'/\\:*?"<>|%.-_ ~\t\r\n\0\x7f', *"\u202e\u200b\u200d\ufeff\u0301\u2028\ufdd0\u3164\ufe0f", "\ud800"]
TROUBLE_WORDS = (
    "CON",
    "con.",
    "LPT9",
    "COM¹",
    "NUL ",
    "..",
    "é",
    "e\u0301",
    "ﬁ",
    "Ａ",
    "ß",
    "한",
    "👩🏽",
    "🇳🇴",
    "()",
    "[-]",
)
TROUBLE = st.sampled_from([*TROUBLE_MARKS, *TROUBLE_WORDS])
ANY_TEXT = st.lists(st.one_of(TROUBLE, st.text(max_size=20)), max_size=30).map("".join)
TEMPLATES = st.sampled_from(
    [
        *("{title}", "{disc_track} {title}", "{title} ({version})", "{version}", "{title}: {version}"),
        *("{track:02}_{title}_{version}_{rate}-{bits}", "{artist} - {release} [{catalogue}] {title}.{isrc}"),
        *("../{title}", "C:\\{title}", "{{{title}}}", "-{title}. "),
    ]
)


def assert_safe(name: str, extension: str, max_bytes: int) -> None:
    """Microsoft, 'Naming Files, Paths, and Namespaces'; POSIX.1-2017 3.170 and 4.8; Apple: HFS+ and APFS take valid
    Unicode without ':' and '/'. pathlib is the judge for what a path means on the two families."""
    stem = name.removesuffix(extension)
    assert name.endswith(extension)
    assert stem
    assert len(name.encode("utf-8")) <= max_bytes
    assert len(unicodedata.normalize("NFD", name).encode("utf-16-le")) // 2 <= 255 or max_bytes > 120
    assert name == unicodedata.normalize("NFC", name)
    assert not re.search(r'[\x00-\x1f\x7f/\\:*?"<>|%]', name)
    assert not any(unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} for char in name)
    assert name[0] not in " .-_"
    assert stem[-1] not in " ."
    assert PurePosixPath(name).parts == (name,)
    assert PureWindowsPath(name).parts == (name,)
    assert not is_reserved(name)


def is_reserved(name: str) -> bool:
    if sys.version_info >= (3, 13):
        return ntpath.isreserved(name)
    return PureWindowsPath(name).is_reserved()


@given(template=TEMPLATES, title=ANY_TEXT, version=ANY_TEXT, max_bytes=st.integers(13, 140), ascii_only=st.booleans())
@settings(max_examples=400)
@example(template="{title}", title="CONCERT", version="", max_bytes=13, ascii_only=False)
@example(template="{title}", title="CON.cert.no", version="", max_bytes=13, ascii_only=False)
@example(template="{title}", title="a\u200b\u0301", version="", max_bytes=120, ascii_only=False)
def test_any_text_gives_one_safe_name(
    template: str, title: str, version: str, max_bytes: int, ascii_only: bool
) -> None:
    fields = {**FIELDS_OF_ONE, "title": title, "version": version}
    name = file_name(template, fields, ".flac", max_bytes=max_bytes, ascii_only=ascii_only)
    assert_safe(name, ".flac", max_bytes)
    assert name.isascii() or not ascii_only
    again = file_name("{title}", {"title": name.removesuffix(".flac")}, ".flac", max_bytes=max_bytes)
    assert again == name, "a safe name stays as it is"


@given(st.lists(ANY_TEXT.map(lambda t: file_name("{title}", {"title": t}, ".wav", max_bytes=20)), max_size=12))
@settings(max_examples=200)
@example(["A.wav", "a.wav", "A-2.wav", "a-2.wav"])
@example(["aaaaaaaaaaaaaaaa.wav"] * 12)
def test_distinct_names_are_distinct_everywhere(names: list[str]) -> None:
    found = distinct(names, max_bytes=20)
    assert len(found) == len(names)
    assert len({key(name) for name in found}) == len(names)
    assert distinct(found, max_bytes=20) == found, "stable"
    for before, after in zip(names, found, strict=True):
        assert_safe(after, ".wav", 20)
        assert after == before or names.count(before) > 1 or sum(key(n) == key(before) for n in names) > 1


def test_a_duplicate_name_is_numbered_and_takes_no_other_name() -> None:
    assert distinct(["A.wav", "a.wav", "A-2.wav", "é.wav", "e\u0301.wav", "Ａ.wav"]) == (
        *("A.wav", "a-3.wav", "A-2.wav", "é.wav"),
        *("e\u0301-2.wav", "Ａ-4.wav"),
    )


def test_a_real_file_system_keeps_distinct_names_apart(tmp_path: Path) -> None:
    """The judge is the machine's own file system, whichever it is."""
    names = distinct(["Intro.wav", "INTRO.wav", "Intro.wav", "ﬁn.wav", "fin.wav", "straße.wav", "STRASSE.wav"])
    for name in names:
        (tmp_path / name).touch(exist_ok=False)
    assert len(list(tmp_path.iterdir())) == len(names)


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("{disc_track} {title}", "01 Slack Water.wav"),
        ("{track:02} {title} ({version})", "01 Slack Water.wav"),
        ("{track:02} {title} - {version}", "01 Slack Water.wav"),
        ("{track:02}_{title}_{version}_{rate}-{bits}", "01_Slack Water_44.1-16.wav"),
        ("{title} ({version}, {rate})", "Slack Water (44.1).wav"),
        ("({rate}, {version}) {title}", "(44.1) Slack Water.wav"),
        ("[{version}] {title} ({version} {version})", "Slack Water.wav"),
        ("{catalogue}-{disc}-{track} {isrc}", "OSL-014-1-1 ZZOSL2600001.wav"),
        ("{artist}/{release}/{title}", "Merrow & the Glass Tide-Harbour Arithmetic-Slack Water.wav"),
        ("{title} {spec}", "Slack Water cd-rate-16.wav"),
    ],
)
def test_an_empty_version_leaves_no_trace(template: str, name: str) -> None:
    fields = fields_of(RELEASE, RELEASE.tracks[0], PCM, "cd-rate-16")
    assert file_name(template, fields, ".wav") == name


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("AC/DC: Tide?", "AC-DC - Tide.wav"),
        ('Say "when"', "Say 'when'.wav"),
        ("...And Out", "And Out.wav"),
        ("50 % Neap", "50 pct Neap.wav"),
        ("CON", "CON_.wav"),
        ("nul.live", "nul_.live.wav"),
        ("COM¹", "COM¹_.wav"),
        ("Com10", "Com10.wav"),
        ("Empty ()", "Empty ().wav"),
        ("???", "untitled.wav"),
        ("e\u0301\u202etab", "étab.wav"),
        ("a\u00a0 b\n", "a b.wav"),
        ("a\ufe0fb\u3164c\u200d", "abc.wav"),
    ],
)
def test_what_becomes_of_a_difficult_title(title: str, name: str) -> None:
    assert file_name("{title}", {"title": title}, ".wav") == name


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Ærlig Ønske", "AErlig Onske.wav"),
        ("“½” – naïve…", "'1-2' - naive.wav"),
        ("灯台", "untitled.wav"),
        ("潮の計算 Tide Sums", "Tide Sums.wav"),
        ("Tide 潮", "Tide.wav"),
        ("ひかりの塔", "untitled.wav"),
        ("ひかり", "hikari.wav"),
        ("Портовая, Й", "Portovaya, Y.wav"),
        ("🌊", "untitled.wav"),
    ],
)
def test_ascii_names(title: str, name: str) -> None:
    assert file_name("{title}", {"title": title}, ".wav", ascii_only=True) == name


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("{track:02} {title} ({version})", "04 ZZOSL2600004 (Live).wav"),
        ("{track:02} {title} {isrc}", "04 ZZOSL2600004.wav"),
        ("{title} ({version})", "ZZOSL2600004 (Live).wav"),
    ],
)
def test_a_title_that_ascii_cannot_represent_becomes_the_isrc(template: str, name: str) -> None:
    """A wrong reading would be a wrong title: 潮 is read shio, ushio or chou in Japanese, chao in Chinese."""
    fields = {**FIELDS_OF_ONE, "track": 4, "title": "潮の計算", "version": "Live", "isrc": "ZZOSL2600004"}
    assert file_name(template, fields, ".wav", ascii_only=True) == name
    assert file_name("{title}", {"track": 4, "title": "潮の計算"}, ".wav", ascii_only=True) == "track 04.wav"
    assert file_name("{track} {title}", {"track": 4, "title": "潮の計算"}, ".wav", ascii_only=True) == "4.wav"
    assert file_name("{title}", fields, ".wav") == "潮の計算.wav"


def test_a_long_title_is_cut_and_the_rest_is_kept() -> None:
    fields = {**FIELDS_OF_ONE, "title": "한글" * 200}
    name = file_name("{disc_track} {title} ({version}) {rate}", fields, ".flac", max_bytes=60)
    assert re.fullmatch(r"01 [한글]+ \(Live\) 44\.1\.flac", name)
    assert 57 < len(name.encode("utf-8")) <= 60  # a syllable is three bytes


def test_letters_separated_by_invisible_characters_are_composed() -> None:
    assert cleaned("e\u200b\u0301") == "é"


def test_nothing_is_cut_apart() -> None:
    """UAX #29: a base and its marks, an emoji and its tone, the two letters of a flag stay together."""
    assert clusters("e\u0323\u0301a👩🏽🇳🇴🇳🇴") == ["e\u0323\u0301", "a", "👩🏽", "🇳🇴", "🇳🇴"]
    assert cut("a🇳🇴", 8) == "a"
    assert cut("a🇳🇴", 9) == "a🇳🇴"


def test_template_fields_and_faults() -> None:
    assert template_fields("{track:02} {{x}} {title}") == ("track", "title")
    assert template_faults("{track:02} {title}") == ()
    assert len(template_faults("{genre} {title:>9} {title.upper} {title!r} {} {track:2}")) == 6
    assert template_faults("{title")
    assert template_faults(" ")
    with pytest.raises(Unusable, match=r"unknown field \{genre\}"):
        file_name("{genre}", FIELDS_OF_ONE, ".wav")
    with pytest.raises(Unusable, match="at least 12 bytes"):
        file_name("{title}", FIELDS_OF_ONE, ".wav", max_bytes=11)


def test_every_field_is_filled() -> None:
    assert set(FIELDS_OF_ONE) == set(FIELDS)
    template = " ".join(f"{{{field}}}" for field in FIELDS)
    assert file_name(template, FIELDS_OF_ONE, ".wav", max_bytes=250) == (
        "1 1 01 Slack Water Live Merrow & the Glass Tide Harbour Arithmetic OSL-014 ZZOSL2600001 44.1 16 cd-rate-16.wav"
    )


def test_fields_of_several_discs_guests_and_lossy_files() -> None:
    two = track(2, "Ebb", number=1, disc=2, artists=(GUEST,))
    release = dataclasses.replace(RELEASE, tracks=(RELEASE.tracks[0], two))
    fields = fields_of(release, two, Target("mp3", "mp3", 88_200, 2, None), "preview")
    assert (fields["disc_track"], fields["artist"], fields["rate"], fields["bits"]) == (
        "2-01",
        "Ines Quarrel",
        "88.2",
        "",
    )


def test_folder_names() -> None:
    assert folder_name(RELEASE) == "OSL-014 Harbour Arithmetic rev 1"
    second = dataclasses.replace(RELEASE, revision=2, version="Deluxe", dated=date(2026, 3, 1))
    assert folder_name(second) == "OSL-014 Harbour Arithmetic (Deluxe) rev 2"
    assert folder_name(dataclasses.replace(RELEASE, title="x" * 400)).endswith("x rev 1")
    assert folder_name(dataclasses.replace(RELEASE, title="", catalogue_number="")) == "rev 1"
