"""One release file for every recipient: a spec that receives some tracks gets what a release of those alone would give.

The oracle is a second release file that names only the tracks the spec receives.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.meters import figures
from delivery.model.finding import Answer
from delivery.pipeline import Built, Options, build, check, resolve_request
from delivery.report.label_copy import text
from delivery.report.text import mail
from delivery.report.view.make import view_of
from tests.albums import Song, sound, write_album, write_spec
from tests.pipeline.test_images import edited

SONGS = ("One", "One (Instrumental)", "Two", "Two (Instrumental)", "Three", "Sketch")
LEFT_OUT = {"cd-master", "vinyl-sides", "shop"}
REQUIRES = (
    "{album_integrated_lufs: {must: {at_least: -24, at_most: -14, target: -16}}, total_duration_max_s: {should: 16}}"
)
CONVERT = "{gain: to_target, gain_scope: album, depth: lower}"
SHOP = """\
name: "{disc_track} {title} ({version})"
papers: [track_list, label_copy_text, label_copy_csv]
"""


@dataclass(frozen=True)
class Pair:
    routed: Built
    alone: Built


def written(folder: Path) -> Path:
    """Three songs; after two of them their instrumentals, one louder than every song; on disc 2 a sketch."""
    songs = [Song(title, 44_100, 4.3, -18.0, "PCM_16", seed=at) for at, title in enumerate(SONGS, start=1)]
    songs[3].level_dbfs = -14.0
    path = write_album(folder, songs, ["cd-master", "vinyl-sides", "shop", "everything"], title="Harbour Arithmetic")
    whole = sound(Song("Whole", 44_100, 9.0, -18.0, seed=9))
    third = len(whole) // 2 + 17
    sf.write(folder / "01 One.wav", whole[:third], 44_100, subtype="PCM_16")
    sf.write(folder / "03 Two.wav", whole[third:], 44_100, subtype="PCM_16")
    for name in ("shop", "everything"):
        with write_spec(folder, name, REQUIRES, CONVERT).open("a", encoding="utf-8") as file:
            file.write(SHOP)
    return edited(path, placed)


def placed(data: dict[str, Any]) -> None:
    tracks = data["tracks"]
    for at, (track, gap_s) in enumerate(zip(tracks, (None, 1, 0, 1, 1.5, 2), strict=True)):
        track["side"] = "A" if at < 4 else "B"
        if gap_s is not None:
            track["gap_before_s"] = gap_s
        if at in (1, 3, 5):
            track |= {"title": SONGS[at].partition(" (")[0], "version": "Instrumental", "not_for": sorted(LEFT_OUT)}
    tracks[5]["disc"] = 2


def without(data: dict[str, Any]) -> None:
    data["tracks"] = [track for track in data["tracks"] if "not_for" not in track]
    data["deliver_to"] = sorted(LEFT_OUT)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    folder = tmp_path_factory.mktemp("routes")
    masters = folder / "masters"
    release = written(masters)
    alone = masters / "alone.yaml"
    alone.write_bytes(release.read_bytes())
    edited(alone, without)
    return Pair(
        build(resolve_request(release), folder / "routed", Options()),
        build(resolve_request(alone), folder / "alone", Options()),
    )


def files(built: Built, spec: str) -> dict[str, bytes]:
    assert built.package
    folder = built.package / "data" / spec
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.thorough(1)
@pytest.mark.parametrize("spec", sorted(LEFT_OUT))
def test_every_file_is_that_of_a_release_without_the_tracks(pair: Pair, spec: str) -> None:
    """Names, tags, samples, the album's gain, cue sheet, PQ list and sheet, side sheets, label copy: all bytes."""
    routed, alone = files(pair.routed, spec), files(pair.alone, spec)
    assert list(routed) == list(alone)
    assert len(routed) >= 5
    assert [name for name in routed if routed[name] != alone[name]] == []


def test_the_spec_that_receives_everything_has_every_track(pair: Pair) -> None:
    names = [name for name in files(pair.routed, "everything") if name.endswith(".wav")]
    assert names[:2] == ["1-01 One.wav", "1-02 One (Instrumental).wav"]
    assert len(names) == 6
    assert [name for name in files(pair.routed, "shop") if name.endswith(".wav")] == [
        "01 One.wav",
        "02 Two.wav",
        "03 Three.wav",
    ]


def test_songs_that_run_on_past_a_left_out_track_are_one_stream(pair: Pair) -> None:
    """Read by soundfile: on the side there is nothing between the two halves of one recording."""
    side = next(image for image in pair.routed.delivery.images_of("vinyl-sides"))
    assert pair.routed.package
    samples = sf.read(pair.routed.package / "data" / "vinyl-sides" / side.name, dtype="int32", always_2d=True)[0]
    masters = [sf.read(source.track.file, dtype="int32", always_2d=True)[0] for source in pair.routed.delivery.sources]
    assert np.array_equal(samples[: len(masters[0]) + len(masters[2])], np.concatenate([masters[0], masters[2]]))
    assert side.programme.songs[1].joined
    own = pair.routed.delivery.for_spec("vinyl-sides")
    assert [(join.before, join.after, join.cut.value) for join in own.joins] == [(1, 3, "continues"), (3, 5, "quiet")]


def test_album_length_and_loudness_count_routed_tracks_only(pair: Pair) -> None:
    findings = {(f.spec, f.rule): f for f in pair.routed.delivery.findings}
    assert findings["shop", "total_duration_max_s"].answer is Answer.MET
    assert findings["everything", "total_duration_max_s"].answer is Answer.NOT_MET
    gains = {
        part.spec: {float(step.settings["gain_db"]) for step in part.chain.steps if "gain_db" in step.settings}
        for part in pair.routed.delivery.parts
        if part.chain and part.spec in ("shop", "everything")
    }
    assert all(len(each) == 1 for each in gains.values())
    assert gains["shop"] != gains["everything"]


def test_the_sheet_lists_routes(pair: Pair) -> None:
    view = view_of(pair.routed.delivery, figures())
    first, second = view.running_orders
    assert first.startswith("CD master, Vinyl sides and shop: tracks 1.1, 1.3, 1.5, numbered 1 to 3; 3 tracks, 0:")
    assert second.startswith("everything: every track; 6 tracks, 0:")
    page = next(page for page in view.tracks if page.position == 3)
    facts = {fact.label: fact.value for fact in page.facts}
    assert facts["Goes to"] == "CD master as track 2, Vinyl sides as track 2, shop as track 2 and everything"
    instrumental = {fact.label: fact.value for fact in view.tracks[1].facts}
    assert instrumental["Goes to"] == "everything"
    assert instrumental["Not for"] == "CD master, Vinyl sides and shop"
    assert [picture.title for picture in view.together] == [
        "The album for CD master, Vinyl sides and shop",
        "The album for everything",
    ]
    assert [len(picture.rows) for picture in view.together] == [3, 6]
    assert [len(picture.lengths) for picture in view.together] == [3, 0]
    for reported in (mail.render(view), text.render(view)):
        assert first.split(";")[0] in " ".join(reported.decode("utf-8").split())


def test_the_data_document_has_it_and_obeys_its_schema(pair: Pair) -> None:
    """jsonschema, draft 2020-12."""
    from jsonschema import Draft202012Validator

    assert pair.routed.package
    document = json.loads((pair.routed.package / "data" / "delivery-data.json").read_text(encoding="utf-8"))
    schema = json.loads((Path(__file__).parents[2] / "specs" / "output.schema.json").read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] == []
    some, whole = document["selections"]
    assert some["specs"] == ["cd-master", "vinyl-sides", "shop"]
    assert [(track["track"], track["number"]) for track in some["tracks"]] == [(1, 1), (3, 2), (5, 3)]
    assert len(whole["tracks"]) == 6
    assert [source["not_for"] for source in document["sources"]][:2] == [[], sorted(LEFT_OUT)]


def test_a_track_that_no_spec_receives_is_reported_and_not_measured(tmp_path: Path) -> None:
    release = written(tmp_path)
    (tmp_path / "04 Two (Instrumental).wav").write_bytes(b"no sound at all")
    delivery = check(resolve_request(release, ("cd-master",)), Options())
    assert [source.track.position for source in delivery.sources] == [1, 3, 5]
    assert [source.problem for source in delivery.sources] == ["", "", ""]
    assert "Track 4, 'Two (Instrumental)', is for none of the specs of this delivery." in delivery.remarks
    assert delivery.unnamed == ()
    assert [part.track for part in delivery.parts] == [1, 3, 5]
