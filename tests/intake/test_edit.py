"""A waiver is added and every other byte stays."""

from __future__ import annotations

import json
import stat
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.errors import Faulty, Unfinished, Unusable
from delivery.intake import add_waiver, load_release
from delivery.model.release import Waiver
from tests.intake.releases import WHOLE, release_file

HEAD = "title: A   # kept\ntracks:\n  - {file: a.wav, title:   b}  # odd   spacing\n"
WAIVER = Waiver("true_peak_max_dbtp", "I. Merrow", 'Meant so: "loud" # and proud', 1, "cd-rate-16")
LAYOUTS = [
    HEAD,
    HEAD.rstrip("\n"),
    f"{HEAD}waivers:\n",
    f"{HEAD}waivers: # none yet\nnotes: x\n",
    f"{HEAD}waivers: []  # none yet\n# end\n",
    f"{HEAD}waivers: ~\nnotes: x\n",
    f"{HEAD}waivers:\n  []\nnotes: x\n",
    f"{HEAD}waivers:\n- rule: a\n  by: b\n  why: |\n    long\n    text\n\n# tail\nnotes: x\n",
    f"{HEAD}waivers:\n- rule: a\n  by: b\n  why: >-\n    long\n    text",
    f"{HEAD}waivers:\n    - rule: a\n      by: b\n      why: c # d\n\n\nnotes: x\n",
    f"{HEAD}waivers:\n  - rule: a\n    by: b\n    why: 'c\n\n      d'\n  # after\n",
    f"{HEAD}waivers: [{{rule: a, by: b, why: c}}] # z\n",
    f"{HEAD}waivers: [\n  {{rule: a, by: b, why: c}}, # d\n]\nnotes: x\n",
    f"---\n{HEAD}...\n",
    "  title: A\n  tracks: [{file: a.wav, title: b}]\n",
    "{title: A, tracks: [{file: a.wav, title: b}],}\n",
    '{"title": "A",\n "tracks": [{"file": "a.wav", "title": "b"}],\n "waivers": []\n}\n',
    '{"title": "A", "tracks": [{"file": "a.wav", "title": "b"}], "waivers": [{"rule": "a", "by": "b", "why": "c"}]}',
    WHOLE,
]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_only_one_piece_is_put_in(tmp_path: Path, layout: str, line_end: str) -> None:
    path = release_file(tmp_path, "")
    before = layout.replace("\n", line_end).encode()
    path.write_bytes(before)
    old = load_release(path)
    add_waiver(path, WAIVER)
    after = path.read_bytes()
    assert load_release(path).waivers == (*old.waivers, WAIVER)
    if not any(nothing in layout for nothing in ("[]", "~")):  # these make room
        common = next((n for n, pair in enumerate(zip(before, after, strict=False)) if pair[0] != pair[1]), len(before))
        assert after.endswith(before[common:])
    assert after.count(b"\r\n") == (after.count(b"\n") if b"\r\n" in before else 0)
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["release.yaml"]


def test_two_waivers_stay_in_order(tmp_path: Path) -> None:
    path = release_file(tmp_path, HEAD)
    second = Waiver("artwork_square", "I. Merrow", "A gatefold.")
    add_waiver(path, WAIVER)
    add_waiver(path, second)
    assert load_release(path).waivers == (WAIVER, second)
    assert path.read_text(encoding="utf-8").startswith(HEAD)


def test_a_json_release_stays_json(tmp_path: Path) -> None:
    """Every JSON text is YAML 1.2 (YAML 1.2.2, 1.2); what a program wrote, the same program must read again."""
    path = release_file(tmp_path, json.dumps({"title": "A", "tracks": [{"file": "a.wav", "title": "b"}]}))
    add_waiver(path, WAIVER)
    assert json.loads(path.read_text(encoding="utf-8"))["waivers"][0]["why"] == WAIVER.why


def test_the_byte_order_mark_stays(tmp_path: Path) -> None:
    path = tmp_path / "release.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + HEAD.encode())
    add_waiver(path, WAIVER)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf" + HEAD.encode())


@settings(max_examples=60)
@given(
    why=st.text(
        st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"], exclude_characters="\ufeff\ufffe\uffff"), min_size=1
    ).filter(str.strip)
)
def test_any_reason_is_written_and_read_back(tmp_path: Path, why: str) -> None:
    import unicodedata

    path = release_file(tmp_path, HEAD)
    add_waiver(path, Waiver("a", "b", why))
    assert load_release(path).waivers[0].why == unicodedata.normalize("NFC", why.strip())


@pytest.mark.parametrize(
    ("waiver", "message"),
    [
        (Waiver("a", "b", "c", track=2), r"waivers 1 track: found track 2, wanted a position from 1 to 1"),
        (Waiver("a", "", "c"), r"waivers 1 by: found an empty text"),
        (Waiver("two\nlines", "b", "c"), r"waivers 1 rule: found 'two\\nlines'"),
    ],
)
def test_a_waiver_that_is_not_right_changes_nothing(tmp_path: Path, waiver: Waiver, message: str) -> None:
    path = release_file(tmp_path, HEAD)
    with pytest.raises(Faulty, match=message):
        add_waiver(path, waiver)
    assert path.read_text(encoding="utf-8") == HEAD


def test_a_faulty_release_file_is_unchanged(tmp_path: Path) -> None:
    path = release_file(tmp_path, "titel: A\n" + HEAD)
    with pytest.raises(Faulty, match=r"unknown key 'titel'"):
        add_waiver(path, WAIVER)
    assert path.read_text(encoding="utf-8") == "titel: A\n" + HEAD


def test_a_layout_that_cannot_be_edited_is_refused_with_the_lines_to_add(tmp_path: Path) -> None:
    """The waivers are elsewhere, behind an alias: adding there would change the other place too."""
    text = f"{HEAD}x: &w\n".replace("x: &w", "deliver_to: &none []\nwaivers: *none")
    path = release_file(tmp_path, text)
    with pytest.raises(Unusable, match=r'Add by hand: \{rule: "true_peak_max_dbtp"'):
        add_waiver(path, WAIVER)
    assert path.read_text(encoding="utf-8") == text


def test_when_writing_fails_the_old_file_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every call on the way to the disk is made to fail once."""
    path = release_file(tmp_path, HEAD)

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    for step in ("os.fsync", "pathlib.Path.replace", "shutil.copymode", "pathlib.Path.open"):
        with monkeypatch.context() as patch:
            patch.setattr(step, fail)
            with pytest.raises((Unfinished, Faulty)):
                add_waiver(path, WAIVER)
        assert path.read_text(encoding="utf-8") == HEAD
        assert [entry.name for entry in tmp_path.iterdir()] == ["release.yaml"]


@pytest.mark.skipif(sys.platform == "win32", reason="permissions of POSIX")
def test_permissions_and_links_stay(tmp_path: Path) -> None:
    path = release_file(tmp_path, HEAD)
    path.chmod(0o640)
    link = tmp_path / "link.yaml"
    link.symlink_to(path)
    add_waiver(link, WAIVER)
    assert link.is_symlink()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert load_release(path).waivers == (WAIVER,)
