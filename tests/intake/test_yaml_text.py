"""YAML in, plain data and lines out; hostile text is refused with a line and a remedy."""

from __future__ import annotations

from itertools import count
from pathlib import Path
from typing import Any

import pytest

from delivery.errors import Faulty
from delivery.intake.yaml.text import MAX_BYTES, read_document


def read_yaml(path: Path) -> tuple[Any, dict[str, int]]:
    """Data, and the line of each pointer."""
    document = read_document(path)
    return document.data, dict(document.lines)


def written(folder: Path, content: str | bytes) -> Path:
    path = folder / "a.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass"))
    return path


def test_core_schema_of_yaml_1_2(tmp_path: Path) -> None:
    """YAML 1.2.2, 10.3.2: 'no' and 'on' are texts, 0o17 and 0x1F are numbers, a leading zero is decimal."""
    text = "a: no\nb: on\nc: 0o17\nd: 0x1F\ne: 012\nf: -1.5e2\ng: TRUE\nh: ~\ni:\nj: 'true'\nk: 1:30\nl: .5\n"
    data, _ = read_yaml(written(tmp_path, text))
    assert data == {
        "a": "no", "b": "on", "c": 15, "d": 31, "e": 12, "f": -150.0, "g": True, "h": None, "i": None, "j": "true",
        "k": "1:30", "l": 0.5,
    }  # fmt: skip
    assert {key: type(value) for key, value in data.items() if key in "efg"} == {"e": int, "f": float, "g": bool}


def test_a_text_over_several_lines_is_joined_with_blanks_alone(tmp_path: Path) -> None:
    """YAML 1.2.2, example 8.10: a folded text, with nothing else where its lines were joined."""
    text = "a: >\n\n folded\n line\n\n next\n line\n   * bullet\n\n   * list\n   * lines\n\n last\n line\n\n# Comment\n"
    data, _ = read_yaml(written(tmp_path, text))
    assert data == {"a": "\nfolded line\nnext line\n  * bullet\n\n  * list\n  * lines\n\nlast line\n"}


def test_dates_stay_the_text_they_are(tmp_path: Path) -> None:
    data, _ = read_yaml(written(tmp_path, "a: 2026-11-25\nb: 2026-02-30\nc: 2026-11-25T10:00:00Z\n"))
    assert data == {"a": "2026-11-25", "b": "2026-02-30", "c": "2026-11-25T10:00:00Z"}


def test_source_text_of_what_is_not_text_is_kept(tmp_path: Path) -> None:
    document = read_document(written(tmp_path, "upc: 0123\ntitle: 1.50\nlist: [007, True, '8']\n"))
    assert document.written == {"upc": "0123", "title": "1.50", "list/0": "007", "list/1": "True"}


def test_lines_count_from_one_and_items_from_zero(tmp_path: Path) -> None:
    text = "# head\ntracks:\n  - file: a\n    isrc:\n      b\n\n  # between\n  - {file: c, x/y~z: 1}\n"
    _, lines = read_yaml(written(tmp_path, text))
    assert lines == {
        "": 2, "tracks": 2, "tracks/0": 3, "tracks/0/file": 3, "tracks/0/isrc": 4, "tracks/1": 8, "tracks/1/file": 8,
        "tracks/1/x~1y~0z": 8,
    }  # fmt: skip


def test_a_text_cut_by_a_hash_is_noticed(tmp_path: Path) -> None:
    """YAML 1.2.2, 6.6: ' #' begins a comment, also where a title meant a number."""
    document = read_document(written(tmp_path, "a: Song #9 live\nb: Song # nine\nc: 'Song #9'\nd: Song#9\ne: x  #\n"))
    assert document.data == {"a": "Song", "b": "Song", "c": "Song #9", "d": "Song#9", "e": "x"}
    assert document.after_hash == {"a": "#9 live"}


def test_aliases_are_values(tmp_path: Path) -> None:
    data, lines = read_yaml(written(tmp_path, "a: &names [x, y]\nb: *names\n"))
    assert data == {"a": ["x", "y"], "b": ["x", "y"]}
    assert lines["b"] == 2


def test_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    assert read_yaml(written(tmp_path, b"\xef\xbb\xbfa: 1\r\nb: x\r\n")) == (
        {"a": 1, "b": "x"},
        {"": 1, "a": 1, "b": 2},
    )


def test_json_habit_of_halved_characters_is_joined(tmp_path: Path) -> None:
    """RFC 8259, 7: beyond the first plane JSON escapes a character as two halves."""
    assert read_yaml(written(tmp_path, '{"a": "\\ud834\\udd1e"}'))[0] == {"a": "\U0001d11e"}


BOMB = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]\n" for n in range(1, 9)
)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("a:\n\t- b\n", r"a\.yaml:2: found a tab, wanted blanks"),
        ("x: 1\na: b: c\n", r"a\.yaml:2: found a second ': '"),
        ("a: 1\nb: 'x\n\n\n", r"a\.yaml:2: found a quotation mark that is never closed"),
        ("a: 1\nb: [x\nc: 2\n", r"a\.yaml:2: found a list '\[' that is not closed"),
        ("a: 1\nb: {x: 1\nc: 2\n", r"a\.yaml:2: found a group '\{' that is not closed"),
        ("a: [Un] titled\n", r"a\.yaml:1: found text after a complete value.*quotes"),
        ("a: 1\n b: 2\n", r"a\.yaml:2: found a second ': ' in one value, or a line indented too far"),
        ("a: *star\n", r"a\.yaml:1: found a text that begins with '\*'.*quotes"),
        ("a: & the tide\n", r"a\.yaml:1: found a text that begins with '&'"),
        ("a: @home\n", r"a\.yaml:1: found a text that begins with a character reserved by YAML"),
        ("a: !loud\n", r"a\.yaml:1 a: found the YAML tag !loud"),
        ("a: !!binary eA==\n", r"found the YAML tag !!binary"),
        ('a: "C:\\quay"\n', r"a\.yaml:1: found a backslash inside double quotes"),
        ("a: 1\n---\nb: 2\n", r"a\.yaml:2: found a second document"),
        ("%YAML 1.1\n---\na: no\n", r"a\.yaml:1: found '%YAML 1\.1', wanted YAML 1\.2"),
        ("a: 1\nb: 2\na: 3\n", r"a\.yaml:3 a: found the key 'a' a second time \(first in line 1\)"),
        ("? [x]\n: 1\n", r"found a list or group as a key in line 1"),
        ("a: 1\nb: x\x07y\n", r"a\.yaml:2: found the control character U\+0007"),
        ("a: .inf\n", r"a\.yaml:1 a: found '\.inf', wanted an ordinary number"),
        ("a: .nan\n", r"found '\.nan'"),
        ("a: 1e999\n", r"found '1e999', wanted an ordinary number"),
        (f"a: {'9' * 5000}\n", r"found '9{79}…', wanted an ordinary number"),
        ('a: "\\ud800"\n', r"a\.yaml:1 a: found half a character"),
        ("a: &x [*x]\n", r"aliases .* unfold without end"),
        (BOMB, r"aliases .* unfold without end"),
        ("[" * 10_000, r"more than 50 brackets that open"),
        ("[\n" * 10_000, r"brackets that are not closed"),
        ("a: " + "{b: " * 1000, r"more than 50 brackets that open"),
        ("", r"a\.yaml: found an empty file"),
        (" \n\n", r"found an empty file"),
        ("# only\n", r"found nothing but comments"),
        (b"a: 1\nb: caf\xe9\n", r"a\.yaml:2: found a byte that is not UTF-8 \(0xe9\)"),
        ("a: 1\n".encode("utf-16"), r"a\.yaml:1: found a byte that is not UTF-8"),
        (b"\x00" * 10, r"U\+0000|not UTF-8|empty"),
    ],
    ids=count(),
)
def test_hostile_text_is_refused(tmp_path: Path, content: str | bytes, message: str) -> None:
    with pytest.raises(Faulty, match=message) as caught:
        read_yaml(written(tmp_path, content))
    assert len(caught.value.faults) == 1
    assert "ruamel" not in str(caught.value)


def test_brackets_inside_words_are_only_text(tmp_path: Path) -> None:
    titles = "".join(f"- Song [{number}] (take [b]) {'[x]' * 60}\n" for number in range(200))
    assert len(read_yaml(written(tmp_path, titles))[0]) == 200


def test_all_duplicate_keys_are_reported_together(tmp_path: Path) -> None:
    with pytest.raises(Faulty) as caught:
        read_yaml(written(tmp_path, "a: 1\na: 2\nb:\n  - c: 1\n    c: 2\n"))
    assert [fault.place for fault in caught.value.faults] == ["a.yaml:2 a", "a.yaml:5 b 1 c"]


def test_too_large_a_file_is_not_even_read(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    with path.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    with pytest.raises(Faulty, match=r"more than 524,288 bytes, wanted at most 524,288"):
        read_yaml(path)


def test_absent_files_and_folders(tmp_path: Path) -> None:
    with pytest.raises(Faulty, match=r"no such file"):
        read_yaml(tmp_path / "none.yaml")
    with pytest.raises(Faulty, match=r"a folder|does not open"):  # Windows says: permission denied
        read_yaml(tmp_path)


def test_an_anchor_may_be_used_again(tmp_path: Path) -> None:
    """YAML 1.2.2, 7.1: an alias means the nearest earlier anchor of its name. No warning of the parser gets out."""
    data, _ = read_yaml(written(tmp_path, "a: &x One\nb: &x Two\nc: *x\n"))
    assert data == {"a": "One", "b": "Two", "c": "Two"}
