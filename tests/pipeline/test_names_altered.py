"""Names that are not as supplied are reported by check and build alike: on the terminal, in the mail, on the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.pipeline import Options, check, resolve_request
from tests.albums import Song, write_album, write_spec

LONG = "The Very Long Account of Every Lamp in the Lighthouse " * 3
TITLES = ("AC/DC: Why?", "{Low} Water", "Wait...", LONG.strip(), "Plain")
SAID = (
    "Name of the package's folder: 'Harbour: Arithmetic' is written 'Harbour - Arithmetic'.",
    "File names of track 1: 'AC/DC: Why?' is written 'AC-DC - Why'.",
    "File name of track 3: 'Wait...' becomes 'Wait': a name may not begin or end so (bare).",
)


def album(folder: Path) -> Path:
    for name, template in (("numbered", "{disc_track} {title}"), ("bare", "{title}")):
        write_spec(folder, name, "{bits: {must: [24]}}", "{}")
        with (folder / f"{name}.yaml").open("a", encoding="utf-8") as file:
            file.write(f'name: "{template}"\n')
    songs = [Song("x", seconds=0.4, seed=seed, extra={"title": title}) for seed, title in enumerate(TITLES, start=1)]
    return write_album(folder, songs, ["numbered", "bare"], title="Harbour: Arithmetic")


def test_reported_wherever_a_build_reports(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = album(tmp_path)
    remarks = check(resolve_request(path), Options()).remarks
    cut = [text for text in remarks if "shortened" in text]
    assert [text[:50] for text in cut] == ["File name of track 4: shortened to 120 bytes from "] * 2
    assert ["'04 The Very" in text for text in cut] == [True, False]
    assert not any("{Low}" in text or "Plain" in text for text in remarks), "kept as they are, so nothing is reported"
    assert run(["build", str(path), "--all"]) == 0
    data = tmp_path / "OSL-014 Harbour - Arithmetic rev 1" / "data"
    terminal = capsys.readouterr().out
    mail = (data / "mail.txt").read_text(encoding="utf-8")
    page = (data / "delivery-sheet.html").read_text(encoding="utf-8").replace("&#39;", "'")
    for paper in (terminal, mail, page):
        words = " ".join(paper.split())
        assert all(text in words for text in SAID)
    assert (data / "numbered" / "02 {Low} Water.wav").is_file()
    assert run(["verify", str(data.parent)]) == 0
