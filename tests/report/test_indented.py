"""The data document's text is that of the standard library's encoder, whatever it holds."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.report.data.indented import indented

SCALARS = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text()
VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.lists(inner, max_size=3).map(tuple)
        | st.lists(st.lists(st.none() | st.integers() | st.floats(-9, 9), max_size=3), max_size=4)
        | st.dictionaries(st.text(max_size=5), inner, max_size=4)
    ),
    max_leaves=30,
)


def by_the_library(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True)


@given(VALUES)
def test_it_is_what_the_library_writes(value: Any) -> None:
    """json.dumps of the standard library is the judge."""
    assert indented(value) == by_the_library(value)


@pytest.mark.parametrize("value", [[float("nan")], {"a": [1, [float("inf")]]}, float("-inf")])
def test_a_number_that_json_does_not_have_is_refused(value: Any) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        indented(value)


def test_another_type_is_refused() -> None:
    with pytest.raises(TypeError):
        indented({"a": [object()]})
