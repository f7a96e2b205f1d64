"""What file names propose. The habits are common practice, no source; the forms of codes are ISO 3901."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.intake.begin.file_names import Guess, disc_of_folder, guess, natural, shared_end


@pytest.mark.parametrize(
    ("stem", "sentence"),
    [
        ("01 Low Water", Guess("Low Water", 1, sure=True)),
        ("1 - Low Water", Guess("Low Water", 1, sure=True)),
        ("12. Low Water", Guess("Low Water", 12, sure=True)),
        ("03_Low_Water", Guess("Low Water", 3, sure=True)),
        ("2-03 Low Water", Guess("Low Water", 3, 2, sure=True)),
        ("1.03 Low Water", Guess("Low Water", 3, 1, sure=True)),
        ("99 Lanterns", Guess("99 Lanterns".removeprefix("99 "), 99)),
        ("1999", Guess("1999")),
        ("00 Countdown", Guess("00 Countdown")),
        ("Low Water", Guess("Low Water")),
        ("Merrow - 04 - Low Water", Guess("Low Water", 4, artist="Merrow", sure=True)),
        ("01 Low Water ZZOSL2600001", Guess("Low Water", 1, isrc="ZZOSL2600001", sure=True)),
        ("ZZ-OSL-26-00001_Low_Water", Guess("Low Water", isrc="ZZOSL2600001")),
        ("01 Low Water (zzosl2600001)", Guess("Low Water", 1, isrc="ZZOSL2600001", sure=True)),
        ("ZZOSL2600001", Guess("ZZOSL2600001", isrc="ZZOSL2600001")),
        ("01 Low Water 24-96", Guess("Low Water", 1, sure=True)),
        ("01_Low_Water_24bit_96k", Guess("Low Water", 1, sure=True)),
        ("01 Low Water [44.1kHz]", Guess("Low Water", 1, sure=True)),
        ("Highway 48", Guess("Highway 48")),
        ("01 Low Water MASTER v2", Guess("Low Water", 1, sure=True)),
        ("01 Low Water final master 2", Guess("Low Water", 1, sure=True)),
        ("01_Low_Water_bounce_2026-03-01_24-96", Guess("Low Water", 1, sure=True)),
        ("Low Water (final) [96k]", Guess("Low Water")),
        ("Puppet Master", Guess("Puppet Master")),
        ("The Final", Guess("The Final")),
        ("Take 5", Guess("Take 5")),
        ("Low Water (Instrumental)", Guess("Low Water", version="Instrumental")),
        ("02 Low Water INSTRUMENTAL v3", Guess("Low Water", 2, version="Instrumental", sure=True)),
        ("Low Water - Radio Edit", Guess("Low Water", version="Radio Edit")),
        ("Merrow - Low Water Mix", Guess("Merrow - Low Water Mix")),
        ("Low Water [Tam Varrick Remix]", Guess("Low Water", version="Tam Varrick Remix")),
        ("Low Water feat. Ada & Bo", Guess("Low Water", guest="Ada & Bo")),
        ("03 Low Water (ft. Ada) (Inst.)", Guess("Low Water", 3, version="Instrumental", guest="Ada", sure=True)),
        ("Low Water (Radio Edit) feat. Ada", Guess("Low Water", version="Radio Edit", guest="Ada")),
        ("02 Tide (Instrumental) final", Guess("Tide", 2, version="Instrumental", sure=True)),
        ("Tide - Instrumental - final", Guess("Tide", version="Instrumental")),
        ("03 Gull (feat. Jo Lin) final", Guess("Gull", 3, guest="Jo Lin", sure=True)),
        ("03 Ada Fenn feat. Jo Lin - Gull", Guess("Gull", 3, artist="Ada Fenn", guest="Jo Lin", sure=True)),
        (
            "Ada Fenn ft. Jo & Bo - Gull (Radio Edit) master",
            Guess("Gull", artist="Ada Fenn", version="Radio Edit", guest="Jo & Bo"),
        ),
        ("03 Gull feat. Jo Lin - Radio Edit", Guess("Gull", 3, version="Radio Edit", guest="Jo Lin", sure=True)),
        ("Left Feat", Guess("Left Feat")),
        ("Instrumental", Guess("Instrumental")),
        ("05 潮の計算", Guess("潮の計算", 5, sure=True)),
        ("06 E\u0301te\u0301", Guess("Été", 6, sure=True)),
        ("07 (Interlude)", Guess("(Interlude)", 7, sure=True)),
    ],
)
def test_names(stem: str, sentence: Guess) -> None:
    assert guess(stem) == sentence


@given(st.text(min_size=1).filter(str.strip))
def test_every_name_gives_some_title(stem: str) -> None:
    assert guess(stem).title


@pytest.mark.parametrize(
    ("name", "disc"),
    [
        ("CD1", 1), ("cd 02", 2), ("Disc 2 - Live", 2), ("disk_3", 3), ("LP1", 1), ("CD", None), ("Discards 4", None),
        ("CD1999", None), ("takes", None), ("CD0", None),
    ],
)  # fmt: skip
def test_disc_folders(name: str, disc: int | None) -> None:
    assert disc_of_folder(name) == disc


def test_natural_order() -> None:
    ordered = ["1 a", "2 a", "2 B", "02 c", "10 a", "a 1", "A 2", "a 10", "été"]
    shuffled = random.Random(3).sample(ordered, len(ordered))
    assert [natural(name) for name in sorted(shuffled, key=natural)] == [natural(name) for name in ordered]
    assert natural("E\u0301te\u0301 2") == natural("été 2")


@pytest.mark.parametrize(
    ("titles", "many"),
    [
        (["Low Water master", "Lamps master"], 1),
        (["Low Water final Master", "Lamps final master"], 2),
        (["Low Water", "Lamps"], 0),
        (["Water", "Water"], 0),
        (["master", "Lamps master"], 0),
        (["Low Water master"], 0),
        ([], 0),
    ],
)
def test_words_that_end_every_name(titles: list[str], many: int) -> None:
    assert shared_end(titles) == many
