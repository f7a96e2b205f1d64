"""Names by template, both ways: what was put in comes out, and what a name states is compared with the file."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.pack.names import file_name
from delivery.pack.names_back import disagreements, read_back

RICH = "{disc_track} {title} ({version}) {isrc} {rate}-{bits}"


def test_every_field_is_read_back() -> None:
    fields = {"disc_track": "1-03", "title": "Low Water", "version": "Radio Edit", "isrc": "ZZOSL2600003"}
    fields |= {"rate": "44.1", "bits": "16"}
    name = file_name(RICH, fields, ".wav").removesuffix(".wav")
    assert name == "1-03 Low Water (Radio Edit) ZZOSL2600003 44.1-16"
    assert read_back(RICH, name) == fields


@pytest.mark.parametrize(
    ("template", "name", "found"),
    [
        ("{disc_track} {title} ({version})", "03 Low Water", {"disc_track": "03", "title": "Low Water"}),
        (
            "{track:02}_{title}_{bits}_{rate}",
            "03_Low_Water_24_96",
            {"track": "03", "title": "Low_Water", "bits": "24", "rate": "96"},
        ),
        ("{track:02} {title} {rate}", "x Low Water", None),
        ("{isrc}", "ZZOSL260000", None),
        ("{title} ({version}) {bits}-{rate}", "A 16-44.1", {"title": "A", "bits": "16", "rate": "44.1"}),
        ("{track} {title} {track}", "3 A 3", {"track": "3", "title": "A"}),
        ("{track} {title} {track}", "3 A 4", None),
        ("{title}", "", None),
    ],
)
def test_names_read_back(template: str, name: str, found: dict[str, str] | None) -> None:
    assert read_back(template, name) == found


TITLES = st.text(st.characters(categories=("L", "Zs")), min_size=1, max_size=20).filter(lambda text: text.strip())


RATES, DEPTHS = st.sampled_from([44.1, 48, 96]), st.sampled_from([16, 24])


@given(st.integers(1, 99), TITLES, st.sampled_from(["", "Radio Edit"]), RATES, DEPTHS)
def test_numbers_of_any_title_are_sure(track: int, title: str, version: str, rate: float, bits: int) -> None:
    template = "{track:02} {title} ({version}) {bits}-{rate}"
    fields = {"track": track, "title": title, "version": version, "bits": bits, "rate": f"{rate:g}"}
    reported = read_back(template, file_name(template, fields, ".wav").removesuffix(".wav"))
    assert reported
    assert (reported["track"], reported.get("bits", ""), reported["rate"]) == (f"{track:02}", str(bits), f"{rate:g}")


@pytest.mark.parametrize(
    ("name", "rate_hz", "bits", "sentence"),
    [
        ("03 Low Water 16-44.1", 44_100, 16, ()),
        ("03 Low Water 16-44.1", 48_000, 16, ("the name says 44.1 kHz, the file is 48 kHz",)),
        ("03 Low Water 24-44.1", 44_100, 16, ("the name says 24 bit, the file is 16 bit",)),
        ("03 Low Water", 44_100, 16, ()),
    ],
)
def test_a_name_is_held_against_its_file(name: str, rate_hz: int, bits: int, sentence: tuple[str, ...]) -> None:
    assert disagreements("{track:02} {title} {bits}-{rate}", name, rate_hz, bits) == sentence


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("{title} {rate} {artist}", "Take 48 44.1 Merrow"),  # a figure in the title
        ("{title}-{rate}-{bits}", "A-44.1-16-2"),  # the second of two files of one name
        ("{title} {rate}", "99 44.1"),
    ],
)
def test_one_true_reading_is_enough(template: str, name: str) -> None:
    assert disagreements(template, name, 44_100, 16) == ()
