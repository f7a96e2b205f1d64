"""Who signs the sheet: beside the release, else in the configuration folder, else none."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_studio
from delivery.model.release import Studio

TEXT = """\
engineer: Tomasz Wrenfield
name: Lantern Room Mastering
contact: |
  3 Quay Lane, Saltmouth

  mail@lantern-room.example
default_specs: [store-master-24, cd-rate-16]
spec_folders: [own specs]
logo: logo.png
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "config"
    home.mkdir()
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: home / name)
    return home / "delivery"


def put(folder: Path, text: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "own specs").mkdir(exist_ok=True)
    (folder / "logo.png").write_bytes(b"x")
    (folder / "studio.yaml").write_text(text, encoding="utf-8")


def test_beside_the_release_file(tmp_path: Path, home: Path) -> None:
    put(home, "engineer: Somebody Else\n")
    album = tmp_path / "album"
    put(album, TEXT)
    studio = Studio(
        engineer="Tomasz Wrenfield",
        name="Lantern Room Mastering",
        contact="3 Quay Lane, Saltmouth\nmail@lantern-room.example",
        logo=album / "logo.png",
        default_specs=("store-master-24", "cd-rate-16"),
        spec_folders=(album / "own specs",),
    )
    assert load_studio(album / "release.yaml") == studio
    assert load_studio(album) == studio


def test_else_in_the_configuration_folder(tmp_path: Path, home: Path) -> None:
    put(home, "engineer: Tomasz Wrenfield\ncontact: [3 Quay Lane, 007]\nspec_folders: [own specs]\n")
    studio = load_studio(tmp_path / "release.yaml")
    assert (studio.engineer, studio.contact) == ("Tomasz Wrenfield", "3 Quay Lane\n007")
    assert studio.spec_folders == (home / "own specs",)


def test_specs_beside_it_there_are_found_unnamed_and_folders_of_masters_may_be_absent(
    tmp_path: Path, home: Path
) -> None:
    put(home, "master_folders: [masters, /no/such/disk]\nspec_folders: [own specs]\n")
    (home / "specs").mkdir()
    studio = load_studio(tmp_path / "release.yaml")
    assert studio.spec_folders == (home / "own specs", home / "specs")
    assert studio.master_folders == (home / "masters", Path("/no/such/disk"))
    (home / "studio.yaml").unlink()
    assert load_studio(tmp_path / "release.yaml").spec_folders == (home / "specs",)


def test_no_artist_otherwise(tmp_path: Path, home: Path) -> None:
    assert not home.exists()
    assert load_studio(tmp_path / "release.yaml") == Studio()


def test_faults_are_reported_together(tmp_path: Path, home: Path) -> None:
    del home
    put(tmp_path, "enginer: x\nlogo: none.png\nspec_folders: [own specs, elsewhere]\ncontact: {mail: x}\n")
    with pytest.raises(Faulty) as caught:
        load_studio(tmp_path)
    assert [str(fault).partition(", wanted")[0] for fault in caught.value.faults] == [
        "studio.yaml:1 enginer: found the unknown key 'enginer'",
        "studio.yaml:2 logo: found no file 'none.png'",
        "studio.yaml:3 spec_folders 2: found no folder 'elsewhere'",
        "studio.yaml:4 contact: found a group of keys (mail)",
    ]
