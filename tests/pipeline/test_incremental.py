"""An incremental build gives the bytes of a full one, whatever changed; only files whose inputs changed are made."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest
import soundfile as sf
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from PIL import Image as Picture
from ruamel.yaml import YAML

from delivery.ledger.cache import MeasurementCache
from delivery.pack.bag import check_bag
from delivery.pack.take_over import take_over
from delivery.pipeline import Built, Options, build, made_before, make_part, package, package_folder, resolve_request
from delivery.pipeline import images as images_module
from delivery.tags.bare import write_bare
from tests.albums import Song as Master
from tests.albums import hashes, write_album, write_spec

CASES = int(os.environ.get("CHANGES_CASES", "5"))
RATE_HZ = 48_000
SPECS = ("copies", "disc", "loud", "coded", "sides")
Edit = Callable[["Work"], None]


@dataclass
class Work:
    """A release on disk, and how often files were made and taken over."""

    folder: Path
    cache: MeasurementCache | None = None
    made: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    retagged: list[str] = field(default_factory=list)

    @property
    def release(self) -> Path:
        return self.folder / "masters" / "release.yaml"

    def edit(self, change: Callable[[dict[str, Any]], None]) -> None:
        yaml = YAML()
        data = yaml.load(self.release)
        change(data)
        yaml.dump(data, self.release)

    def replace_in(self, name: str, old: str, new: str) -> None:
        path = self.folder / "masters" / name
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace(old, new), encoding="utf-8", newline="\n")

    def build(self, cache: MeasurementCache | None) -> Built:
        self.made.clear()
        self.taken.clear()
        self.retagged.clear()
        with counted(self):
            request = resolve_request(self.release)
            return build(request, self.folder / "out", Options(cache=cache, replace=True))


@contextmanager
def counted(work: Work) -> Iterator[None]:
    render, join = make_part.render, images_module.join

    def rendered(source: Path, chain: Any, target: Path, *rest: Any) -> str:
        work.made.append(f"{target.parent.name}/{target.name}")
        return render(source, chain, target, *rest)

    def joined(programme: Any, masters: Any, target: Any, file: Path) -> None:
        work.made.append(f"{file.parent.name}/{file.name}")
        join(programme, masters, target, file)

    def taken(source: Path, target: Path, sha256: str, blake3_hex: str) -> bool:
        assert len(blake3_hex) == 64
        done = take_over(source, target, sha256, blake3_hex)
        work.taken += [f"{target.parent.name}/{target.name}"] if done else []
        return done

    def bare(source: Path, target: Path) -> bool:
        done = write_bare(source, target)
        work.retagged += [f"{target.parent.name}/{target.name}"] if done else []
        return done

    with (
        patch.object(made_before, "write_bare", bare),
        patch.object(make_part, "render", rendered),
        patch.object(images_module, "join", joined),
        patch.object(package_folder, "take_over", taken),
    ):
        yield


def sound(seed: int, seconds: float = 1.2, level_db: float = -20.0) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Noise without silence at its ends, so that two of them can continue into each other."""
    noise = np.random.default_rng(seed).standard_normal((round(seconds * RATE_HZ), 2))
    return np.clip(noise * 10 ** (level_db / 20), -0.99, 0.99)


def write(folder: Path, number: int, x: np.ndarray[Any, np.dtype[np.float64]]) -> None:
    (path,) = folder.glob(f"{number:02} *.wav")
    sf.write(path, x, RATE_HZ, subtype="PCM_24")


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four songs, the middle two of one stream, delivered once in five forms, with the ledger's cache."""
    folder = tmp_path_factory.mktemp("base")
    masters = folder / "masters"
    masters.mkdir()
    write_spec(masters, "copies", "{container: {must: [wav]}}", "{}")
    convert = "{rate: lower, depth: lower, gain: never}"
    write_spec(masters, "disc", "{container: {must: [flac]}, rate_hz: {must: [44100]}, bits: {must: [16]}}", convert)
    loud = "{container: {must: [wav]}, bits: {must: [16]}, true_peak_max_dbtp: {must: -6.0}}"
    write_spec(masters, "loud", loud, "{depth: lower, gain: down_to_ceiling, gain_scope: album}")
    write_spec(masters, "coded", "{container: {must: [mp3]}, coding: {must: [mp3]}}", "{rate: lower}")
    with (masters / "coded.yaml").open("a", encoding="utf-8") as file:
        file.write("encode: {bitrate_kbps: 192}\nembed_artwork: true\n")
    write_spec(masters, "sides", "{container: {must: [wav]}, coding: {must: [pcm]}}", "{}")
    with (masters / "sides.yaml").open("a", encoding="utf-8") as file:
        file.write('carrier: {kind: vinyl, size_inch: 12, speed_rpm: 33}\nname: "{catalogue} {part}"\n')
    songs = [Master(title, RATE_HZ, 1.0, seed=at) for at, title in enumerate(("One", "Two", "Three", "Four"), start=1)]
    for song, side in zip(songs, "AABB", strict=True):
        song.extra = {"side": side, "gap_before_s": 0.0 if song.title == "Three" else 1.0}
    Picture.new("RGB", (300, 300), (10, 90, 200)).save(masters / "cover.png")
    write_album(masters, songs, SPECS, artwork="cover.png")
    long = sound(7, 2.4)
    half = len(long) // 2
    for number, x in enumerate((sound(1), long[:half], long[half:], sound(4)), start=1):
        write(masters, number, x)
    with MeasurementCache(folder / "ledger.sqlite3") as cache:
        built = Work(folder).build(cache)
    assert {part.spec for part in built.delivery.parts if part.shipped} == set(SPECS) - {"sides"}, [
        (part.spec, part.problem, [f for f in part.findings if f.result.value != "ready"])
        for part in built.delivery.parts
    ]
    assert all(image.shipped for image in built.delivery.images)
    return folder


@contextmanager
def copied(base: Path) -> Iterator[Work]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "work"
        shutil.copytree(base, folder)
        with MeasurementCache(folder / "ledger.sqlite3") as cache:
            yield Work(folder, cache)


def track(at: int, **values: Any) -> Edit:
    return lambda work: work.edit(lambda data: data["tracks"][at].update(values))


def release(**values: Any) -> Edit:
    return lambda work: work.edit(lambda data: data.update(values))


def swapped(work: Work) -> None:
    def swap(data: dict[str, Any]) -> None:
        first, last = dict(data["tracks"][0]), dict(data["tracks"][3])
        first["side"], last["side"] = last["side"], first["side"]
        data["tracks"][0], data["tracks"][3] = last, first

    work.edit(swap)


def louder(work: Work) -> None:
    write(work.folder / "masters", 4, sound(4, level_db=-11.0))


def new_audio(number: int) -> Edit:
    return lambda work: write(work.folder / "masters", number, sound(40 + number))


def new_cover(work: Work) -> None:
    Picture.new("RGB", (310, 310), (200, 9, 20)).save(work.folder / "masters" / "cover.png")


def retagged(work: Work) -> None:
    """Other bytes in a master's file, the same samples."""
    path = work.folder / "masters" / "01 One.wav"
    with sf.SoundFile(path, "r+") as file:
        file.title = "a note of the studio"


def damaged(work: Work) -> None:
    """A file of the earlier package has other bytes than its manifest states."""
    (path,) = (work.folder / "out").glob("*/data/disc/*One.flac")
    content = bytearray(path.read_bytes())
    content[-9] ^= 1
    path.write_bytes(content)


def lost(work: Work) -> None:
    (path,) = (work.folder / "out").glob("*/data/coded/*Two.mp3")
    path.unlink()


def spec(name: str, old: str, new: str) -> Edit:
    return lambda work: work.replace_in(f"{name}.yaml", old, new)


CHANGES: dict[str, Edit] = {
    "title": track(0, title="One More"),
    "version": track(1, version="Edit"),
    "isrc": track(2, isrc="ZZOSL2600099"),
    "composers": track(3, composers=["Odile Merrow", "Tam Varrick"]),
    "language": track(3, language="fr"),
    "beats a minute": track(3, bpm=118),
    "release title": release(title="Other Arithmetic"),
    "label": release(label="Other Records"),
    "genre": release(genre="Chamber pop"),
    "dated": release(dated="2026-09-09"),
    "client": release(client="Other Office"),
    "notes": release(notes="Sent twice."),
    "next revision": release(revision=2),
    "waiver": release(waivers=[{"rule": "tail_s", "by": "A. Moreau", "why": "meant"}]),
    "order": swapped,
    "gap": track(3, gap_before_s=2.0),
    "a gap where songs continued": track(2, gap_before_s=1.5),
    "side": track(1, side="B"),
    "no longer for a spec": track(3, not_for=["coded"]),
    "louder": louder,
    "new audio alone": new_audio(1),
    "new audio beside a join": new_audio(2),
    "cover": new_cover,
    "master's tags": retagged,
    "damaged earlier file": damaged,
    "lost earlier file": lost,
    "dither": spec("disc", "gain: never", "gain: never, dither: modified-e-9"),
    "bit rate": spec("coded", "192", "256"),
    "limit of a spec": spec("loud", "-6.0", "-7.0"),
    "names": spec("copies", "title: copies", 'title: copies\nname: "{title} {isrc}"'),
    "no tags": spec("copies", "title: copies", "title: copies\nembed_tags: false"),
    "requirement that changes no file": spec(
        "copies", "{must: [wav]}", "{must: [wav]}, tail_s: {should: {at_least: 0, at_most: 99}}"
    ),
}


def equal_to_full_build(work: Work) -> None:
    """Built with what is known, then with nothing known, over the same earlier package."""
    earlier = work.folder / "earlier"
    shutil.copytree(work.folder / "out", earlier)
    built = work.build(work.cache)
    assert built.package
    found = hashes(built.package)
    shutil.rmtree(work.folder / "out")
    earlier.rename(work.folder / "out")
    full = work.build(None)
    assert full.package
    assert work.taken == []
    assert found == hashes(full.package)
    assert found


@settings(
    max_examples=CASES,
    derandomize=CASES < 50,
    phases=(Phase.generate,),  # a build takes seconds: the four changes of a failure are few enough to look at
    suppress_health_check=list(HealthCheck),
)
@given(changes=st.lists(st.sampled_from(sorted(CHANGES)), min_size=1, max_size=4, unique=True))
def test_any_changes_give_the_bytes_of_a_full_build(base: Path, changes: list[str]) -> None:
    """A model-based test: the full build is the model. CHANGES_CASES=200 by hand."""
    with copied(base) as work:
        for change in changes:
            CHANGES[change](work)
        equal_to_full_build(work)


def made_after(base: Path, change: Edit) -> tuple[set[str], set[str]]:
    with copied(base) as work:
        change(work)
        assert work.build(work.cache).package
        return set(work.made), set(work.taken)


EVERY = 18
"""Files: four songs for four specs, and two sides."""


@pytest.mark.usefixtures("without_sheets")
def test_a_title_makes_its_own_files_alone(base: Path) -> None:
    """A side holds no title. A WAV or an MP3 that had other tags is not rendered again."""
    with copied(base) as work:
        CHANGES["title"](work)
        assert work.build(work.cache).package
        assert set(work.made) == {"copies/01 One More.wav", "disc/01 One More.flac"}
        assert set(work.retagged) == {"loud/01 One More.wav", "coded/01 One More.mp3"}
        assert len(work.taken) == EVERY - 4


@pytest.mark.usefixtures("without_sheets")
@pytest.mark.parametrize("place", [-9000, 13])
def test_a_damaged_file_is_rendered_again_though_only_its_tags_change(base: Path, place: int) -> None:
    """Whether a sample of it was changed, or its header."""
    with copied(base) as work:
        (file,) = (work.folder / "out").rglob("loud/01 One.wav")
        data = bytearray(file.read_bytes())
        data[place] ^= 1
        file.write_bytes(data)
        CHANGES["title"](work)
        package = work.build(work.cache).package
        assert package
        assert "loud/01 One More.wav" in work.made
        (made,) = package.rglob("loud/01 One More.wav")
        found = made.read_bytes()
        assert work.build(None).package == package
        assert made.read_bytes() == found


@pytest.mark.usefixtures("without_sheets")
def test_files_that_differ_in_tags_alone_are_not_measured_again(base: Path) -> None:
    """Their samples have the audio hash of those measured. A copy of the master has its figures; new audio is measured,
    where the file is no copy."""

    def measured_after(change: Edit) -> list[str]:
        with copied(base) as work, patch.object(make_part, "measured", wraps=make_part.measured) as counted_calls:
            change(work)
            built = work.build(work.cache).package
            assert built
            return sorted(call.args[0].parent.name for call in counted_calls.call_args_list)

    assert measured_after(CHANGES["title"]) == ["copies"]
    assert measured_after(CHANGES["new audio alone"]) == ["coded", "copies", "disc", "loud"]


@pytest.mark.usefixtures("without_sheets")
def test_a_rename_and_a_new_revision_make_nothing(base: Path) -> None:
    """Nor does label copy that no tag stores, such as the client."""

    def all_of_these(work: Work) -> None:
        for change in ("names", "next revision", "notes", "client", "waiver", "requirement that changes no file"):
            CHANGES[change](work)

    made, taken = made_after(base, all_of_these)
    assert (made, len(taken)) == (set(), EVERY)


@pytest.mark.usefixtures("without_sheets")
def test_a_gap_makes_the_side_that_holds_it_alone(base: Path) -> None:
    made, taken = made_after(base, CHANGES["gap"])
    assert {name.split(" ")[-1] for name in made} == {"B.wav"}
    assert len(taken) == EVERY - 1


@pytest.mark.usefixtures("without_sheets")
def test_new_audio_makes_its_neighbours_where_songs_continue(base: Path) -> None:
    """Song 2 continues into song 3: the conversion of both looks across the cut; of song 1 and 4 it does not."""
    made, _ = made_after(base, CHANGES["new audio beside a join"])
    of_disc = {name for name in made if name.startswith("disc/")}
    assert of_disc == {"disc/02 Two.flac", "disc/03 Three.flac"}
    assert {name for name in made if name.startswith("copies/")} == {"copies/02 Two.wav"}


@pytest.mark.usefixtures("without_sheets")
def test_the_albums_gain_makes_every_song_of_its_spec(base: Path) -> None:
    """One gain for all: the loudest song decides it."""
    made, _ = made_after(base, CHANGES["louder"])
    assert {name for name in made if name.startswith("loud/")} == {
        f"loud/0{at} {title}.wav" for at, title in enumerate(("One", "Two", "Three", "Four"), start=1)
    }


@pytest.mark.usefixtures("without_sheets")
def test_what_is_damaged_or_lost_is_made_anew(base: Path) -> None:
    assert made_after(base, CHANGES["damaged earlier file"])[0] == {"disc/01 One.flac"}
    assert made_after(base, CHANGES["lost earlier file"])[0] == {"coded/02 Two.mp3"}


@pytest.mark.usefixtures("without_sheets")
@pytest.mark.parametrize("name", ["coded/02 Two.mp3", "loud/03 Three.wav", "copies/04 Four.wav"])
def test_an_earlier_file_that_changes_while_papers_are_set_is_made_anew(base: Path, name: str) -> None:
    """Its tags were read and its bytes copied; then another program changes it. Nothing of that is delivered."""
    real = package.write
    with copied(base) as work:
        CHANGES["next revision"](work)
        (file,) = (work.folder / "out").rglob(name)
        content = file.read_bytes()

        def meddled(*arguments: Any) -> None:
            real(*arguments)
            file.write_bytes(content[:-1] + b"!")

        with patch.object(package, "write", meddled):
            built = work.build(work.cache).package
        assert built
        assert work.made == [name]
        found = hashes(built)
        file.write_bytes(content)
        shutil.rmtree(built)
        assert work.build(None).package == built
        assert hashes(built) == found


@pytest.mark.usefixtures("without_sheets")
def test_papers_are_set_while_files_are_copied(base: Path) -> None:
    """No copy begins before the papers are there: a build that waited for copies first would never end."""
    papers, real = Event(), package.write

    def written(*arguments: Any) -> None:
        real(*arguments)
        papers.set()

    def late(source: Path, target: Path, sha256: str, blake3_hex: str) -> bool:
        assert papers.wait(600)
        return take_over(source, target, sha256, blake3_hex)

    with copied(base) as work:
        CHANGES["title"](work)
        with patch.object(package, "write", written):
            request = resolve_request(work.release)
            with patch.object(package_folder, "take_over", late):
                built = build(request, work.folder / "out", Options(cache=work.cache, replace=True)).package
        assert built
        assert check_bag(built) == ()


@pytest.mark.usefixtures("without_sheets")
def test_a_file_taken_over_is_no_link(base: Path) -> None:
    """Editing a file of the new package must not change the old one."""
    with copied(base) as work:
        CHANGES["next revision"](work)
        new = work.build(work.cache).package
        assert new
        (old,) = (path for path in (work.folder / "out").iterdir() if path.name.endswith("rev 1") and path.is_dir())
        files = sorted(path.relative_to(new) for path in new.rglob("*.wav"))
        assert len(files) > 8
        for file in files:
            assert (new / file).stat().st_nlink == 1
            assert (new / file).stat().st_ino != (old / file).stat().st_ino
