"""What file names claim, compared with the file: remarks where they disagree, silence where a title sounds like it."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.compare.name_claims import Claims, claims, wrong_claims
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Source
from delivery.model.release import Track


def source(name: str, rate_hz: int = 96_000, bits: int | None = 24, **track: object) -> Source:
    facts = Measurement({"rate_hz": Reading(rate_hz), "bits": Reading(bits) if bits else Reading.missing("lossy")})
    return Source(Track(**{"position": 3, "file": Path(name), "title": "Low Water", **track}), facts)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("stem", "text"),
    [
        ("01 Low Water 24-96", Claims(96_000, 24)),
        ("Low_Water_24_96", Claims(96_000, 24)),
        ("Low Water 24bit 96kHz", Claims(96_000, 24)),
        ("Low Water 44.1-16", Claims(44_100, 16)),
        ("Low Water 4416", Claims()),
        ("Low Water 16-441", Claims(44_100, 16)),
        ("Low Water 96k", Claims(96_000)),
        ("Low Water (24 bit)", Claims(None, 24)),
        ("Low Water 88.2 kHz", Claims(88_200)),
        ("Low Water 48 kHz 24 bit", Claims(48_000, 24)),
        ("48 Lanterns", Claims()),
        ("24 Hours", Claims()),
        ("96 Tears", Claims()),
        ("Route 24-961", Claims()),
        ("Bitter 16", Claims()),
        ("24/7", Claims()),
        ("Take 5 of 24", Claims()),
    ],
)
def test_claims_of_names(stem: str, text: Claims) -> None:
    assert claims(stem) == text


def called(name: str, version: str) -> tuple[str]:
    return (f"{name} is called {version}; the label copy of track 3 is not.",)


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (source("Low Water 24-96.wav"), ()),
        (
            source("Low Water 24-96.wav", 44_100, 16),
            (
                "Low Water 24-96.wav is called 96 kHz and is 44.1 kHz.",
                "Low Water 24-96.wav is called 24 bit and is 16 bit.",
            ),
        ),
        (source("Low Water 24bit.mp3", bits=None), ()),
        (source("Low Water INST.wav"), called("Low Water INST.wav", "instrumental")),
        (source("Low Water Instrumental.wav", version="Instrumental"), ()),
        (source("Low Water inst.wav", instrumental=True), ()),
        (source("Low_Water_clean.wav"), called("Low_Water_clean.wav", "clean")),
        (source("Low_Water_clean.wav", explicit="clean"), ()),
        (source("Live Wire.wav", title="Live Wire"), ()),
        (source("Alive.wav", title="x"), ()),
        (source("Low Water (Radio Edit).wav"), called("Low Water (Radio Edit).wav", "radio edit")),
        (Source(Track(1, Path("Low Water 24-96.wav"), "x"), None), ()),
    ],
)
def test_a_name_that_contradicts_the_file(one: Source, text: tuple[str, ...]) -> None:
    assert wrong_claims([one]) == text
