"""A mono master for recipients that accept mono, and for a disc that does not: copied to both channels on request."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.meters import figures, measure
from delivery.model.finding import Answer
from delivery.pipeline import Built, Options, build, check, resolve_request
from delivery.report.view.make import view_of
from tests.albums import Song, sound, write_album, write_spec
from tests.pipeline.test_images import edited


def written(folder: Path, specs: list[str], rate_hz: int = 44_100, subtype: str = "PCM_16", **text: Any) -> Path:
    songs = [Song(title, rate_hz, 4.3, -20.0, subtype, seed=at) for at, title in enumerate(("One", "Two"), start=1)]
    path = write_album(folder, songs, specs)
    mono = sound(songs[0])[:, :1]
    sf.write(folder / "01 One.wav", mono, rate_hz, subtype=subtype)
    return edited(path, lambda data: data["tracks"][1].update(gap_before_s=1) or data.update(text))


def samples(path: Path) -> Any:
    return sf.read(path, dtype="int32", always_2d=True)[0]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("mono")
    release = written(folder / "masters", ["cd-master", "store-master-24"], mono_as="both_channels")
    return build(resolve_request(release), folder / "out", Options())


def test_the_disc_holds_the_master_s_samples_on_both_channels(built: Built) -> None:
    """Read by soundfile; audio hashes say the same."""
    (image,) = built.delivery.images_of("cd-master")
    assert built.package
    disc = samples(built.package / "data" / "cd-master" / image.name)
    mono = samples(built.delivery.source(1).track.file)
    song = image.programme.songs[0]
    assert np.array_equal(disc[song.begins : song.ends], np.repeat(mono, 2, axis=1))
    doubled = built.delivery.for_spec("cd-master").source(1)
    assert image.song_hashes[0] == doubled.audio_hash != built.delivery.source(1).audio_hash


def test_where_mono_is_accepted_it_stays_mono(built: Built) -> None:
    (part,) = [part for part in built.delivery.of_spec("store-master-24") if part.track == 1]
    assert part.shipped
    assert part.shipped.measurement.value("channels") == 1
    assert part.chain
    assert part.chain.identical


def test_the_sheet_has_it_as_a_step_with_its_reason(built: Built) -> None:
    view = view_of(built.delivery, figures())
    done = {each.spec: each for each in view.tracks[0].done}
    assert any(
        line.startswith("One channel copied to both, without gain: channels: the spec requires 2, and the release file")
        for line in done["cd-master"].lines
    )
    assert not done["cd-master"].untouched
    assert done["store-master-24"].untouched
    other = {each.spec: each for each in view.tracks[1].done}
    assert other["cd-master"].untouched
    assert view.tracks[0].figures
    assert view.running_orders == ()


def test_what_was_expected_is_what_is_measured(tmp_path: Path) -> None:
    """Two equal loudspeakers are 3.01 LU louder (ITU-R BS.1770-5); predicted before a sample is written."""
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "two", "{channels: {must: [2]}, integrated_lufs: {should: {at_most: -10}}}", "{}")
    release = written(folder, ["two"], mono_as="both_channels")
    planned = check(resolve_request(release), Options())
    (found,) = [f for f in planned.parts[0].findings if f.rule == "integrated_lufs"]
    done = build(resolve_request(release), tmp_path / "out", Options())
    shipped = done.delivery.parts[0].shipped
    assert shipped
    assert found.found == f"{shipped.measurement.value('integrated_lufs'):.2f} LUFS"
    alone = measure(done.delivery.source(1).track.file).value("integrated_lufs")
    assert shipped.measurement.value("integrated_lufs") == pytest.approx(alone + 3.0103, abs=0.005)
    assert done.delivery.for_spec("two").source(1).audio_hash == shipped.measurement.value("audio_hash")


def test_converted_and_dithered_the_channels_stay_equal(tmp_path: Path) -> None:
    """Left less right is digital silence: both get the same dither."""
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "cd", "{rate_hz: {must: [44100]}, bits: {must: [16]}, channels: {must: [2]}}",
               "{rate: lower, depth: lower, dither: tpdf}")  # fmt: skip
    release = written(folder, ["cd"], 96_000, "PCM_24", mono_as="both_channels")
    done = build(resolve_request(release), tmp_path / "out", Options())
    assert done.package
    one = samples(done.package / done.delivery.parts[0].shipped.path)  # type: ignore[union-attr]
    assert one.shape[1] == 2
    assert one.any()
    assert np.array_equal(one[:, 0], one[:, 1])


def test_a_mono_master_is_refused_for_a_disc_by_default(tmp_path: Path) -> None:
    release = written(tmp_path, ["cd-master"])
    delivery = check(resolve_request(release), Options())
    (finding,) = [f for f in delivery.parts[0].findings if f.rule == "channels"]
    assert finding.answer is Answer.NOT_MET
    assert "mono_as: both_channels in the release file" in finding.remedy


def test_a_track_may_state_it_itself(tmp_path: Path) -> None:
    release = edited(written(tmp_path, ["cd-master"]), lambda data: data["tracks"][0].update(mono_as="both_channels"))
    delivery = check(resolve_request(release), Options())
    (finding,) = [f for f in delivery.parts[0].findings if f.rule == "channels"]
    assert (finding.answer, finding.found) == (Answer.MET, "stereo")
