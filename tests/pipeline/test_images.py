"""Discs and sides through the pipeline: what ships is the masters, and what cannot ship is named before any work."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf
from ruamel.yaml import YAML

from delivery.errors import Faulty, Unfinished
from delivery.meters import measure
from delivery.model.album import Cut
from delivery.model.carrier import msf
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Result
from delivery.model.part import Delivery, Source
from delivery.model.release import Track, Waiver
from delivery.pipeline import Built, Options, build, check, images, resolve_request
from delivery.pipeline import run as run_module
from delivery.pipeline.verify import verify
from tests.albums import Song, sound, write_album
from tests.pipeline.made import made

SECONDS = 4.3


def write_programme(folder: Path, rate_hz: int, subtype: str, specs: list[str], length_s: float = SECONDS) -> Path:
    """Three songs cut out of one recording, and a fourth behind a gap on side B."""
    path = write_album(
        folder,
        [
            Song(title, rate_hz, length_s, -18.0, subtype, seed=at)
            for at, title in enumerate(("One", "Two", "Three", "Four"), 1)
        ],
        specs,
    )
    whole = sound(Song("Whole", rate_hz, 3 * length_s, -18.0, seed=9))
    third = len(whole) // 3 + 17
    for at, name in enumerate(("01 One", "02 Two", "03 Three")):
        sf.write(folder / f"{name}.wav", whole[at * third : (at + 1) * third], rate_hz, subtype=subtype)
    gaps: tuple[tuple[float | None, str], ...] = ((None, "A"), (0, "A"), (0, "A"), (1.5, "B"))
    return edited(path, lambda data: [_placed(track, *gap) for track, gap in zip(data["tracks"], gaps, strict=True)])


def _placed(track: dict[str, Any], gap_s: float | None, side: str) -> None:
    track["side"] = side
    if gap_s is not None:
        track["gap_before_s"] = gap_s


def edited(path: Path, change: Callable[[dict[str, Any]], object]) -> Path:
    yaml = YAML()
    data = yaml.load(path.read_text(encoding="utf-8"))
    change(data)
    with path.open("w", encoding="utf-8", newline="\n") as file:
        yaml.dump(data, file)
    return path


def read(path: Path) -> Any:
    return sf.read(path, dtype="int32", always_2d=True)[0]


@pytest.fixture(scope="module")
def disc(tmp_path_factory: pytest.TempPathFactory) -> Built:
    """A CD and two sides from 44.1 kHz, 16-bit masters: nothing to convert."""
    folder = tmp_path_factory.mktemp("disc")
    return made(write_programme(folder / "masters", 44_100, "PCM_16", ["cd-master", "vinyl-sides"]), folder / "out")


def inside(built: Built, spec: str, name: str) -> Path:
    assert built.package
    return built.package / "data" / spec / name


def test_the_image_holds_the_masters_bit_for_bit(disc: Built) -> None:
    """Read by soundfile, at the places the data document states."""
    (image,) = disc.delivery.images_of("cd-master")
    samples = read(inside(disc, "cd-master", image.name))
    for song, source in zip(image.programme.songs, disc.delivery.sources, strict=True):
        assert np.array_equal(samples[song.begins : song.ends], read(source.track.file))
        assert source.measurement
    hashes = tuple(source.measurement.value("audio_hash") for source in disc.delivery.sources if source.measurement)
    assert image.song_hashes == hashes
    assert len(samples) % 588 == 0


def test_sides_are_joined_the_same_way_and_nothing_is_processed(disc: Built) -> None:
    a, b = disc.delivery.images_of("vinyl-sides")
    masters = [read(source.track.file) for source in disc.delivery.sources]
    assert np.array_equal(read(inside(disc, "vinyl-sides", a.name)), np.concatenate(masters[:3]))
    assert np.array_equal(read(inside(disc, "vinyl-sides", b.name)), masters[3])
    assert (a.name, b.name) == ("OSL-014 side A.wav", "OSL-014 side B.wav")


def test_no_song_file_is_packed_beside_the_image(disc: Built) -> None:
    assert disc.package
    names = sorted(file.name for file in (disc.package / "data" / "cd-master").iterdir())
    stem = "OSL-014 Harbour Arithmetic disc 1"
    assert names == [f"{stem}.cue", f"{stem}.wav", "checksums.md5", "pq-list.csv", "pq-sheet.pdf"]


def test_images_are_verified_and_a_changed_one_is_named(disc: Built, tmp_path: Path) -> None:
    assert disc.package
    checked = verify(disc.package)
    assert checked.whole
    assert checked.files == 3
    import shutil

    copy = tmp_path / disc.package.name
    shutil.copytree(disc.package, copy)
    side = copy / "data" / "vinyl-sides" / "OSL-014 side B.wav"
    data = bytearray(side.read_bytes())
    data[-1000] ^= 1
    side.write_bytes(data)
    reported = {(each.path, str(each.kind)) for each in verify(copy).differences}
    assert ("data/vinyl-sides/OSL-014 side B.wav", "other sound") in reported


def test_the_cuts_are_proven(disc: Built) -> None:
    """One recording cut in three; before the last song, which is another one, are a fade and silence."""
    assert [(join.before, join.after, join.cut) for join in disc.delivery.joins] == [
        (1, 2, Cut.CONTINUOUS),
        (2, 3, Cut.CONTINUOUS),
        (3, 4, Cut.QUIET),
    ]


def test_pq_list_and_data_document_state_the_same(disc: Built) -> None:
    assert disc.package
    rows = list(csv.DictReader(io.StringIO(inside(disc, "cd-master", "pq-list.csv").read_text(encoding="utf-8-sig"))))
    document = json.loads((disc.package / "data" / "delivery-data.json").read_text(encoding="utf-8"))
    (programme,) = [each["programme"] for each in document["images"] if each["spec"] == "cd-master"]
    assert len(rows) == len(programme["songs"]) + 1
    for row, song in zip(rows, programme["songs"], strict=False):
        for figure in ("index_0", "index_1", "index_0_in_image", "index_1_in_image"):
            assert row[figure] == song[figure]
        for figure in ("begins_sample", "padding_samples", "mark_early_samples"):
            assert int(row[figure]) == song[figure]
        assert int(row["samples"]) == song["samples"]
    assert rows[-1]["index_1"] == programme["lead_out"]


def test_pq_sheet_prints_the_figures_of_the_list(disc: Built) -> None:
    """The PDF's text, taken out by pypdf: every index, length and code of the list."""
    from pypdf import PdfReader

    text = "".join(page.extract_text() for page in PdfReader(inside(disc, "cd-master", "pq-sheet.pdf")).pages)
    rows = list(csv.DictReader(io.StringIO(inside(disc, "cd-master", "pq-list.csv").read_text(encoding="utf-8-sig"))))
    for row in rows[:-1]:
        code = row["isrc"]
        for wanted in (
            row["index_0"],
            row["index_1"],
            row["length"],
            row["pause"],
            f"{code[:2]}-{code[2:5]}-{code[5:7]}",
        ):
            assert wanted in text
    assert rows[-1]["index_1"] in text
    assert "2000000140018" in text
    (image,) = disc.delivery.images_of("cd-master")
    assert image.shipped
    for checksum in (image.shipped.sha256, image.shipped.md5):
        assert checksum in text, "whole and in one line, for the plant to compare"


def test_side_sheets_state_where_songs_begin_and_end(disc: Built) -> None:
    from pypdf import PdfReader

    a, b = disc.delivery.images_of("vinyl-sides")
    pages = PdfReader(inside(disc, "vinyl-sides", "side-sheet.pdf")).pages
    for image in (a, b):
        assert image.shipped
        assert image.shipped.sha256 in "".join(page.extract_text() for page in pages)
    paper = inside(disc, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    pdf = "".join(page.extract_text() for page in PdfReader(inside(disc, "vinyl-sides", "side-sheet.pdf")).pages)
    for song in a.programme.songs:
        milliseconds = round(1000 * song.begins / 44_100)
        output = f"{milliseconds // 60_000}:{milliseconds / 1000 % 60:06.3f}"
        assert output in paper
        assert output in pdf
    assert "12-inch 33⅓ rpm" in paper


def test_lists_name_the_files_that_are_there(disc: Built) -> None:
    """GNU coreutils' form; the sums are Python's."""
    import hashlib

    lines = inside(disc, "cd-master", "checksums.md5").read_text(encoding="utf-8").splitlines()
    (image,) = disc.delivery.images_of("cd-master")
    file = inside(disc, "cd-master", image.name)
    assert lines == [f"{hashlib.md5(file.read_bytes(), usedforsecurity=False).hexdigest()}  {image.name}"]


def test_a_cd_from_96_khz_is_one_stream_where_songs_run_on(tmp_path: Path) -> None:
    """No song is longer or shorter than its share of the stream; the disc is as long as the masters and the gap."""
    built = made(write_programme(tmp_path / "masters", 96_000, "PCM_24", ["cd-master"]), tmp_path / "out")
    (image,) = built.delivery.images_of("cd-master")
    assert image.shipped
    assert (image.target.rate_hz, image.target.bits) == (44_100, 16)
    info = sf.info(inside(built, "cd-master", image.name))
    assert (info.samplerate, info.subtype, info.frames) == (44_100, "PCM_16", image.programme.length)
    frames = [source.measurement.value("frames") for source in built.delivery.sources if source.measurement]
    stream = image.programme.songs[2].ends
    assert stream == round(sum(frames[:3]) * 44_100 / 96_000)
    assert built.delivery.result in (Result.READY, Result.REMARKS)


def test_same_in_same_out(tmp_path: Path) -> None:
    release = write_programme(tmp_path / "masters", 48_000, "PCM_24", ["cd-master", "vinyl-sides"])
    one = made(release, tmp_path / "one", workers=1)
    two = made(release, tmp_path / "two", workers=3)
    assert one.package
    assert two.package
    files = [sorted(file for file in each.rglob("*") if file.is_file()) for each in (one.package, two.package)]
    assert [file.name for file in files[0]] == [file.name for file in files[1]]
    assert all(a.read_bytes() == b.read_bytes() for a, b in zip(*files, strict=True))


def test_two_discs_are_two_images_with_a_sheet_each(tmp_path: Path) -> None:
    release = write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"])
    edited(release, lambda data: data["tracks"][3].update(disc=2))
    built = made(release, tmp_path / "out")
    assert [image.programme.name for image in built.delivery.images] == ["disc 1", "disc 2"]
    assert built.package
    assert len(list(built.package.rglob("*.cue"))) == 2
    second = built.delivery.images[1].programme
    assert (second.songs[0].begins, second.songs[0].number) == (0, 1)


@pytest.fixture(scope="module")
def one_song(tmp_path_factory: pytest.TempPathFactory) -> Measurement:
    file = tmp_path_factory.mktemp("song") / "song.wav"
    sf.write(file, sound(Song(rate_hz=44_100)), 44_100, subtype="PCM_16")
    return measure(file)


def faults(
    monkeypatch: pytest.MonkeyPatch, release: Path, readings: Mapping[str, Any], known: Measurement
) -> dict[str, list[str]]:
    """What refuses a build in which every master measures as *known* but for *readings*; nothing may be written."""

    def taken(tracks: tuple[Track, ...], *_: object, **__: object) -> tuple[Source, ...]:
        return tuple(Source(track, _varied(known, track, readings)) for track in tracks)

    def never(*_: object) -> None:
        raise AssertionError("something was written")

    monkeypatch.setattr(run_module, "take_in", taken)
    monkeypatch.setattr(images, "join", never)
    built = build(resolve_request(release), release.parent, Options())
    assert built.package is None
    return refusals(built.delivery)


def _varied(known: Measurement, track: Track, readings: Mapping[str, Any]) -> Measurement:
    values = {name: value(track) if callable(value) else value for name, value in readings.items()}
    own = {"audio_hash": f"{track.position:064}"}
    return known.with_readings({name: Reading(value) for name, value in (own | values).items()})


def refusals(delivery: Delivery) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for finding in (*delivery.findings, *(f for part in delivery.parts for f in part.findings)):
        if finding.result in (Result.NOT_READY, Result.NOT_READY):
            found.setdefault(finding.rule, []).append(finding.found or finding.why)
    return found


def seconds(length_s: float) -> dict[str, Any]:
    return {"frames": round(length_s * 44_100), "duration_s": length_s}


def short_album(folder: Path, songs: int, spec: str, **of_track: Any) -> Path:
    folder.mkdir()
    path = write_album(folder, [Song(f"Song {at}", 44_100, 0.01, subtype="PCM_16") for at in range(songs)], [spec])
    return edited(path, lambda data: [track.update(side="A", **of_track) for track in data["tracks"]])


def test_a_song_of_three_seconds(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    """IEC 60908: no track under 4 s."""
    found = faults(monkeypatch, short_album(tmp_path / "a", 2, "cd-master"), seconds(3.0), one_song)
    assert found == {"duration_s": ["3.00 s", "3.00 s"]}


def test_eighty_one_minutes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    """IEC 60908 and plants' practice: 74:00, at most 79:57. The first pause counts."""
    album = short_album(tmp_path / "a", 3, "cd-master", gap_before_s=0)
    found = faults(monkeypatch, album, seconds(1620.0), one_song)
    reported = "disc 1: 81:02:00 min:s:frames"
    assert found == {"part_length_max": [reported]}


def test_seventy_six_minutes_are_a_remark(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement
) -> None:
    """74:00 is the standard's; plants commonly take up to 79:57, so it fails no disc."""
    album = short_album(tmp_path / "a", 2, "cd-master", gap_before_s=0)
    assert faults(monkeypatch, album, seconds(2280.0), one_song) == {}
    (remark,) = [f for f in check(resolve_request(album), Options()).findings if f.rule == "part_length_good"]
    assert remark.result is Result.REMARKS
    waiver = Waiver("part_length_good", "Q. Halloran, plant", "asked on the telephone, up to 79 minutes")
    request = resolve_request(album)
    waived = replace(request, release=replace(request.release, waivers=(waiver,)))
    delivery = check(waived, Options())
    assert delivery.result is Result.REMARKS
    assert [f.answer for f in delivery.findings if f.rule == "part_length_good"] == [Answer.WAIVED]


def test_a_hundred_tracks(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    album = short_album(tmp_path / "a", 100, "cd-master", gap_before_s=0)
    found = faults(monkeypatch, album, seconds(5.0), one_song)
    assert found == {"part_tracks_max": ["disc 1: 100 tracks"]}


def test_codes_are_proven_before_anything_is_converted(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement
) -> None:
    """ISO 3901 (well formed), GS1 (check digit: 2000000140018, not ...9); that none is stated refuses nothing, since
    IEC 60908 leaves the codes optional."""
    album = short_album(tmp_path / "a", 3, "cd-master", gap_before_s=0)

    def spoil(data: dict[str, Any]) -> None:
        del data["tracks"][1]["isrc"]
        data["tracks"][2]["isrc"] = "1ZOSL2600003"
        data["upc"] = "2000000140019"

    found = faults(monkeypatch, edited(album, spoil), seconds(60.0), one_song)
    assert "track_fields" not in found
    assert found["isrc_form"] == ["'1ZOSL2600003'"]
    assert found["upc_check_digit"] == ["2000000140019"]


def test_48_khz_where_conversion_is_not_permitted(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement
) -> None:
    album = short_album(tmp_path / "a", 2, "strict", gap_before_s=0)
    text = "title: As it is\nabout: Tests.\nchecked: 2026-11-25\nbased_on: cd-master\nconvert: {rate: never}\n"
    (album.parent / "strict.yaml").write_text(text, encoding="utf-8")
    found = faults(monkeypatch, album, {"rate_hz": 48_000, "duration_s": 5.0, "frames": 240_000}, one_song)
    assert found == {"rate_hz": ["48 kHz", "48 kHz"]}


def test_two_rates_that_run_on_into_each_other(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement
) -> None:
    album = short_album(tmp_path / "a", 2, "cd-master", gap_before_s=0)
    rates = {"rate_hz": lambda track: 96_000 if track.position == 1 else 48_000, "duration_s": 5.0, "frames": 480_000}
    found = faults(monkeypatch, album, rates, one_song)
    assert list(found) == ["joins_of_one_form"]
    assert found["joins_of_one_form"][0].startswith("joined without a gap to the track before")


def test_two_rates_on_a_side(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    album = short_album(tmp_path / "a", 2, "vinyl-sides", gap_before_s=2)
    rates = {"rate_hz": lambda track: 96_000 if track.position == 1 else 48_000, "duration_s": 5.0, "frames": 480_000}
    found = faults(monkeypatch, album, rates, one_song)
    assert found == {"one_rate": ["48 kHz on track 2; 96 kHz on track 1"], "writable_form": ["48 kHz"]}


def test_a_side_over_its_maximum(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    """The length depends on what is pressed: 23 minutes at 33, 14:30 at 45."""
    album = short_album(tmp_path / "a", 2, "vinyl-sides", gap_before_s=0)
    found = faults(monkeypatch, album, seconds(700.0), one_song)
    assert found == {"part_length_max": ["side A (12-inch 33⅓ rpm): 23:20 min:s"]}
    found = faults(
        monkeypatch,
        edited(album, lambda data: data.update(pressing={"speed_rpm": 45})),
        seconds(440.0),
        one_song,
    )
    assert found == {"part_length_max": ["side A (12-inch 45 rpm): 14:40 min:s"]}


def test_no_side_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, one_song: Measurement) -> None:
    """Nothing here divides an album."""
    album = short_album(tmp_path / "a", 2, "cassette-sides", gap_before_s=0)
    edited(album, lambda data: [track.pop("side") for track in data["tracks"]])
    assert faults(monkeypatch, album, seconds(60.0), one_song) == {"sides_stated": ["no track names its side"]}


def test_a_negative_gap_and_a_repeated_side_are_faults_of_the_file(tmp_path: Path) -> None:
    album = short_album(tmp_path / "a", 3, "vinyl-sides")

    def spoil(data: dict[str, Any]) -> None:
        data["tracks"][1].update(gap_before_s=-1, side="B")

    with pytest.raises(Faulty) as fault:
        resolve_request(edited(album, spoil))
    reported = str(fault.value)
    assert "gap_before_s" in reported
    assert "side A again, after side B" in reported


def test_an_unusable_master_is_named_and_no_image_is_begun(tmp_path: Path) -> None:
    release = write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"])
    (tmp_path / "masters" / "02 Two.wav").write_bytes(b"RIFF")
    built = made(release, tmp_path / "out")
    assert built.package is None
    assert built.delivery.images == ()
    why = {f.rule: f.why for f in built.delivery.findings if f.answer is Answer.NOT_MEASURED}
    assert why["part_length_max"] == "nothing can be laid out while track 2 cannot be measured"


def test_times_of_a_disc_are_counted_from_its_first_pause(disc: Built) -> None:
    """IEC 60908: the first track's index 1 is at 00:02:00, its pause at 00:00:00."""
    (image,) = disc.delivery.images_of("cd-master")
    assert msf(image.programme.on_carrier(image.programme.songs[0].mark)) == "00:02:00"


def test_a_song_that_came_out_otherwise_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One sample changed between writing and reading back: the cut-out song is not the master, and nothing ships."""
    real = images.join

    def spoils(*words: Any) -> None:
        real(*words)
        samples = read(words[-1])
        samples[5000, 0] ^= 1 << 16
        sf.write(words[-1], samples, 44_100, subtype="PCM_16")

    monkeypatch.setattr(images, "join", spoils)
    built = made(write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"]), tmp_path / "out")
    assert built.package is None
    assert "samples that differ from the master's" in built.delivery.images[0].problem
    assert built.delivery.result is Result.UNUSABLE


def test_an_unforeseen_fault_on_one_side_holds_back_the_whole_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = images.join

    def trips(programme: Any, *rest: Any) -> None:
        if programme.label == "A":
            raise ZeroDivisionError("planted")
        real(programme, *rest)

    monkeypatch.setattr(images, "join", trips)
    specs = ["vinyl-sides", "store-master-24"]
    built = made(write_programme(tmp_path / "masters", 44_100, "PCM_24", specs), tmp_path / "out")
    assert "planted" in built.delivery.images[0].problem
    assert not any(image.shipped for image in built.delivery.images)
    assert not any(part.inside for part in built.delivery.of_spec("vinyl-sides"))
    assert built.package
    assert not list((built.package / "data").glob("vinyl-sides/*"))  # half a record is no record
    assert len(list((built.package / "data" / "store-master-24").glob("*.wav"))) == 4


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(images, "join", full)
    release = write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"])
    with pytest.raises(Unfinished):
        made(release, tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []


def test_the_data_document_obeys_its_schema(disc: Built) -> None:
    """jsonschema, draft 2020-12; of a build and of the check before it."""
    from jsonschema import Draft202012Validator

    from delivery.meters import figures
    from delivery.report.data import document as data_json
    from delivery.report.view.make import view_of

    schema = json.loads((Path(__file__).parents[2] / "specs" / "output.schema.json").read_text(encoding="utf-8"))
    unwritten = tuple(replace(image, shipped=None, song_hashes=()) for image in disc.delivery.images)
    parts = tuple(replace(part, inside="") for part in disc.delivery.parts)
    planned = replace(disc.delivery, images=unwritten, parts=parts, built=False)
    for delivery in (disc.delivery, planned):
        document = json.loads(data_json.render(view_of(delivery, figures())))
        assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] == []


def test_the_album_is_one_picture(tmp_path: Path) -> None:
    """Gaps, cuts, what sounds twice, what is extra, what is of another form, what is numbered otherwise."""
    from rich.console import Console

    from delivery.meters import figures
    from delivery.report.text import full
    from delivery.report.view.make import view_of

    release = write_programme(tmp_path, 44_100, "PCM_16", ["vinyl-sides"], length_s=8.0)
    again = sf.read(tmp_path / "01 One.wav", always_2d=True)[0]
    sf.write(tmp_path / "04 Four.wav", np.concatenate([np.zeros((20_000, 2)), 0.5 * again]), 44_100, subtype="PCM_24")
    sf.write(tmp_path / "take 7.wav", again, 44_100)
    (tmp_path / "03 Three.wav").rename(tmp_path / "09 Three.wav")
    edited(release, lambda data: data["tracks"][2].update(file="09 Three.wav"))
    delivery = check(resolve_request(release), Options())
    view = view_of(delivery, figures())
    assert view.together
    assert [row[4] for row in view.together[0].rows] == ["", "continues", "continues", "quiet"]
    assert [row[3] for row in view.together[0].rows] == ["", "0 s", "0 s", "1.5 s"]
    console = Console(width=100, file=io.StringIO(), record=True)
    console.print(*full.check_table(view), sep="\n")
    text = " ".join(console.export_text().split())
    assert "Tracks 1 and 4 may be one recording: -6.0 dB and +0.45 s apart" in text
    assert "Sound files no track names: take 7.wav." in text
    assert "Mixed forms: 16-bit 44.1 kHz WAV on 1 to 3; 24-bit 44.1 kHz WAV on 4." in text
    assert "Track 3 is made from '09 Three.wav'" in text
    assert "Side A (vinyl-sides, 12-inch 33⅓ rpm): 0:24.2 (good up to 19:30, at most 23:00: good), 3 tracks." in text
    assert {f.rule for f in delivery.findings if f.answer is Answer.NOT_MET} >= {"no_near_duplicate", "one_depth"}
