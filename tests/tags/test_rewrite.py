"""Chunks around the sound: what is not ours stays, sizes and pad bytes come out right, memory stays small."""

from __future__ import annotations

import struct
import tracemalloc
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.tags import id3, riff
from delivery.tags.chunks import Chunk, layout_of
from delivery.tags.rewrite import New, place, rewrite
from tests.tags.sounds import FMT, VALUES, build, chunks, info, wav

FOREIGN = [
    (b"cue ", struct.pack("<I6I", 1, 1, 0, 0x61746164, 0, 0, 2)),
    (b"LIST", b"adtl" + b"labl" + struct.pack("<II", 6, 1) + b"a\0"),
    (b"iXML", b"<BWFXML/>!"[:9]),  # odd on purpose
    (b"smpl", bytes(36)),
]


def make(tmp_path: Path, data: bytes, name: str = "a.wav") -> Path:
    path = tmp_path / name
    path.write_bytes(data)
    return path


def tag(path: Path) -> list[tuple[bytes, bytes]]:
    id3.write(path, VALUES, None, None)
    riff.write(path, VALUES, None, None)
    return chunks(path.read_bytes())


@pytest.mark.parametrize("where", ["before", "after", "both"])
def test_foreign_chunks_stay(tmp_path: Path, where: str) -> None:
    """In their order, byte for byte, on their side of the sound; ours are behind them."""
    before = tuple(FOREIGN) if where != "after" else ()
    after = FOREIGN if where != "before" else []
    found = tag(make(tmp_path, wav(*after, before=before, sound=b"odd")))
    names = [name for name, _ in found]
    ours = [b"LIST", b"axml", b"id3 "]
    foreign = [name for name, _ in FOREIGN]
    expected = [b"fmt ", *(foreign if before else []), b"bext", b"data", *(foreign if after else []), *ours]
    assert names == expected
    for chunk in FOREIGN:
        assert found.count(chunk) == len(before) // 4 + len(after) // 4
    assert (b"data", b"odd") in found


def test_foreign_chunks_of_an_aiff_stay(tmp_path: Path) -> None:
    comm = struct.pack(">hIh", 1, 2, 16) + b"\x40\x0e\xac\x44" + bytes(6)
    given = [
        (b"COMM", comm),
        (b"NAME", b"Slack Water"),
        (b"MARK", b"\0\0\1"),
        (b"SSND", bytes(8) + b"\1\2\3"),
        (b"ANNO", b"made by hand!"),
    ]
    path = make(tmp_path, build(given, b"FORM", b"AIFF"), "a.aiff")
    id3.write(path, VALUES, None, None)
    found = chunks(path.read_bytes())
    assert found[:-1] == given
    assert found[-1][0] == b"ID3 "


def test_foreign_info_entries_stay(tmp_path: Path) -> None:
    old = b"INFO" + b"ISFT" + struct.pack("<I", 5) + b"made\0\0" + b"INAM" + struct.pack("<I", 4) + b"old\0"
    found = dict(tag(make(tmp_path, wav((b"LIST", old)))))
    entries = info(found[b"LIST"])
    assert entries[b"ISFT"] == b"made\0"
    assert entries[b"INAM"] == b"Slack Water (Instrumental)\0"
    assert next(iter(entries)) == b"ISFT"


def test_several_info_lists_become_one(tmp_path: Path) -> None:
    one = b"INFO" + b"ISFT" + struct.pack("<I", 2) + b"a\0"
    two = b"INFO" + b"ICMT" + struct.pack("<I", 2) + b"b\0"
    found = tag(make(tmp_path, wav((b"LIST", two), before=((b"LIST", one),))))
    lists = [info(body) for name, body in found if name == b"LIST"]
    assert len(lists) == 1
    assert (lists[0][b"ISFT"], lists[0][b"ICMT"]) == (b"a\0", b"b\0")


def test_both_spellings_of_the_id3_chunk_become_one(tmp_path: Path) -> None:
    given = wav((b"ID3 ", b"ID3\x04\0\0\0\0\0\0"), (b"id3 ", b"ID3\x04\0\0\0\0\0\0"))
    assert [name for name, _ in tag(make(tmp_path, given))].count(b"id3 ") == 1


def test_frames_without_a_field_stay(tmp_path: Path) -> None:
    """A tag made by hand: comment frame, ID3v2.4, UTF-8."""
    comment = b"COMM" + bytes([0, 0, 0, 9]) + b"\0\0" + b"\3eng\0kept"
    old = b"ID3\x04\0\0" + bytes([0, 0, 0, len(comment)]) + comment
    found = dict(tag(make(tmp_path, wav((b"id3 ", old)))))
    assert b"COMM" in found[b"id3 "]
    assert b"\3eng\0kept" in found[b"id3 "]


def test_an_unreadable_tag_is_replaced(tmp_path: Path) -> None:
    path = make(tmp_path, wav((b"id3 ", b"ID3\x09\0\0\x7f\x7f\x7f\x7fgarbage!")))
    with pytest.raises(Unusable, match="a tag that stops reading"):
        id3.read_columns(path)
    tag(path)
    assert id3.read_columns(path)["id3"]["title"] == "Slack Water"


@pytest.mark.parametrize("padded", [True, False])
def test_an_odd_chunk_whose_pad_byte_was_forgotten(tmp_path: Path, padded: bool) -> None:
    """Some writers forget it; what follows must still be found, and the new file has it."""
    head = build([(b"fmt ", FMT)]) + b"note" + struct.pack("<I", 3) + b"abc" + (b"\0" if padded else b"")
    data = head + b"data" + struct.pack("<I", 4) + b"\1\2\3\4"
    path = make(tmp_path, data[:4] + struct.pack("<I", len(data) - 8) + data[8:])
    assert [chunk.id for chunk in layout_of(path).chunks] == [b"fmt ", b"note", b"data"]
    id3.write(path, VALUES, None, None)  # would need nothing but the end of the file, were the rest in order
    found = dict(chunks(path.read_bytes()))
    assert (found[b"note"], found[b"data"]) == (b"abc", b"\1\2\3\4")


def test_zeros_up_to_a_round_size_are_no_chunks(tmp_path: Path) -> None:
    data = wav()
    path = make(tmp_path, data[:4] + struct.pack("<I", 504) + data[8:] + bytes(512 - len(data)))
    assert [name for name, _ in tag(path)] == [b"fmt ", b"bext", b"data", b"LIST", b"axml", b"id3 "]


def test_an_info_entry_of_wrong_size_is_dropped_and_earlier_ones_stay(tmp_path: Path) -> None:
    old = b"INFO" + b"ISFT" + struct.pack("<I", 2) + b"a\0" + b"ICMT" + struct.pack("<I", 2**31) + b"b\0"
    entries = info(dict(tag(make(tmp_path, wav((b"LIST", old)))))[b"LIST"])
    assert entries[b"ISFT"] == b"a\0"
    assert b"ICMT" not in entries


@pytest.mark.parametrize("title", ["even", "odd"])
def test_our_own_chunks_have_even_lengths(tmp_path: Path, title: str) -> None:
    """Odd ones are what many readers fail on: libsndfile finds no chunk after an odd bext in RF64."""
    path = make(tmp_path, wav())
    values = VALUES | {"title": title, "coding_history": f"A=PCM,T={title}"}
    id3.write(path, values, None, None)
    riff.write(path, values, None, None)
    found = chunks(path.read_bytes())
    assert len(found) == 6
    assert [name for name, body in found if len(body) % 2] == []


@pytest.mark.parametrize("junk", [b"\0" * 300, b"TAG" + b"\xff" * 125])
def test_bytes_behind_the_form_are_left_behind(tmp_path: Path, junk: bytes) -> None:
    found = tag(make(tmp_path, wav() + junk))
    assert found[-1][0] == b"id3 "


def test_rf64_sizes(tmp_path: Path) -> None:
    """EBU Tech 3306: the form's 64-bit size is the first number of ds64; 32-bit sizes stay at their mark."""
    ds64 = struct.pack("<QQQI", 0, 5, 2, 1) + struct.pack("<4sQ", b"huge", 6)
    body = b"ds64" + struct.pack("<I", len(ds64)) + ds64 + b"fmt " + struct.pack("<I", 16) + FMT
    body += b"huge" + struct.pack("<I", 0xFFFFFFFF) + b"abcdef" + b"data" + struct.pack("<I", 0xFFFFFFFF) + b"sound\0"
    data = b"RF64" + struct.pack("<I", 0xFFFFFFFF) + b"WAVE" + body
    path = make(tmp_path, data[:20] + struct.pack("<Q", len(data) - 8) + data[28:])
    id3.write(path, VALUES, None, None)
    riff.write(path, VALUES, None, None)
    made = path.read_bytes()
    assert struct.unpack_from("<Q", made, 20)[0] == len(made) - 8
    assert b"huge\xff\xff\xff\xffabcdefbext" in made
    assert b"data\xff\xff\xff\xffsound\0LIST" in made
    layout = layout_of(path)
    assert [(c.id, c.size) for c in layout.chunks if c.wide] == [(b"huge", 6), (b"data", 5)]


def test_in_place_and_anew_give_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from delivery.tags import rewrite as room

    one, two = (make(tmp_path, wav(*FOREIGN, sound=b"odd"), name) for name in ("1.wav", "2.wav"))
    id3.write(one, VALUES, None, None)
    monkeypatch.setattr(room, "_HELD_BYTES", -1)
    id3.write(two, VALUES, None, None)
    assert one.read_bytes() == two.read_bytes()


def test_a_plain_file_is_not_pushed_past_4_gib(tmp_path: Path) -> None:
    """A RIFF size has 32 bits; nothing is written when it would not do."""
    path = make(tmp_path, wav())
    layout = layout_of(path)
    pieces = place(layout, (), (), ())
    huge = [Chunk(b"junk", 12, 2**32 - 48), *pieces]
    before = path.read_bytes()
    with pytest.raises(Unusable, match="Ask for an RF64 file"):
        rewrite(path, layout, huge)
    assert path.read_bytes() == before


def test_a_failure_half_way_leaves_the_file_and_nothing_else(tmp_path: Path) -> None:
    path = make(tmp_path, wav())
    layout = layout_of(path)
    lost = Chunk(b"lost", 10_000, 100)  # beyond the end: the copy fails after it has begun
    before = path.read_bytes()
    with pytest.raises(OSError, match="shorter"):
        rewrite(path, layout, [New(b"note", b"x"), *layout.chunks, lost])
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_memory_stays_small(tmp_path: Path) -> None:
    """32 MiB of sound pass in blocks of 1 MiB, and in place not at all."""
    path = make(tmp_path, wav(sound=bytes(2**25)))
    tracemalloc.start()
    try:
        id3.write(path, VALUES, None, None)
        riff.write(path, VALUES, None, None)
        assert tracemalloc.get_traced_memory()[1] < 6 * 2**20
    finally:
        tracemalloc.stop()


def test_a_monstrous_tag_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    with path.open("wb") as file:  # a sparse file: 80 MiB that take no room
        file.write(b"RIFF" + struct.pack("<I", 2**20 * 80 + 52) + wav()[8:] + b"id3 " + struct.pack("<I", 80 * 2**20))
        file.truncate(56 + 80 * 2**20)
    with pytest.raises(Unusable, match="chunk of 83886080 bytes"):
        id3.read_columns(path)
