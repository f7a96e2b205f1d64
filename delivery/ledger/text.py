"""A measurement as bytes and back, exactly: tuples stay tuples, every float keeps its last bit. Pure."""

from __future__ import annotations

import json
import zlib
from typing import Any

from delivery.model.figure import Measurement, Reading


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
    """The measurement that was put in.

    Raises
    ------
    ValueError : these are no such bytes, or some of them were changed (zlib carries a checksum)
    """
    try:
        pairs = json.loads(zlib.decompress(payload))
        return Measurement({name: Reading(_frozen(value), why) for name, (value, why) in pairs.items()})
    except (zlib.error, AttributeError, TypeError) as error:
        raise ValueError("not a measurement") from error


def _frozen(value: Any) -> Any:
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value


def _plain(value: Any) -> Any:
    """A number of numpy's as the plain number it is."""
    if getattr(value, "ndim", None) == 0 and hasattr(value, "item"):
        return value.item()
    raise TypeError(f"a reading cannot hold {type(value).__name__}")
