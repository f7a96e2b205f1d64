"""Numbers in findings: a value that is not met never looks met, a remedy is always enough."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.rules.words import (
    BYTES,
    DB,
    DBTP,
    LUFS,
    SECONDS,
    all_of,
    at_least,
    counted,
    enough,
    kilohertz,
    one_of,
    within,
)

again_the_same = settings(derandomize=True, database=None)
levels = st.floats(-120, 20, allow_nan=False)


@again_the_same
@given(value=levels, limit=levels)
def test_text_is_on_the_side_of_its_value(value: float, limit: float) -> None:
    read = float(DBTP.beside(value, limit).removesuffix(" dBTP"))
    assert (read > limit, read < limit) == (value > limit, value < limit)


@again_the_same
@given(
    limit=st.integers(-12000, 2000).map(lambda hundredths: hundredths / 100),
    steps=st.sampled_from([1e-3, 1e-6, 1e-9, 1e-12]),
)
def test_a_hair_over_shows(limit: float, steps: float) -> None:
    assert float(DBTP.beside(limit + steps, limit).removesuffix(" dBTP")) > limit


@again_the_same
@given(step=st.floats(1e-12, 100))
def test_remedy_is_enough_and_not_much_more(step: float) -> None:
    stated = float(enough(step).removesuffix(" dB"))
    assert stated > 0
    assert stated >= step - 1e-8
    assert stated < step + 0.0101


@pytest.mark.parametrize(
    ("stated", "text"),
    [
        (DBTP(-1), "-1.00 dBTP"),
        (DBTP(-0.001), "+0.00 dBTP"),
        (DBTP.exact(-1.005), "-1.005 dBTP"),
        (DBTP.beside(-0.996, -1.0), "-0.996 dBTP"),
        (DBTP.beside(0.42, -1.0), "+0.42 dBTP"),
        (BYTES(1234567), "1,234,567 bytes"),
        (enough(0.421), "0.43 dB"),
        (enough(-1.0 - -1.42), "0.42 dB"),
        (DB(3), "3.00 dB"),
        (kilohertz(44100), "44.1 kHz"),
        (kilohertz(705_600), "705.6 kHz"),
        (counted(1, "run"), "1 run"),
        (counted(1500, "run"), "1,500 runs"),
        (within(LUFS)({"at_least": -24, "at_most": -22}), "-24.00 to -22.00 LUFS"),
        (within(LUFS)({"at_least": -23.2, "at_most": -22.8, "target": -23}), "-23.20 to -22.80 LUFS, best -23.00 LUFS"),
        (within(SECONDS)({"at_least": 30, "at_most": 30}), "exactly 30.00 s"),
        (within(SECONDS)({"at_least": 30, "at_most": 30, "target": 30}), "exactly 30.00 s"),
        (within(SECONDS)({"at_most": 0.0625}), "at most 0.0625 s"),
        (at_least(SECONDS)(0.2), "at least 0.20 s"),
        (one_of()(["wav"]), "wav"),
        (all_of()(["isrc", "title", "artists"]), "isrc, title and artists"),
    ],
)
def test_words(stated: str, text: str) -> None:
    assert stated == text
