"""Accepted spellings go into the studio file as a person would write them; every other byte stays."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.errors import Faulty, Unusable
from delivery.intake import load_studio
from delivery.intake.studio.accepted_spellings import accept_titles, with_title

ARTIST = "Merrow & the Glass Tide"
KEPT = "# my studio\nengineer: T. Wrenfield  # that is me\n"


def accepted(folder: Path) -> dict[str, tuple[str, ...]]:
    return dict(load_studio(folder).accepted_titles)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (KEPT, f'{KEPT}accepted_titles:\n  - artist: "{ARTIST}"\n    titles:\n      - "lOW"\n'),
        (
            f"{KEPT}accepted_titles:  # intended\nname: Lantern\n",
            f'{KEPT}accepted_titles:  # intended\n  - artist: "{ARTIST}"\n    titles:\n      - "lOW"\nname: Lantern\n',
        ),
        (
            f"accepted_titles:\n- artist: {ARTIST}\n  titles:\n  - One  # a\n  # b\nname: L\n",
            f'accepted_titles:\n- artist: {ARTIST}\n  titles:\n  - One  # a\n  - "lOW"\n  # b\nname: L\n',
        ),
        (
            f"accepted_titles: [{{artist: {ARTIST}, titles: [One]}}]  # c\n",
            f'accepted_titles: [{{artist: {ARTIST}, titles: [One, "lOW"]}}]  # c\n',
        ),
        (
            "accepted_titles:\n  - {artist: Other, titles: [One]}\n\nname: L\n",
            f'accepted_titles:\n  - {{artist: Other, titles: [One]}}\n  - artist: "{ARTIST}"\n    titles:\n'
            '      - "lOW"\n\nname: L\n',
        ),
        (
            "accepted_titles: [{artist: Other, titles: [One]}]",
            f'accepted_titles: [{{artist: Other, titles: [One]}}, {{artist: "{ARTIST}", titles: ["lOW"]}}]',
        ),
        (KEPT.replace("\n", "\r\n"), None),
    ],
)
def test_every_other_byte_stays(tmp_path: Path, before: str, after: str | None) -> None:
    file = tmp_path / "studio.yaml"
    file.write_bytes(before.encode())
    assert accept_titles(tmp_path, ARTIST, ["lOW"]) == (file, ("lOW",))
    written = file.read_bytes().decode()
    assert written == after or (
        after is None and written.startswith(before) and "\n" not in written.replace("\r\n", "")
    )
    assert "lOW" in accepted(tmp_path)[ARTIST]
    assert accept_titles(tmp_path, ARTIST, ["lOW"]) == (file, ())
    assert file.read_bytes().decode() == written


def test_a_studio_file_is_begun_in_the_configuration_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import platformdirs

    monkeypatch.setattr(platformdirs, "user_config_path", lambda _name: tmp_path / "config" / "delivery")
    file, _ = accept_titles(tmp_path, ARTIST, ["lOW", "lOW", "tALLY"])
    assert file == tmp_path / "config" / "delivery" / "studio.yaml"
    assert accepted(tmp_path) == {ARTIST: ("lOW", "tALLY")}


def test_a_layout_nothing_can_be_put_into_is_refused_with_the_text_to_add(tmp_path: Path) -> None:
    file = tmp_path / "studio.yaml"
    file.write_text("{engineer: T}\n", encoding="utf-8")
    with pytest.raises(Unusable, match=r"Add by hand, under accepted_titles: \{artist: .*, titles: \[\"lOW\"\]\}"):
        accept_titles(tmp_path, ARTIST, ["lOW"])
    assert file.read_text(encoding="utf-8") == "{engineer: T}\n"


def test_a_studio_file_with_faults_is_unchanged(tmp_path: Path) -> None:
    (tmp_path / "studio.yaml").write_text("enginer: T\n", encoding="utf-8")
    with pytest.raises(Faulty, match=r"studio\.yaml:1 enginer"):
        accept_titles(tmp_path, ARTIST, ["lOW"])


def test_two_entries_of_one_artist_add_up(tmp_path: Path) -> None:
    (tmp_path / "studio.yaml").write_text(
        "accepted_titles: [{artist: A, titles: [x]}, {artist: A, titles: [y]}]\n", encoding="utf-8"
    )
    assert accepted(tmp_path) == {"A": ("x", "y")}


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1), st.text("ab: #'\"\\[]{},", min_size=1))
def test_any_text_reads_back(artist: str, title: str) -> None:
    from delivery.intake.yaml.text import document_of

    (entry,) = document_of(with_title("name: L\n", artist, title), "studio.yaml").data["accepted_titles"]
    assert entry == {"artist": artist, "titles": [title]}
