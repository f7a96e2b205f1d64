"""What was measured once is known again; whatever happens to the file, the job goes on."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from delivery.errors import Unreadable
from delivery.ledger import cache as cache_module
from delivery.ledger.cache import MeasurementCache
from delivery.ledger.file_state import file_sha256
from delivery.ledger.migrations import migrate
from delivery.ledger.store import connect
from delivery.model.figure import Measurement, Reading

MEASURED = Measurement(
    {"true_peak_dbtp": Reading(-1.03), "overs": Reading(((1.5, 1, 0.25),)), "x": Reading.missing("silent")}
)
SECOND_NS = 1_000_000_000


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "cache").mkdir()
    return tmp_path / "cache" / "ledger.sqlite3"


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the files whose bytes were read for a hash."""
    seen: list[str] = []

    def counted(path: Path) -> str:
        seen.append(path.name)
        return file_sha256(path)

    monkeypatch.setattr(cache_module, "file_sha256", counted)
    return seen


def aged(path: Path, content: bytes, age_s: float = 3600) -> int:
    """Write a file as if *age_s* had passed; returns a 'now' in ns at which its times are that old."""
    path.write_bytes(content)
    status = path.stat()
    return max(status.st_mtime_ns, status.st_ctime_ns) + round(age_s * SECOND_NS)


def test_sha256_of_the_standards_message(tmp_path: Path) -> None:
    """FIPS 180-4, example of SHA-256: 'abc'."""
    path = tmp_path / "a"
    path.write_bytes(b"abc")
    assert file_sha256(path) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    path.write_bytes(bytes(3_000_001))
    assert file_sha256(path) == hashlib.sha256(bytes(3_000_001)).hexdigest()


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match=r"none\.wav: found no such file"):
        file_sha256(tmp_path / "none.wav")
    with pytest.raises(Unreadable, match=r"no way to read it"):
        file_sha256(tmp_path)


def test_kept_between_runs_and_meters(place: Path) -> None:
    with MeasurementCache(place) as cache:
        assert cache.get("a" * 64, "v1") is None
        cache.put("a" * 64, "v1", MEASURED)
    with MeasurementCache(place) as cache:
        assert cache.get("a" * 64, "v1") == MEASURED
        assert cache.get("a" * 64, "v2") is None
        assert cache.get("b" * 64, "v1") is None
        assert cache.remarks == []


def test_a_measurement_is_known_without_reading_it(place: Path) -> None:
    with MeasurementCache(place) as cache:
        cache.put("a" * 64, "v1", MEASURED)
        assert cache.has("a" * 64, "v1")
        assert not cache.has("a" * 64, "v2")
        assert not cache.has("b" * 64, "v1")


def test_measured_again_is_put_over(place: Path) -> None:
    changed = MEASURED.with_readings({"x": Reading(1)})
    with MeasurementCache(place) as cache:
        cache.put("a", "v", MEASURED)
        cache.put("a", "v", changed)
        assert cache.get("a", "v") == changed


def test_the_oldest_are_removed_first(place: Path) -> None:
    with MeasurementCache(place, kept=3) as cache:
        for number in range(7):
            cache.put(str(number), "v", MEASURED)
        assert [cache.get(str(number), "v") is not None for number in range(7)] == [False] * 4 + [True] * 3


def test_a_file_is_hashed_once(place: Path, tmp_path: Path, reads: list[str]) -> None:
    song = tmp_path / "a.wav"
    now_ns = aged(song, b"one")
    with MeasurementCache(place) as cache:
        assert cache.sha256(song, now_ns) == hashlib.sha256(b"one").hexdigest()
        assert cache.sha256(song, now_ns) == hashlib.sha256(b"one").hexdigest()
    with MeasurementCache(place) as cache:
        assert cache.sha256(song, now_ns) == hashlib.sha256(b"one").hexdigest()
    assert reads == ["a.wav"]


def test_other_size_or_time_is_hashed_again(place: Path, tmp_path: Path, reads: list[str]) -> None:
    song = tmp_path / "a.wav"
    with MeasurementCache(place) as cache:
        for content in (b"one", b"three"):
            assert cache.sha256(song, aged(song, content)) == hashlib.sha256(content).hexdigest()
        now_ns = aged(song, b"thrEE")
        os.utime(song, ns=(now_ns - 99 * SECOND_NS, now_ns - 99 * SECOND_NS))
        assert cache.sha256(song, now_ns) == hashlib.sha256(b"thrEE").hexdigest()
    assert reads == ["a.wav"] * 3


@pytest.mark.skipif(sys.platform == "win32", reason="there the second time is that of the file's making")
def test_same_size_and_time_by_a_copy_that_keeps_times(place: Path, tmp_path: Path) -> None:
    """A tool may set the time of content back; the time of the entry it cannot."""
    song = tmp_path / "a.wav"
    now_ns = aged(song, b"one")
    before = song.stat()
    with MeasurementCache(place) as cache:
        cache.sha256(song, now_ns)
        while True:
            song.write_bytes(b"two")
            os.utime(song, ns=(before.st_atime_ns, before.st_mtime_ns))
            if song.stat().st_ctime_ns != before.st_ctime_ns:
                break
        assert cache.sha256(song, now_ns) == hashlib.sha256(b"two").hexdigest()


@pytest.mark.parametrize(("age_s", "times_read"), [(-5, 2), (0, 2), (1.9, 2), (2.1, 1), (60, 1)])
def test_fresh_times_are_not_trusted(
    place: Path, tmp_path: Path, reads: list[str], age_s: float, times_read: int
) -> None:
    """FAT stores times in steps of two seconds: within a step a second change leaves no trace."""
    song = tmp_path / "a.wav"
    now_ns = aged(song, b"one", age_s)
    with MeasurementCache(place) as cache:
        cache.sha256(song, now_ns)
        cache.sha256(song, now_ns)
    assert len(reads) == times_read


@pytest.mark.skipif(sys.platform == "win32", reason="there the second time is that of the file's making")
def test_a_fresh_copy_with_an_old_date_is_not_trusted(place: Path, tmp_path: Path, reads: list[str]) -> None:
    song = tmp_path / "a.wav"
    song.write_bytes(b"one")
    os.utime(song, ns=(SECOND_NS, SECOND_NS))
    now_ns = song.stat().st_ctime_ns + SECOND_NS
    with MeasurementCache(place) as cache:
        cache.sha256(song, now_ns)
        cache.sha256(song, now_ns)
    assert len(reads) == 2


def test_the_systems_clock_is_used_without_a_stated_time(place: Path, tmp_path: Path, reads: list[str]) -> None:
    song = tmp_path / "a.wav"
    song.write_bytes(b"one")
    with MeasurementCache(place) as cache:
        cache.sha256(song)
        cache.sha256(song)
    assert len(reads) == 2  # both within two seconds of writing it


def test_a_file_that_changes_while_it_is_read_is_not_remembered(
    place: Path, tmp_path: Path, reads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even when its size and times are restored afterwards, as a restored backup's do on some disks."""
    song = tmp_path / "a.wav"
    song.write_bytes(b"one")
    before, after = (3, SECOND_NS, SECOND_NS), (3, 2 * SECOND_NS, 2 * SECOND_NS)
    times = [before]
    monkeypatch.setattr(cache_module, "stamp", lambda _path: times[-1])
    hashed = cache_module.file_sha256

    def changing(path: Path) -> str:
        times.append(after)
        return hashed(path)

    monkeypatch.setattr(cache_module, "file_sha256", changing)
    with MeasurementCache(place) as cache:
        cache.sha256(song, 99 * SECOND_NS)
        times.append(before)
        cache.sha256(song, 99 * SECOND_NS)
    assert reads == ["a.wav", "a.wav"]


@pytest.mark.parametrize(
    "damage", [b"this is no database, whatever its name says" * 99, b"SQLite format 3\0" + b"\xff" * 9000]
)
def test_a_damaged_file_is_set_aside(place: Path, damage: bytes) -> None:
    place.write_bytes(damage)
    with MeasurementCache(place) as cache:
        cache.put("a", "v", MEASURED)
        assert cache.get("a", "v") == MEASURED
        assert cache.remarks == [
            f"The ledger {place} was damaged; it was renamed to ledger.sqlite3.damaged, and a new one was started. "
            "Read the packages back with 'delivery history --rebuild FOLDER'."
        ]
    assert place.with_name("ledger.sqlite3.damaged").read_bytes() == damage
    with MeasurementCache(place) as cache:
        assert (cache.get("a", "v"), cache.remarks) == (MEASURED, [])


def test_damage_found_later_is_set_aside_too(place: Path) -> None:
    """Pages go bad under a header that is whole."""
    with MeasurementCache(place) as cache:
        for number in range(300):
            cache.put(str(number), "v", MEASURED)
    content = bytearray(place.read_bytes())
    content[4096:] = b"\x5a" * (len(content) - 4096)
    place.write_bytes(content)
    with MeasurementCache(place) as cache:
        assert [cache.get(str(number), "v") for number in range(300)] == [None] * 300
        assert len(cache.remarks) == 1
        assert "was renamed to" in cache.remarks[0]
        cache.put("a", "v", MEASURED)
        assert cache.get("a", "v") == MEASURED


def test_another_programs_database_is_left_as_it_is(place: Path) -> None:
    store = sqlite3.connect(place)
    store.execute("CREATE TABLE measurement (something TEXT)")
    store.commit()
    store.close()
    before = place.read_bytes()
    with MeasurementCache(place) as cache:
        cache.put("a", "v", MEASURED)
        assert cache.get("a", "v") == MEASURED
        (remark,) = cache.remarks
    assert "it is another program's database, and is left as it is" in remark
    assert place.read_bytes() == before


def test_a_damaged_row_is_measured_again(place: Path) -> None:
    with MeasurementCache(place) as cache:
        cache.put("a", "v", MEASURED)
    store = sqlite3.connect(place)
    store.execute("UPDATE measurement SET payload = x'789c0102'")
    store.commit()
    store.close()
    with MeasurementCache(place) as cache:
        assert cache.get("a", "v") is None
        cache.put("a", "v", MEASURED)
        assert cache.get("a", "v") == MEASURED


def test_no_place_for_a_file_is_a_remark(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"x")
    for place in (tmp_path / "file" / "cache.sqlite3", tmp_path):
        with MeasurementCache(place) as cache:
            cache.put("a", "v", MEASURED)
            assert cache.get("a", "v") == MEASURED
            assert len(cache.remarks) == 1
            assert "cannot be used" in cache.remarks[0]


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="nothing is read-only for this user")
def test_a_read_only_folder_is_a_remark(place: Path) -> None:
    place.parent.chmod(0o500)
    with MeasurementCache(place) as cache:
        cache.put("a", "v", MEASURED)
        assert cache.get("a", "v") == MEASURED
        assert len(cache.remarks) == 1
    place.parent.chmod(0o700)


def test_a_full_disk_is_a_remark(place: Path) -> None:
    """SQLite is reported that no page may be added: the error is that of a full disk."""
    with MeasurementCache(place) as cache:
        cache._store.execute("PRAGMA max_page_count = 1")
        large = Measurement({"curve": Reading(tuple(n / 7 for n in range(9000)))})
        cache.put("a", "v", large)
        assert len(cache.remarks) == 1
        assert "full" in cache.remarks[0]
        cache.put("a", "v", large)
        assert cache.get("a", "v") == large
        assert len(cache.remarks) == 1


def test_what_cannot_be_kept_is_a_remark(place: Path) -> None:
    with MeasurementCache(place) as cache:
        cache.put("a", "v", Measurement({"x": Reading(float("nan"))}))
        assert cache.get("a", "v") is None
        assert len(cache.remarks) == 1


def test_many_threads_share_one(place: Path, tmp_path: Path) -> None:
    songs = [tmp_path / f"{number}.wav" for number in range(40)]
    now_ns = max(aged(song, song.name.encode()) for song in songs)

    def work(song: Path) -> Measurement | None:
        sha256 = cache.sha256(song, now_ns)
        cache.put(sha256, "v", Measurement({"name": Reading(song.name)}))
        return cache.get(sha256, "v")

    with MeasurementCache(place) as cache, ThreadPoolExecutor(8) as pool:
        found = list(pool.map(work, songs * 5))
    assert [one.value("name") for one in found if one] == [song.name for song in songs * 5]
    assert cache.remarks == []


PROCESS = """
import sys
import threading
from pathlib import Path
from delivery.ledger import store
from delivery.ledger.cache import MeasurementCache
from delivery.model.figure import Measurement, Reading
store.WAIT_S = 60.0  # four processes write at once: on a busy machine one may wait longer than a user would
mine = sys.argv[2]
with MeasurementCache(Path(sys.argv[1])) as cache:
    for number in range(40):
        cache.put(f"{mine}-{number}", "v", Measurement({"n": Reading(number)}))
        assert cache.get(f"{mine}-{number}", "v").value("n") == number
print(cache.remarks)
"""


def test_many_processes_share_one(place: Path) -> None:
    """They also race to lay it out."""
    root = Path(cache_module.__file__).resolve().parents[2]
    started = [
        subprocess.Popen(
            [sys.executable, "-c", PROCESS, str(place), str(number)], cwd=root, stdout=subprocess.PIPE, text=True
        )
        for number in range(4)
    ]
    said = [process.communicate(timeout=240)[0].strip() for process in started]
    assert said == ["[]"] * 4
    with MeasurementCache(place) as cache:
        found = [cache.get(f"{mine}-{number}", "v") for mine in range(4) for number in range(40)]
    assert all(found)


def test_names_that_are_no_text(place: Path, tmp_path: Path, reads: list[str]) -> None:
    song = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.wav"))
    try:
        now_ns = aged(song, b"one")
    except OSError:
        pytest.skip("this system permits no such name")
    with MeasurementCache(place) as cache:
        cache.sha256(song, now_ns)
        cache.sha256(song, now_ns)
    assert len(reads) == 1


def test_its_default_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_data_path", lambda name: tmp_path / name)
    with MeasurementCache() as cache:
        assert cache.path == tmp_path / "delivery" / "ledger.sqlite3"
        assert cache.path.is_file()


def test_a_ledger_laid_out_by_another_while_it_is_opened_is_the_same_ledger(place: Path) -> None:
    """The mark is read before the other has committed, the tables after it: neither is another program's."""
    other = threading.Thread(target=lambda: connect(place, patient=True).close())

    class Interrupted(sqlite3.Connection):
        """Lets the other lay it out just before the tables are counted; waits as long as it may take unhindered."""

        def execute(self, statement: str, *values: object) -> sqlite3.Cursor:
            if "sqlite_master" in statement and not other.ident:
                other.start()
                other.join(timeout=2)
            return super().execute(statement, *values)

    store = sqlite3.connect(place, factory=Interrupted, isolation_level="IMMEDIATE", timeout=10)
    try:
        migrate(store)
    finally:
        store.close()
        other.join()
