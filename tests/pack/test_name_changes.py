"""What becomes of texts on the way into a name is reported, and a name reads back as the file it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.model.release import Release
from delivery.pack.name_changes import folder_name_changes, name_changes, read_wrong
from delivery.pack.names import file_name

TEMPLATE = "{track:02} {title} ({version}) {rate}-{bits}"
FIELDS = {"track": 3, "title": "Low Water", "version": "Radio Edit", "rate": "44.1", "bits": 16}


def output(
    fields: dict[str, object], name: str | None = None, max_bytes: int = 120, *, ascii_only: bool = False
) -> str:
    made = file_name(TEMPLATE, fields, ".wav", max_bytes=max_bytes, ascii_only=ascii_only)
    return "; ".join(name_changes(TEMPLATE, fields, name or made, ".wav", max_bytes=max_bytes, ascii_only=ascii_only))


def test_no_change_no_remark() -> None:
    assert output(FIELDS) == ""


@pytest.mark.parametrize(
    ("fields", "more", "sentence"),
    [
        ({"title": "AC/DC: Why?"}, {}, "'AC/DC: Why?' is written 'AC-DC - Why'"),
        ({"title": "Été à quai"}, {"ascii_only": True}, "'Été à quai' is written 'Ete a quai'"),
        (
            {"title": "潮の計算 Tide Sums"},
            {"ascii_only": True},
            "'潮の計算 Tide Sums' is written 'Tide Sums', because the reading of its characters is not known",
        ),
        (
            {"title": "潮の計算", "isrc": "ZZOSL2600004"},
            {"ascii_only": True},
            "'潮の計算' is written 'ZZOSL2600004', because the reading of its characters is not known",
        ),
        ({"title": "潮の計算"}, {"ascii_only": True}, "'潮の計算' is left out, because the reading of its characters"),
        ({"title": "x" * 60}, {"max_bytes": 50}, "shortened to 50 bytes from '03 " + "x" * 60),
        ({"title": "{Low} Water"}, {}, ""),
        ({}, {"name": "03 Low Water (Radio Edit) 44.1-16-2.wav"}, "numbered, for another file is called '03 Low Water"),
    ],
)
def test_sentences_about_changes(fields: dict[str, object], more: dict[str, object], sentence: str) -> None:
    """Signs no system takes, letters written in ASCII, limits of length, two files of one name."""
    assert sentence in output(FIELDS | fields, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("title", "name", "sentence"),
    [
        ("Wait...", "Wait.wav", "'Wait...' becomes 'Wait': a name may not begin or end so"),
        (".hidden", "hidden.wav", "'.hidden' becomes 'hidden': a name may not begin or end so"),
        ("CON", "CON_.wav", "'CON' is written 'CON_': it is not allowed on Windows"),
        ("Low_", "Low_.wav", ""),
        ("Wait... What", "Wait... What.wav", ""),
    ],
)
def test_ends_and_devices(title: str, name: str, sentence: str) -> None:
    """Microsoft, "Naming Files, Paths, and Namespaces": final dots are dropped, CON is a device."""
    assert file_name("{title}", {"title": title}, ".wav") == name
    reported = name_changes("{title}", {"title": title}, name, ".wav", max_bytes=120, ascii_only=False)
    assert "; ".join(reported) == sentence


@pytest.mark.parametrize(
    ("title", "sentence"),
    [
        ("Harbour Arithmetic", ""),
        ("Número de Ébano", ""),
        ("Harbour: Arithmetic", "'Harbour: Arithmetic' is written 'Harbour - Arithmetic'"),
        ("x" * 130, "shortened to 120 bytes"),
    ],
)
def test_the_folder_s_name(title: str, sentence: str) -> None:
    reported = "; ".join(
        folder_name_changes(Release(Path("release.yaml"), title, "Merrow", (), catalogue_number="OSL-014"))
    )
    assert reported.startswith(sentence)
    assert bool(reported) == bool(sentence)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("03 Low Water (Radio Edit) 44.1-16.wav", ""),
        ("03 Low Water (Radio Edit) 44.1-16-2.wav", ""),
        ("03 Low Water (Radio Edit) 48-16.wav", "the name says 48 kHz, the file is 44.1 kHz"),
        ("03 Low Water (Radio Edit) 44.1-24.wav", "the name says 24 bit, the file is 16 bit"),
        ("03 Low Water (Instrumental) 44.1-16.wav", "says version 'Instrumental', the label copy 'Radio Edit'"),
        ("03 Low Water 44.1-16.wav", "says version '', the label copy 'Radio Edit'"),
    ],
)
def test_a_name_is_held_against_the_file(name: str, sentence: str) -> None:
    reported = "; ".join(read_wrong(TEMPLATE, FIELDS, name, ".wav"))
    assert sentence in reported
    assert bool(sentence) == bool(reported)


@pytest.mark.parametrize("template", ["{track:02} {title}", "{isrc}", "{title} {rate}"])
def test_a_version_that_the_template_leaves_out_is_no_difference(template: str) -> None:
    fields = FIELDS | {"isrc": "ZZOSL2600001"}
    assert read_wrong(template, fields, file_name(template, fields, ".wav"), ".wav") == ()


def test_ends_are_judged_as_they_are_written_in_ascii() -> None:
    """'été...' is written 'ete...', and only its full stops are lost: they alone are reported beside the spelling."""
    reported = name_changes("{title}", {"title": "Été..."}, "Ete.wav", ".wav", max_bytes=120, ascii_only=True)
    assert reported == (
        "'Été...' is written 'Ete...'",
        "'Ete...' becomes 'Ete': a name may not begin or end so",
    )
    reported = name_changes("{title}", {"title": "Été"}, "Ete.wav", ".wav", max_bytes=120, ascii_only=True)
    assert reported == ("'Été' is written 'Ete'",)


WORDS = st.text(st.characters(categories=("L", "N", "P", "Zs")), min_size=1, max_size=24).filter(str.strip)


@given(WORDS, st.sampled_from(["", "Radio Edit", "Café Mix", "(Live)", "2016-24", "Versión 潮"]) | WORDS, st.booleans())
def test_every_name_we_make_reads_back(title: str, version: str, ascii_only: bool) -> None:
    """No false alarm, whatever is in title and version, as long as nothing is cut off."""
    fields = FIELDS | {"title": title, "version": version}
    for template in (
        TEMPLATE,
        "{title}_{version}_{bits}_{rate}",
        "{disc_track} {title} [{version}]",
        "{version} {title}",
    ):
        name = file_name(template, fields | {"disc_track": "1-03"}, ".wav", max_bytes=250, ascii_only=ascii_only)
        assert read_wrong(template, fields, name, ".wav") == ()
