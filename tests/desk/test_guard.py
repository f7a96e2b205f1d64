"""Attacks on the desk: by other pages, other programs of this machine, and untrusted content of files."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from delivery.desk import handover
from delivery.desk.sessions import COOKIE, SECRET_LASTS_S, Sessions
from tests.desk.conftest import OWN, Client

OWN_PAGES = ("history", "new-spec", "specs", "specs/sync-48-24", "received", "compare")
SECRET_FORM = {"Content-Type": "application/x-www-form-urlencoded", "Origin": "null"}


def test_the_user_is_let_in(client: Client) -> None:
    assert client.get("").status_code == 200
    assert client.get(client.release).status_code == 200


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1", "127.0.0.1:8001", "127.0.0.1:8000.example.org", ""])
def test_another_host_name_is_refused(client: Client, host: str) -> None:
    """DNS rebinding: a foreign name that points to this machine."""
    assert client.get("", Host=host).status_code == 403


@pytest.mark.parametrize("origin", ["http://example.org", "null", "http://127.0.0.1:8001", "https://127.0.0.1:8000"])
def test_another_origin_is_refused(client: Client, origin: str) -> None:
    path = f"{client.release}/undo"
    assert client.post(path, {"digest": ""}, {"Origin": origin}).status_code == 403
    assert client.get(client.release, Origin=origin).status_code == 403
    assert client.post(path, {"digest": ""}, {"Origin": ""}).status_code == 403, "a post says where it comes from"


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_of_another_service_cannot_embed_or_fetch(client: Client, site: str) -> None:
    """Fetch Metadata (W3C): all ports of this machine are one site."""
    assert client.get(f"{client.release}/cover", **{"Sec-Fetch-Site": site}).status_code == 403


@pytest.mark.parametrize("token", ["", "wrong"])
def test_a_post_needs_the_token_beside_the_cookie(client: Client, token: str) -> None:
    answer = client.post(f"{client.release}/undo", {"digest": ""}, {"X-Desk-Token": token, "x-desk-token": token})
    assert answer.status_code == 403
    assert client.post(f"{client.release}/undo", {"digest": client.digest}).status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "received",
        "new-spec",
        "received/cancel",
        "release/{}/handover",
        "release/{}/answer",
        "compare/pair",
        "compare/reference",
        "compare/keep",
        "release/{}/log",
    ],
)
def test_newer_posts_need_the_token_too(client: Client, path: str) -> None:
    where = path.format(client.release.rpartition("/")[2])
    data = {"path": str(client.folder), "digest": client.digest, "track": 1, "what": "a", "by": "b"}
    before = (client.folder / "release.yaml").read_bytes()
    for headers in ({"X-Desk-Token": "", "x-desk-token": ""}, {"Origin": "http://example.org"}):
        assert client.post(where, data, headers).status_code == 403
    assert client.desk.received.package is None
    assert (client.folder / "release.yaml").read_bytes() == before


def test_nothing_is_read_without_the_cookie(client: Client) -> None:
    paths = ["", client.release, f"{client.release}/sound/1", f"{client.release}/events", "open"]
    paths += ["history", "specs", "specs/sync-48-24", "received", "received/events"]
    client.cookies = {}
    assert [client.get(path).status_code for path in paths] == [403] * len(paths)
    client.cookies = {COOKIE: "guessed"}
    assert client.get("").status_code == 403


def test_pages_are_not_at_their_inner_path(client: Client) -> None:
    assert client.get("/desk/").status_code == 403
    assert client.get(f"/desk/{client.release}").status_code == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(client: Client, method: str) -> None:
    assert client.ask(method, "", OWN).status_code == 403


def test_a_secret_is_good_once(client: Client) -> None:
    secret = client.sessions.new_secret()
    first = client.ask("POST", "/enter", SECRET_FORM, content=f"secret={secret}")
    assert first.status_code == 200
    cookie = first.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert f"Path={client.sessions.path}" in cookie
    assert client.ask("POST", "/enter", SECRET_FORM, content=f"secret={secret}").status_code == 403
    assert client.ask("POST", "/enter", SECRET_FORM, content="secret=guessed").status_code == 403
    assert client.ask("POST", "/enter", SECRET_FORM, content="secret=" + "x" * 100_000).status_code == 403


def test_a_foreign_page_cannot_enter_even_with_the_secret(client: Client) -> None:
    headers = {**SECRET_FORM, "Origin": "http://example.org"}
    content = f"secret={client.sessions.new_secret()}"
    assert client.ask("POST", "/enter", headers, content=content).status_code == 403


def test_a_secret_grows_too_old() -> None:
    now = 0.0
    sessions = Sessions(lambda: now)
    secret = sessions.new_secret()
    now = SECRET_LASTS_S + 1
    assert sessions.enter(secret) is None


def test_knocking_needs_the_key_of_the_lock_file(client: Client) -> None:
    assert client.ask("POST", "/knock", {"X-Desk-Key": "wrong"}, json={}).status_code == 403
    assert client.ask("POST", "/knock", {"X-Desk-Key": client.sessions.key, **OWN}, json={}).status_code == 403


def test_every_answer_has_a_strict_policy(client: Client) -> None:
    for path in ("", client.release, "open", "/", "/static/desk.js", "release/unknown", *OWN_PAGES):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["x-content-type-options"] == "nosniff"


def test_pages_have_no_inline_script(client: Client) -> None:
    for path in ("", client.release, f"{client.release}/package", f"{client.release}/specs", "open", *OWN_PAGES):
        text = client.get(path).text
        assert re.findall(r"<script(?![^>]* src=)", text) == []
        assert re.findall(r"\son\w+\s*=", text) == []
        assert re.findall(r"(?:src|href)=\"(?:https?:)?//", text) == [], "nothing is loaded from elsewhere"


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions")
def test_the_way_in_is_readable_by_the_user_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    file = handover.way_in("http://127.0.0.1:8000/", "secret")
    assert file.stat().st_mode & 0o777 == 0o600
    assert file.parent.stat().st_mode & 0o777 == 0o700
    running = handover.Running("http://127.0.0.1:8000/", "key", 1)
    assert handover.claim(running)
    assert (file.parent / "running.json").stat().st_mode & 0o777 == 0o600
    assert not handover.claim(running), "a second desk does not replace the first"
    assert handover.known() == running
    handover.release(running)
    assert list(file.parent.iterdir()) == []


MARKUP = "<img src=x onerror=alert(1)>\"'</textarea><script>alert(1)</script>"


def test_untrusted_titles_and_file_names_are_text(client: Client) -> None:
    folder = client.folder / "<b>bold & 'odd'"
    folder.mkdir()
    named = folder / "<i>1<i>.wav"
    named.write_bytes((client.folder / "01 Song.wav").read_bytes())
    quoted = MARKUP.replace("\\", "\\\\").replace('"', '\\"')
    text = f'title: "{quoted}"\nartist: "{quoted}"\nlabel: "{quoted}"\ndeliver_to: [sync-48-24]\ntracks:\n'
    text += f'  - {{file: "<i>1<i>.wav", title: "{quoted}"}}\n'
    (folder / "release.yaml").write_text(text, encoding="utf-8")
    client.desk.folders.open(folder)
    one = client.desk.at(folder / "release.yaml")
    paths = [
        "",
        f"release/{one.id}",
        f"release/{one.id}/package",
        f"release/{one.id}/specs",
        f"open?at={client.folder}",
    ]
    for path in paths:
        page = client.get(path).text
        assert "<img src=x" not in page
        assert "<b>bold" not in page
        assert "<i>1" not in page
        assert page.count("</script>") == page.count("<script")


@pytest.mark.parametrize(
    "path",
    ["/static/../app.py", "/static/..%2fapp.py", "/static/%2e%2e/app.py", "/static//etc/passwd", "/static/app.py"],
)
def test_static_files_are_a_list_not_a_folder(client: Client, path: str) -> None:
    assert client.get(path).status_code in (403, 404)


def test_a_master_outside_the_opened_folders_is_neither_measured_nor_played(client: Client, tmp_path: Path) -> None:
    outside = tmp_path / "secret.wav"
    outside.write_bytes((client.folder / "01 Song.wav").read_bytes())
    (client.folder / "link.wav").symlink_to(outside)
    for name in ("../secret.wav", "link.wav", str(outside)):
        text = f'title: "T"\nartist: "A"\ndeliver_to: [sync-48-24]\ntracks:\n  - {{file: "{name}", title: "S"}}\n'
        (client.folder / "release.yaml").write_text(text, encoding="utf-8")
        assert "outside the folders that you opened" in client.get(client.release).text
        assert client.get(f"{client.release}/sound/1").status_code == 404
        assert client.desk.releases()[0].ticket is None


def test_a_cover_outside_the_opened_folders_is_not_shown(client: Client, tmp_path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (64, 64)).save(tmp_path / "cover.png")
    (client.folder / "cover.png").symlink_to(tmp_path / "cover.png")
    file = client.folder / "release.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("upc:", 'artwork: "cover.png"'), encoding="utf-8")
    assert client.get(f"{client.release}/cover").status_code == 404


def test_the_chooser_stays_in_its_roots(client: Client, tmp_path: Path) -> None:
    outside = tmp_path / "elsewhere"
    (outside / "hidden from it").mkdir(parents=True)
    for at in (str(outside), f"{client.folder}/../elsewhere", "/etc", "relative"):
        assert "hidden from it" not in client.get(f"open?at={at}").text
        assert "hidden from it" not in client.get(f"received?at={at}").text
    assert str(client.folder) in client.get("received").text, "an opened folder can be reached"


def test_a_link_out_of_an_opened_folder_opens_no_release(client: Client, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "release.yaml").write_bytes((client.folder / "release.yaml").read_bytes())
    (client.folder / "release.yaml").unlink()
    (client.folder / "release.yaml").symlink_to(other / "release.yaml")
    assert client.desk.releases() == []


def test_a_folder_that_was_not_opened_is_not_started(client: Client, tmp_path: Path) -> None:
    answer = client.post("start", {"path": str(tmp_path)})
    assert answer.status_code == 400
    assert not (tmp_path / "release.yaml").exists()


def test_a_body_without_end_is_refused(client: Client) -> None:
    assert client.post(f"{client.release}/cells", {"cells": ["x" * 9_000_000]}).status_code == 400
    assert client.post(f"{client.release}/cells", {"cells": [{"cell": "c-9-title", "text": ""}]}).status_code == 400
    assert client.post(f"{client.release}/cells", {"cells": [{"cell": "c-1-__class__", "text": ""}]}).status_code == 400
