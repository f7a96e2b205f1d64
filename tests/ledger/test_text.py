"""A measurement goes into bytes and is read back the same, to the last bit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.ledger.text import from_bytes, to_bytes
from delivery.model.figure import Measurement, Reading

PLAIN = st.one_of(
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(exclude_categories=["Cs"])),
)
VALUES = st.recursive(PLAIN, lambda inner: st.lists(inner, max_size=4).map(tuple), max_leaves=12)
READINGS = st.one_of(
    VALUES.map(Reading), st.sampled_from(["the file is silent", "zu kurz: 0,2 s"]).map(Reading.missing)
)


def kinds(value: object) -> object:
    return tuple(map(kinds, value)) if isinstance(value, tuple) else (type(value), repr(value))


@given(st.dictionaries(st.from_regex(r"[a-z_]{1,12}", fullmatch=True), READINGS, max_size=6))
def test_there_and_back(readings: dict[str, Reading]) -> None:
    back = from_bytes(to_bytes(Measurement(readings)))
    assert dict(back) == readings
    for name, reading in readings.items():
        assert kinds(back[name].value) == kinds(reading.value)


def test_order_does_not_matter() -> None:
    one = Measurement({"a": Reading(1), "b": Reading((1.5, 2))})
    other = Measurement({"b": Reading((1.5, 2)), "a": Reading(1)})
    assert to_bytes(one) == to_bytes(other)


def test_numpys_numbers_become_plain_ones() -> None:
    back = from_bytes(
        to_bytes(Measurement({"a": Reading(np.int64(7)), "b": Reading(np.float32(0.1)), "c": Reading(np.bool_(True))}))
    )
    assert [(type(reading.value), reading.value) for reading in back.values()] == [
        (int, 7), (float, float(np.float32(0.1))), (bool, True),
    ]  # fmt: skip


@pytest.mark.parametrize("value", [math.nan, math.inf, (1.0, -math.inf), np.zeros(3), {1, 2}])
def test_what_readings_may_not_hold(value: object) -> None:
    with pytest.raises((TypeError, ValueError)):
        to_bytes(Measurement({"a": Reading(value)}))


def test_every_changed_byte_is_noticed_or_harmless() -> None:
    """RFC 1950 (zlib) carries Adler-32 of the content."""
    measurement = Measurement({"curve": Reading(tuple(0.1 * n for n in range(40))), "why": Reading.missing("silent")})
    payload = to_bytes(measurement)
    noticed = 0
    for at in range(len(payload)):
        changed = payload[:at] + bytes([payload[at] ^ 0x10]) + payload[at + 1 :]
        try:
            assert from_bytes(changed) == measurement
        except ValueError:
            noticed += 1
    assert noticed > 0.95 * len(payload)
    for other in (b"", b"x", payload[:-1]):
        with pytest.raises(ValueError, match="not a measurement"):
            from_bytes(other)
