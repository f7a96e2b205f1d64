"""The ledger of deliveries keeps what was delivered, through trouble of every kind."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.ledger import rows
from delivery.ledger.cache import MeasurementCache
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.migrations import LATEST
from delivery.ledger.past import PastDelivery
from delivery.ledger.same_release import identity_of
from delivery.ledger.store import connect, default_path
from delivery.model.figure import Measurement, Reading
from delivery.own_folders import data_folder
from tests.ledger.deliveries import past, recording, waits_for_locks

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "ledger.sqlite3"


def sent(ledger: DeliveryLedger, **wanted: list[str]) -> list[tuple[str, int]]:
    return [(one.isrc, one.revision) for one in ledger.sent_before(**wanted)]


def unnumbered(delivery: PastDelivery | None) -> PastDelivery | None:
    return replace(delivery, id=0) if delivery else None


def test_found_again_by_code_recording_bar_code_or_catalogue_number(place: Path) -> None:
    DeliveryLedger(place).record(past(songs=2))
    ledger = DeliveryLedger(place)
    assert sent(ledger, isrc=["ZZOSL2600001"]) == [("ZZOSL2600001", 1)]
    assert sent(ledger, audio_hash=[f"{2:032x}", "cc", ""]) == [("ZZOSL2600002", 1)]
    assert len(sent(ledger, isrc=["ZZOSL2600001"], upc=["2000000140018"])) == 2
    assert len(sent(ledger, catalogue_number=["OSL-014"])) == 2
    assert sent(ledger, isrc=["X"]) == sent(ledger) == []


def test_an_empty_code_finds_nothing(place: Path) -> None:
    ledger = DeliveryLedger(place)
    ledger.record(past(upc="", catalogue_number="", recordings=(recording(isrc="", audio_hash=""),)))
    assert sent(ledger, isrc=[""], upc=[""], catalogue_number=[""], audio_hash=[""]) == []


def test_the_last_delivery_is_read_back_whole(place: Path) -> None:
    ledger = DeliveryLedger(place)
    first, second = past("a", waivers=({"rule": "tail_s", "by": "M", "why": "w"},)), past("b", songs=3, revision=2)
    other = past("c", release_key="osl-015\n\n\n", revision=7)
    for each in (first, second, other):
        ledger.record(each)
    assert unnumbered(ledger.last_of(identity_of(first))) == second
    assert ledger.last_of(identity_of(past(release_key="unknown"))) is None
    assert unnumbered(ledger.by_fingerprint("a")) == replace(first, document=None)


def test_of_one_revision_the_package_built_last_is_the_last_delivery(place: Path) -> None:
    """Also when its bytes are those of an earlier one: a change that was taken back."""
    ledger = DeliveryLedger(place)
    for fingerprint in ("a", "b", "a"):
        ledger.record(past(fingerprint))
    last = ledger.last_of(identity_of(past()))
    assert last is not None
    assert last.fingerprint == "a"
    ledger.record(past("b", path="/moved"), built=False)
    found = ledger.last_of(identity_of(past()))
    assert found is not None
    assert found.fingerprint == "a"


def test_a_package_for_another_recipient_does_not_take_its_place(place: Path) -> None:
    """As when an archived package was made into files for a further spec, of the same revision."""
    ledger = DeliveryLedger(place)
    sync = {"id": "sync", "title": "Sync", "edition": "", "checked": "", "digest": "e"}
    ledger.record(past("a"))
    ledger.record(past("b", specs=(sync,)))
    for specs, fingerprint in ((("cd",), "a"), (("cd", "mp3"), "a"), (("sync",), "b"), ((), "b"), (("mp3",), "b")):
        last = ledger.last_of(identity_of(past()), specs=specs)
        assert last is not None
        assert last.fingerprint == fingerprint, specs


def test_the_same_package_again_is_kept_once(place: Path) -> None:
    ledger = DeliveryLedger(place)
    ledger.record(past())
    ledger.record(past(path="/elsewhere", songs=2))
    found = ledger.last_of(identity_of(past()))
    assert found is not None
    assert (found.path, len(found.recordings), found.id) == ("/elsewhere", 2, 1)
    assert sent(ledger, isrc=["ZZOSL2600001"]) == [("ZZOSL2600001", 1)]


def test_more_codes_than_one_query_takes(place: Path) -> None:
    ledger = DeliveryLedger(place)
    ledger.record(past(songs=1500))
    assert len(sent(ledger, isrc=[f"ZZOSL26{number:05}" for number in range(1, 1501)])) == 1500


def test_reading_makes_no_file(tmp_path: Path) -> None:
    ledger = DeliveryLedger(tmp_path / "ledger.sqlite3")
    assert sent(ledger, isrc=["X"]) == []
    assert ledger.last_of(identity_of(past())) is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "content", [b"not a database, but long enough to be read as one" * 40, b"SQLite format 3\0" + bytes(500)]
)
def test_a_damaged_file_is_set_aside_and_the_delivery_recorded(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "ledger.sqlite3"
    path.write_bytes(content)
    ledger = DeliveryLedger(path)
    assert sent(ledger, isrc=["X"]) == []
    assert ledger.record(past())
    (remark,) = ledger.remarks
    assert "was damaged; it was renamed to ledger.sqlite3.damaged" in remark
    assert "delivery history --rebuild FOLDER" in remark
    assert (tmp_path / "ledger.sqlite3.damaged").read_bytes() == content
    assert sent(DeliveryLedger(path), isrc=["ZZOSL2600001"]) == [("ZZOSL2600001", 1)]


def test_a_second_damaged_file_does_not_replace_the_first(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    for text in (b"one" * 500, b"two" * 500):
        path.write_bytes(text)
        DeliveryLedger(path).record(past())
    assert (tmp_path / "ledger.sqlite3.damaged").read_bytes() == b"one" * 500
    assert (tmp_path / "ledger.sqlite3.damaged-2").read_bytes() == b"two" * 500


def filled(path: Path, count: int = 300) -> None:
    store = connect(path)
    with store:
        for number in range(count):
            rows.write(store, past(f"{number}", revision=number))
    store.close()


@pytest.mark.thorough(2)
@pytest.mark.parametrize("kept", [0.02, 0.3, 0.5, 0.9, 0.99])
def test_a_truncated_file_never_blocks_a_delivery(tmp_path: Path, kept: float) -> None:
    path = tmp_path / "ledger.sqlite3"
    filled(path)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * kept)])
    ledger = DeliveryLedger(path)
    assert ledger.record(past("new", revision=999))
    assert len(ledger.remarks) == 1
    found = DeliveryLedger(path).last_of(identity_of(past()))
    assert found is not None
    assert found.fingerprint == "new"


def test_deliveries_on_pages_that_can_be_read_are_carried_over(tmp_path: Path) -> None:
    """Hand-overs are in no package: what can be read of a damaged file is not given up."""
    path = tmp_path / "ledger.sqlite3"
    filled(path)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 8 * 4096] = b"\x5a" * 8 * 4096
    path.write_bytes(content)
    ledger = DeliveryLedger(path)
    for number in range(0, 300, 5):  # until a broken page is met
        ledger.record(past(f"{number}", revision=number, songs=2))
    assert len(ledger.remarks) == 1
    assert "deliveries that could be read" in ledger.remarks[0]
    with_both_songs = [ledger.by_fingerprint(f"{number}") for number in range(300)]
    assert sum(one is not None for one in with_both_songs) > 200
    store = connect(path)
    assert store.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    orphans = "SELECT count(*) FROM recording WHERE delivery NOT IN (SELECT id FROM delivery)"
    assert store.execute(orphans).fetchone()[0] == 0
    store.close()


def test_a_newer_version_s_file_is_unchanged_and_named(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    filled(path, 2)
    store = sqlite3.connect(path)
    store.execute(f"PRAGMA user_version = {LATEST + 1}")
    store.commit()
    store.close()
    before = path.read_bytes()
    ledger = DeliveryLedger(path)
    assert not ledger.record(past("new"))
    assert sent(ledger, isrc=["ZZOSL2600001"]) == []
    (remark,) = ledger.remarks  # once
    assert f"made by a newer version of this program (layout {LATEST + 1}), and is left as it is" in remark
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


def test_another_program_s_database_is_unchanged(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    store = sqlite3.connect(path)
    store.execute("CREATE TABLE delivery (anything)")
    store.commit()
    store.close()
    before = path.read_bytes()
    ledger = DeliveryLedger(path)
    ledger.record(past())
    assert "another program's database" in ledger.remarks[0]
    assert path.read_bytes() == before


def test_no_path_to_write_to(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    ledger = DeliveryLedger(tmp_path / "file" / "ledger")
    assert not ledger.record(past())
    assert len(ledger.remarks) == 1


def test_measurements_and_deliveries_share_one_file(place: Path) -> None:
    with MeasurementCache(place) as cache:
        cache.put("a", "v", Measurement({"x": Reading(1.0)}))
        ledger = DeliveryLedger(place)
        assert ledger.record(past())
        cache.put("b", "v", Measurement({"x": Reading(2.0)}))
        assert cache.get("a", "v") is not None
    assert (cache.remarks, ledger.remarks) == ([], [])
    assert sent(ledger, isrc=["ZZOSL2600001"])


def test_a_log_that_processes_share_in_the_data_folder_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write-ahead log needs shared memory (sqlite.org/wal.html): not for a file on a network drive."""
    monkeypatch.setattr("platformdirs.user_data_path", lambda name: tmp_path / name)
    modes = {}
    (tmp_path / "drive").mkdir()
    for path in (default_path(), tmp_path / "drive" / "ledger.sqlite3"):
        store = connect(path)
        modes[path.parent.name] = store.execute("PRAGMA journal_mode").fetchone()[0]
        store.close()
    assert modes == {"delivery": "wal", "drive": "delete"}


def test_the_environment_sets_its_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path))
    assert default_path() == tmp_path / "ledger.sqlite3"
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "mine.sqlite3"))
    assert default_path() == tmp_path / "mine.sqlite3"


WRITER = """
import sys
from pathlib import Path
from delivery.ledger.deliveries import DeliveryLedger
from tests.ledger.deliveries import past
path, mine = Path(sys.argv[1]), sys.argv[2]
for number in range(int(sys.argv[3])):
    ledger = DeliveryLedger(path)
    assert ledger.record(past(f"{mine}-{number}", songs=3)), ledger.remarks
    print(number, flush=True)
"""


def writer(path: Path, name: str, count: int) -> subprocess.Popen[str]:
    words = [sys.executable, "-c", WRITER, str(path), name, str(count)]
    return subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.mark.parametrize("shared_log", [True, False])
def test_two_processes_lose_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shared_log: bool) -> None:
    """They also race to lay it out."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    (tmp_path / "drive").mkdir()
    path = default_path() if shared_log else tmp_path / "drive" / "ledger.sqlite3"
    started = [writer(path, name, 25) for name in ("one", "two")]
    for process in started:
        said, error = process.communicate(timeout=120)
        assert (process.returncode, error) == (0, "")
        assert len(said.splitlines()) == 25
    store = sqlite3.connect(path)
    counts = [store.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("delivery", "recording")]
    turns = store.execute("SELECT count(DISTINCT turn) FROM delivery").fetchone()[0]
    store.close()
    assert counts == [50, 150]
    assert turns == 50  # each read the last number under the lock under which it wrote its own


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL")
@pytest.mark.parametrize("shared_log", [True, False])
def test_a_process_killed_while_writing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shared_log: bool) -> None:
    """Every delivery it reported is there, whole; the next process goes on without a remark."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    (tmp_path / "drive").mkdir()
    path = default_path() if shared_log else tmp_path / "drive" / "ledger.sqlite3"
    for turn in range(4):
        process = writer(path, f"{turn}", 100_000)
        assert process.stdout is not None
        reported = [process.stdout.readline() for _ in range(3 + turn)]
        time.sleep(0.003 * turn)
        process.send_signal(signal.SIGKILL)
        reported += process.communicate()[0].splitlines()
        ledger = DeliveryLedger(path)
        for number in range(len(reported)):
            found = ledger.by_fingerprint(f"{turn}-{number}")
            assert found is not None, f"delivery {number} of {len(reported)} is lost"
            assert (len(found.recordings), len(found.files)) == (3, 3)
        assert ledger.record(past(f"after {turn}"))
        assert ledger.remarks == []
    store = sqlite3.connect(path)
    assert store.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    torn = "SELECT count(*) FROM delivery WHERE id NOT IN (SELECT delivery FROM recording)"
    assert store.execute(torn).fetchone()[0] == 0
    store.close()


def test_a_lock_is_waited_for_once_and_then_given_up(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("delivery.ledger.store.LONG_WAIT_S", 0.2)
    filled(place, 1)
    other = sqlite3.connect(place)
    other.execute("BEGIN EXCLUSIVE")
    waits_s = waits_for_locks(monkeypatch)
    ledger = DeliveryLedger(place)
    assert not ledger.record(past("new"))
    assert not ledger.record(past("newer"))
    assert waits_s == [0.2]
    other.close()
    (remark,) = ledger.remarks
    assert "nothing is recorded. Packages are complete without it." in remark
    assert "delivery history --rebuild" in remark


def test_a_reader_passes_over_a_busy_ledger_and_still_records(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without a log, as on a network drive: readers are locked out while another machine writes. A delivery
    waits for it once, shortly, to read; what it has to record waits longer."""
    monkeypatch.setattr("delivery.ledger.store.WAIT_S", 0.3)
    filled(place, 1)
    assert place.parent != data_folder()
    other = sqlite3.connect(place, check_same_thread=False)
    other.execute("BEGIN EXCLUSIVE")
    waits_s = waits_for_locks(monkeypatch)
    ledger = DeliveryLedger(place)
    assert ledger.with_isrc("ZZOSL2600001") == ()
    assert ledger.last_of(identity_of(past())) is None
    assert waits_s == [0.3]
    with MeasurementCache(place) as cache:
        assert cache.get("0" * 64, "1") is None
        assert "files are measured again" in cache.remarks[0]
    assert waits_s == [0.3, 0.3]
    (remark,) = ledger.remarks
    assert "it was not read, and nothing is compared with earlier deliveries in it" in remark
    assert not ledger.usable
    threading.Timer(0.5, other.close).start()
    assert ledger.record(past("new"))
    assert DeliveryLedger(place).by_fingerprint("new") is not None
