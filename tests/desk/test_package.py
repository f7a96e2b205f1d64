"""Building from the page: cancelled, it leaves nothing; a release file that changed is not built unseen."""

from __future__ import annotations

import time

from tests.desk.conftest import Client

PATIENCE_S = 120.0


def test_a_cancelled_build_leaves_nothing(client: Client) -> None:
    before = sorted(path.name for path in client.folder.iterdir())
    assert client.post(f"{client.release}/build", {"digest": client.digest}).status_code == 200
    one = client.desk.releases()[0]
    until = time.monotonic() + PATIENCE_S
    while one.progress is None and one.building is not None and time.monotonic() < until:
        time.sleep(0.01)
    assert one.building is not None, one.build_problem
    assert client.post(f"{client.release}/cancel", {}).status_code == 200
    while one.building is not None and time.monotonic() < until:
        time.sleep(0.05)
    assert "Cancelled" in one.build_problem
    assert "Cancelled" in client.get(f"{client.release}/package").text
    assert sorted(path.name for path in client.folder.iterdir()) == before


def test_a_release_file_that_changed_is_not_built_unseen(client: Client) -> None:
    shown = client.digest
    file = client.folder / "release.yaml"
    file.write_text(file.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    assert client.post(f"{client.release}/build", {"digest": shown}).status_code == 400
    assert client.desk.releases()[0].building is None
