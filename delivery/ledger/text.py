"""Serialise a measurement exactly: tuples stay tuples, floats keep their last bit. Pure."""

from __future__ import annotations

import json
import zlib
from typing import Any

from delivery.model.figure import Measurement, Reading

MOST_BYTES = 64 * 2**20
"""Size limit of one measurement as text; the longest so far, of three hours, has two million bytes."""


def to_bytes(measurement: Measurement) -> bytes:
    """Compressed JSON, figures sorted by name; equal measurements give equal bytes.

    Raises
    ------
    ValueError, TypeError : a reading holds what readings may not (NaN, infinity, an array)
    """
    pairs = {name: [reading.value, reading.why_missing] for name, reading in sorted(measurement.items())}
    text = json.dumps(pairs, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=_plain)
    return zlib.compress(text.encode("utf-8"), 6)


def from_bytes(payload: bytes) -> Measurement:
    """The measurement from `to_bytes`.

    Raises
    ------
    ValueError : not such bytes, or damaged (zlib has a checksum)
    """
    try:
        pairs = json.loads(_inflated(payload))
        return Measurement({name: _reading(value, why) for name, (value, why) in pairs.items()})
    except (zlib.error, AttributeError, TypeError, RecursionError) as error:
        raise ValueError("not a measurement") from error


def _inflated(payload: bytes) -> bytes:
    inflater = zlib.decompressobj()
    text = inflater.decompress(payload, MOST_BYTES)
    if not inflater.eof or inflater.unused_data:
        raise ValueError("not a measurement")
    return text


def _reading(value: Any, why: Any) -> Reading:
    """A reading has a value or a reason, never both, and never a group."""
    if not isinstance(why, str) or (value is None) is not bool(why) or isinstance(value, dict):
        raise ValueError("not a measurement")
    return Reading(_frozen(value), why)


def _frozen(value: Any) -> Any:
    """Lists as tuples; a list of plain values is not walked in Python, since curves have thousands of them."""
    if type(value) is not list:
        return value
    return tuple(map(_frozen, value)) if list in map(type, value) else tuple(value)


def _plain(value: Any) -> Any:
    """A NumPy number as the plain Python number."""
    if getattr(value, "ndim", None) == 0 and hasattr(value, "item"):
        return value.item()
    raise TypeError(f"a reading cannot hold {type(value).__name__}")
