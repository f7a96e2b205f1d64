"""What the page writes: the same release.yaml, comments kept, and never over a change of another program."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery import load_release
from tests.desk.conftest import Client


def changed_lines(before: str, after: str) -> list[tuple[str, str]]:
    lines = zip(before.splitlines(), after.splitlines(), strict=True)
    return [(one, other) for one, other in lines if one != other]


def write(client: Client, *cells: tuple[str, str], digest: str = "") -> dict[str, object]:
    typed = [{"cell": cell, "text": text} for cell, text in cells]
    answer = client.post(f"{client.release}/cells", {"digest": digest or client.digest, "cells": typed})
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def text_of(client: Client) -> str:
    return (client.folder / "release.yaml").read_text(encoding="utf-8")


def test_a_cell_changes_one_line_and_keeps_the_comments(client: Client) -> None:
    before = text_of(client)
    told = write(client, ("c-2-isrc", "zz-osl-26-00002"), ("c-0-album", "High Water"))
    assert told["refused"] == []
    assert told["texts"] == {"c-2-isrc": "ZZ-OSL-26-00002", "c-0-album": "High Water"}, "as printed"
    assert changed_lines(before, text_of(client)) == [
        ('title: "Low Water"  # working title', 'title: "High Water"  # working title'),
        ("    isrc:", '    isrc: "ZZOSL2600002"'),
    ]


def test_a_text_that_is_no_value_is_refused_at_its_cell_and_the_others_are_written(client: Client) -> None:
    told = write(client, ("c-1-isrc", "ZZ-OSL-26-0000"), ("c-1-title", "Salt Road"))
    assert [one["cell"] for one in told["refused"]] == ["c-1-isrc"]  # type: ignore[attr-defined]
    assert "11 characters" in str(told["refused"])
    release = load_release(client.folder / "release.yaml")
    assert (release.tracks[0].title, release.tracks[0].isrc) == ("Salt Road", "")


def test_a_cell_is_read_as_the_same_cell_of_a_sheet(client: Client) -> None:
    """Several names, a guest, and a language by its English name, as `delivery start --label-copy` reads them."""
    write(client, ("c-1-artist", "Ada Fenn feat. Bo Q"), ("c-1-composer", "Ada Fenn; Bo Q"), ("c-1-language", "Welsh"))
    track = load_release(client.folder / "release.yaml").tracks[0]
    assert [(one.name, one.role) for one in track.artists] == [("Ada Fenn", "main"), ("Bo Q", "featured")]
    assert track.composers == ("Ada Fenn", "Bo Q")
    assert track.language == "cy"


def test_a_change_by_another_program_is_never_overwritten(client: Client) -> None:
    shown = client.digest
    file = client.folder / "release.yaml"
    file.write_text(text_of(client).replace("working title", "changed elsewhere"), encoding="utf-8")
    other = text_of(client)
    typed = {"digest": shown, "cells": [{"cell": "c-1-title", "text": "Mine"}]}
    for path, data in (
        ("cells", typed),
        ("order", {"digest": shown, "order": [2, 1, 3]}),
        ("specs", {"digest": shown, "specs": ["cd-rate-16"]}),
        ("confirm", {"digest": shown}),
        ("waive", {"digest": shown, "rules": ["rate_hz"], "by": "A", "why": "B"}),
    ):
        answer = client.post(f"{client.release}/{path}", data)
        assert answer.status_code == 409, path
        assert "another program" in answer.json()["message"]
        assert text_of(client) == other


def test_undo_restores_every_byte_and_stops_at_a_foreign_change(client: Client) -> None:
    before = text_of(client)
    write(client, ("c-1-title", "One"))
    write(client, ("c-2-title", "Two"))
    for _ in range(2):
        assert client.post(f"{client.release}/undo", {"digest": client.digest}).json()["undone"] is True
    assert text_of(client) == before
    assert client.post(f"{client.release}/undo", {"digest": client.digest}).json()["undone"] is False
    write(client, ("c-1-title", "One"))
    (client.folder / "release.yaml").write_text(before + "# more\n", encoding="utf-8")
    assert client.post(f"{client.release}/undo", {"digest": client.digest}).json()["undone"] is False
    assert text_of(client) == before + "# more\n"


def test_waivers_follow_a_track_that_is_moved(client: Client) -> None:
    answer = client.post(f"{client.release}/order", {"digest": client.digest, "order": [3, 1, 2]})
    assert answer.status_code == 200
    release = load_release(client.folder / "release.yaml")
    assert [track.title for track in release.tracks] == ["Song 3", "Song 1", "Song 2"]
    assert [waiver.track for waiver in release.waivers] == [1]
    assert "# song 3" in text_of(client)
    assert client.post(f"{client.release}/order", {"digest": client.digest, "order": [1, 1, 2]}).status_code == 400


def test_waiving_and_accepting_need_a_name_and_a_reason(client: Client) -> None:
    for path in ("waive", "accept"):
        data = {"digest": client.digest, "rules": ["rate_hz:1"], "by": " ", "why": "x"}
        assert client.post(f"{client.release}/{path}", data).status_code == 400
    data = {"digest": client.digest, "rules": ["rate_hz:1", "rate_hz:2"], "by": "A. Moreau", "why": "agreed"}
    assert client.post(f"{client.release}/waive", data).status_code == 200
    waivers = load_release(client.folder / "release.yaml").waivers
    assert [(one.rule, one.track, one.by) for one in waivers[1:]] == [
        ("rate_hz", 1, "A. Moreau"),
        ("rate_hz", 2, "A. Moreau"),
    ]


def test_a_cover_is_written_beside_the_release_file_under_a_new_name(client: Client, tmp_path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (300, 300), "navy").save(tmp_path / "picture.png")
    (client.folder / "cover.png").write_bytes(b"mine")
    headers = {"Origin": "http://127.0.0.1:8000", "X-Desk-Token": client.session.token, "X-Digest": client.digest}
    picture = (tmp_path / "picture.png").read_bytes()
    assert client.ask("POST", f"{client.release}/cover", headers, content=picture).status_code == 200
    assert (client.folder / "cover.png").read_bytes() == b"mine"
    assert load_release(client.folder / "release.yaml").artwork == client.folder / "cover-2.png"
    headers["X-Digest"] = client.digest
    assert client.ask("POST", f"{client.release}/cover", headers, content=b"no picture").status_code == 400
    assert [path.name for path in client.folder.iterdir() if path.name.startswith(".")] == []


def test_a_release_file_with_faults_is_shown_and_mended_elsewhere(client: Client) -> None:
    file = client.folder / "release.yaml"
    file.write_text("title: [\n", encoding="utf-8")
    assert "The release file has faults" in client.get(client.release).text
    assert client.post(f"{client.release}/cells", {"digest": "", "cells": []}).status_code == 400


def test_a_note_is_added_to_the_log_with_every_other_line_kept(client: Client) -> None:
    before = text_of(client)
    data = {"digest": client.digest, "track": "2", "what": " Click: <b>here</b> # 1 ", "by": "A. Moreau"}
    answer = client.post(f"{client.release}/log", {**data, "at_s": "1.2345", "decision": ""})
    assert answer.status_code == 200, answer.text
    again = {**data, "digest": client.digest, "at_s": "", "what": "Hiss", "decision": "kept"}
    assert client.post(f"{client.release}/log", again).status_code == 200
    assert text_of(client).startswith(before), "added at the end"
    click, hiss = load_release(client.folder / "release.yaml").qc_log
    assert (click.what, click.by, click.track, click.decision) == ("Click: <b>here</b> # 1", "A. Moreau", 2, "")
    assert click.at_s == pytest.approx(1.234, abs=1e-3)
    assert (hiss.what, hiss.at_s, hiss.decision) == ("Hiss", None, "kept")


@pytest.mark.parametrize(
    "wrong", [{"what": " "}, {"by": ""}, {"track": "9"}, {"at_s": "-1"}, {"at_s": "nan"}, {"at_s": "x"}]
)
def test_an_empty_note_or_one_without_a_place_is_refused(client: Client, wrong: dict[str, str]) -> None:
    before = text_of(client)
    data = {"digest": client.digest, "track": "2", "what": "Click", "by": "A. Moreau", "at_s": "1"}
    assert client.post(f"{client.release}/log", {**data, **wrong}).status_code == 400
    assert client.post(f"{client.release}/log", {**data, "digest": "old"}).status_code == 409
    assert text_of(client) == before
