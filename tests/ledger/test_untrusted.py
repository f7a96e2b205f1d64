"""A cache file is used only as far as it can be checked."""

from __future__ import annotations

import json
import sqlite3
import zlib
from pathlib import Path

import pytest

from delivery.ledger.cache import MeasurementCache
from delivery.ledger.migrations import LATEST
from delivery.ledger.store import default_path
from delivery.ledger.text import from_bytes
from delivery.model.figure import Measurement, Reading
from tests.ledger.deliveries import waits_for_locks


def packed(pairs: object) -> bytes:
    return zlib.compress(json.dumps(pairs).encode())


@pytest.mark.parametrize(
    "payload",
    [
        packed({"a": [1.0, "and a reason"]}),
        packed({"a": [None, ""]}),
        packed({"a": [{"b": 1}, ""]}),
        packed({"a": [1.0, 2]}),
        packed([1]),
        packed({"a": 1}),
        zlib.compress(b"[" * 100_000),
        zlib.compress(bytes(100 * 2**20)),
        packed({"a": [1.0, ""]})[:-3],
        b"",
    ],
)
def test_a_reading_of_another_shape_is_no_reading(payload: bytes) -> None:
    with pytest.raises(ValueError, match=r".*"):
        from_bytes(payload)


def test_a_newer_cache_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "cache"
    with MeasurementCache(path) as cache:
        cache.put("a" * 64, "1", Measurement({"x": Reading(1.0)}))
    store = sqlite3.connect(path)
    store.execute(f"PRAGMA user_version = {LATEST + 1}")
    store.commit()
    store.close()
    before = path.read_bytes()
    with MeasurementCache(path) as cache:
        assert cache.get("a" * 64, "1") is None
        cache.put("b" * 64, "1", Measurement({"x": Reading(1.0)}))
        assert cache.get("b" * 64, "1") is not None  # in memory
    (remark,) = cache.remarks
    assert "made by a newer version of this program" in remark
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir() if "damaged" in file.name] == []


def test_a_lock_is_waited_for_once_and_not_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_data_path", lambda name: tmp_path / name)
    monkeypatch.setattr("delivery.ledger.store.WAIT_S", 0.2)
    path = default_path()
    MeasurementCache(path).close()
    other = sqlite3.connect(path)
    other.execute("BEGIN EXCLUSIVE")
    waits_s = waits_for_locks(monkeypatch)
    with MeasurementCache(path) as cache:
        for number in range(20):
            cache.put(f"{number:064}", "1", Measurement({"x": Reading(1.0)}))
    other.close()
    assert len(cache.remarks) == 1
    assert waits_s == [0.2]
