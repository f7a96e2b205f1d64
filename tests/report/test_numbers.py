"""Rounding never flatters, and words say what the numbers cannot."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.model.bounds import Bound, rounded
from delivery.model.figure import Figure, Reading
from delivery.model.spec import bounds_of
from delivery.report.view.numbers import amount
from delivery.report.view.words import clock, clock_beside, isrc, places, plain
from tests import samples

TRUE_PEAK = Figure("true_peak_dbtp", "dBTP", 2, "", "")


@pytest.mark.parametrize(
    ("value", "limit", "printed"),
    [(-0.996, -1.0, "-0.996"), (-0.9999, -1.0, "-0.9999"), (-1.004, -1.0, "-1.00"), (0.004, 0.0, "0.004")],
)
def test_a_figure_just_over_its_ceiling_is_printed_so_that_it_shows(value: float, limit: float, printed: str) -> None:
    assert rounded(value, 2, (Bound("", limit, from_above=True),)) == printed


@given(
    st.floats(-200, 200, allow_subnormal=False),
    st.floats(-200, 200).map(lambda limit: round(limit, 2)),
    st.integers(0, 3),
    st.booleans(),
)
def test_printed_and_measured_value_are_on_the_same_side_of_a_limit(
    value: float, limit: float, digits: int, from_above: bool
) -> None:
    bound = Bound("", limit, from_above)
    assert bound.holds(float(rounded(value, digits, (bound,)))) == bound.holds(value)


def test_a_limit_in_any_spec_bounds_the_figure() -> None:
    assert bounds_of("true_peak_dbtp", samples.SPECS) == (Bound("true_peak_dbtp", -1.0, from_above=True),) * 3
    assert bounds_of("tail_s", (samples.STORE,)) == (Bound("tail_s", 10.0, from_above=True),)
    assert bounds_of("correlation", samples.SPECS) == ()


def test_figures_not_measured_are_reported_in_words() -> None:
    assert str(amount(TRUE_PEAK, Reading.missing("silent"))) == "not measured"
    assert str(amount(TRUE_PEAK, None)) == "not measured"


@pytest.mark.parametrize(("value", "printed"), [(0.317, "+0.32 dBTP"), (-0.001, "+0.00 dBTP"), (-1.03, "-1.03 dBTP")])
def test_levels_carry_sign_and_unit(value: float, printed: str) -> None:
    assert str(amount(TRUE_PEAK, Reading(value))) == printed


@pytest.mark.parametrize(
    ("seconds", "digits", "printed"),
    [(243.25, 3, "4:03.250"), (59.9996, 3, "1:00.000"), (3599.6, 0, "1:00:00"), (0.04, 1, "0:00.0"), (59.5, 0, "1:00")],
)
def test_lengths_carry_over_into_the_next_minute(seconds: float, digits: int, printed: str) -> None:
    assert clock(seconds, digits) == printed


@pytest.mark.parametrize(
    ("seconds", "limits", "printed"),
    [
        (1320.04, (1320.0,), "22:00.04"), (1319.96, (1320.0,), "21:59.96"), (1320.0, (1320.0,), "22:00.0"),
        (1320.04, (), "22:00.0"), (1260.04, (1320.0,), "21:00.0"), (1260.04, (1260.0, 1320.0), "21:00.04"),
        (1320.0000000001, (1320.0,), "22:00.000000000"),
    ],
)  # fmt: skip
def test_a_length_has_the_digits_that_show_on_which_side_of_a_limit_it_is(
    seconds: float, limits: tuple[float, ...], printed: str
) -> None:
    assert clock_beside(seconds, 1, limits) == printed


def test_isrc_is_printed_with_hyphens_and_a_broken_one_as_it_came() -> None:
    """ISRC handbook: hyphens are for print only."""
    assert isrc("ZZOSL2600001") == "ZZ-OSL-26-00001"
    assert isrc("ZZOSL26") == "ZZOSL26"
    assert isrc("") == "not supplied"


@pytest.mark.parametrize("title", samples.HOSTILE, ids=ascii)
def test_hostile_titles_become_one_inert_line(title: str) -> None:
    shown = plain(title)
    assert not set(shown) & set("\u202a\u202b\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\x00\x07\x1b\n\r\t\u2028")
    assert shown == shown.strip()
    shown.encode("utf-8")  # no lone surrogate is left


def test_joiners_that_spell_words_stay() -> None:
    assert plain("می\u200cخواهم") == "می\u200cخواهم"


def test_many_places_are_counted() -> None:
    assert places("", (1.0, 2.0, 3.0, 4.0, 5.0, 6.04)) == "0:01.0, 0:02.0, 0:03.0, 0:04.0, and 2 more"
    assert places("release.yaml:7", ()) == "release.yaml:7"
