"""Songs that continue into each other, through the whole pipeline and for every shipped spec that makes song files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.audio.blocks import open_sound
from delivery.chain.render import render
from delivery.intake.spec.file import load_spec, spec_names
from delivery.model.chain import StepKind
from delivery.model.part import Delivery
from delivery.pipeline import Options, build, check, resolve_request
from delivery.pipeline.joined_songs import place
from delivery.pipeline.judge_part import gain_db
from tests.albums import Song, hashes, write_album, write_spec
from tests.joined import errors
from tests.music import PIECES, loud_master, needs_music
from tests.signals import Array, sine

SHIPPED = [name for name, _ in spec_names() if load_spec(name).carrier is None]
MP3 = "{container: {must: [mp3]}, coding: {must: [mp3]}, rate_hz: {must: [44100]}}"
CD = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [16]}, rate_hz: {must: [44100]}}"
CONVERT = "{rate: lower, depth: lower, dither: modified-e-9}"


def album(folder: Path, sound: Array, rate_hz: int, cuts: list[int], specs: list[str], **extra: dict[str, Any]) -> Path:
    """*sound* cut into songs of 24 bits; what the release file says of a song besides, by 'song1' ..."""
    songs = [Song(f"Song {n}", 44_100, 0.5, extra=extra.get(f"song{n}", {})) for n in range(1, len(cuts) + 2)]
    release = write_album(folder, songs, specs)
    for number, (start, stop) in enumerate(zip([0, *cuts], [*cuts, len(sound)], strict=True), 1):
        soundfile.write(folder / f"{number:02} Song {number}.wav", sound[start:stop], rate_hz, "PCM_24")
    return release


def tone(rate_hz: int = 96_000) -> Array:
    return sine(997, rate_hz, 3, level_dbfs=-6) * [1.0, 1.0]


CUTS = [96_017, 192_101]


def made(folder: Path, planned: Delivery, spec: str) -> list[Array]:
    """Every song as planned, whatever the findings on the release are; required gain is removed again."""
    songs = []
    for part, source in zip(planned.of_spec(spec), planned.sources, strict=True):
        assert part.chain
        assert source.measurement
        file = folder / f"{spec} {part.track}.{part.chain.target.container}"
        render(source.track.file, part.chain, file, source.measurement.value("audio_hash"), place(planned, part))
        with open_sound(file) as sound:
            songs.append(10 ** (-gain_db(part) / 20) * np.concatenate(list(sound.blocks())))
    return songs


def sounds() -> dict[str, tuple[Array, int, list[int]]]:
    """A tone over three songs at 96 kHz; music cut in two."""
    found = {"tone": (tone(), 96_000, CUTS)}
    if PIECES:
        music, rate_hz = loud_master(PIECES[0], 6.0)
        found["music"] = (0.5 * music, 2 * rate_hz, [3 * rate_hz + 13])  # as if made at twice the rate
    return found


@pytest.mark.thorough(11)
@pytest.mark.parametrize("what", ["tone", pytest.param("music", marks=[needs_music, pytest.mark.slow])])
@pytest.mark.parametrize("spec", SHIPPED)
def test_every_shipped_spec_joins_without_a_click(tmp_path: Path, spec: str, what: str) -> None:
    """No gap is stated: the samples say that the songs continue. Lossless files: no more error at the cuts than
    elsewhere; lossy ones: no more than the coder makes elsewhere, a decibel apart.
    """
    sound, rate_hz, cuts = sounds()[what]
    sound = np.round(sound * 2**23) / 2**23
    planned = check(resolve_request(album(tmp_path, sound, rate_hz, cuts, [spec])), Options(workers=1))
    chain = planned.of_spec(spec)[0].chain
    assert chain
    songs = made(tmp_path, planned, spec)
    at_cuts, elsewhere = errors(songs, sound, rate_hz, chain.target.rate_hz, cuts)
    lossy = chain.step(StepKind.ENCODE) is not None
    assert at_cuts <= elsewhere + (1 if lossy else 0.5)
    assert lossy or elsewhere < -80


def test_any_number_of_workers_gives_the_same_bytes(tmp_path: Path) -> None:
    """Each song is made separately, with as much of its neighbours as matters: shaped noise and encoders included."""
    for name, requires in (("disc", CD), ("mp3", MP3)):
        (tmp_path / "masters").mkdir(exist_ok=True)
        write_spec(tmp_path / "masters", name, requires, CONVERT)
        with (tmp_path / "masters" / f"{name}.yaml").open("a") as file:
            file.write("encode: {bitrate_kbps: 192}\n" if name == "mp3" else "")
    release = album(tmp_path / "masters", tone(), 96_000, CUTS, ["disc", "mp3"])
    packages = []
    for workers in (1, 3):
        built = build(resolve_request(release), tmp_path / str(workers), Options(workers=workers))
        assert built.package
        packages.append(hashes(built.package))
    assert packages[0] == packages[1]
    assert sum(name.endswith((".wav", ".mp3")) for name in packages[0]) == 6


def test_a_song_that_needs_nothing_is_bit_identical_beside_one_that_does(tmp_path: Path) -> None:
    """Songs 1 and 2 continue into each other and have the disc's own form; so does 3, which has another rate."""
    write_spec(tmp_path, "disc", CD, CONVERT)
    release = album(tmp_path, tone(44_100), 44_100, [44_117, 88_205], ["disc"], song2={"gap_before_s": 0})
    for number in (1, 2):
        file = tmp_path / f"{number:02} Song {number}.wav"
        soundfile.write(file, soundfile.read(file)[0], 44_100, "PCM_16")
    soundfile.write(tmp_path / "03 Song 3.wav", tone()[:96_000], 96_000, "PCM_24")
    built = build(resolve_request(release), tmp_path / "out", Options(workers=1))
    parts = built.delivery.of_spec("disc")
    assert [part.chain.identical for part in parts if part.chain] == [True, True, False]
    assert not any(part.stream for part in parts)
    for part, source in zip(parts[:2], built.delivery.sources, strict=False):
        assert part.shipped
        assert source.measurement
        assert part.shipped.measurement.value("audio_hash") == source.measurement.value("audio_hash")


def test_lengths_are_reported_before_and_after_alike_and_add_up(tmp_path: Path) -> None:
    """What check expects of the songs is what they have: cuts lie on one clock."""
    write_spec(tmp_path, "disc", CD, CONVERT)
    release = album(tmp_path, tone(), 96_000, CUTS, ["disc"])
    built = build(resolve_request(release), tmp_path / "out", Options(workers=1))
    frames = [part.shipped.measurement.value("frames") for part in built.delivery.of_spec("disc") if part.shipped]
    assert frames == [44_108, 44_138, 44_054]
    assert sum(frames) == 3 * 44_100
    because = [part.chain.steps[0].because for part in built.delivery.of_spec("disc") if part.chain]
    assert because[0].endswith("in one piece with tracks 2 and 3 (joined without a gap)")


@pytest.mark.parametrize(("gap_s", "joined"), [(0, True), (None, True), (2, False)])
def test_a_stated_gap_parts_songs_that_would_continue(tmp_path: Path, gap_s: float | None, joined: bool) -> None:
    write_spec(tmp_path, "disc", CD, CONVERT)
    text = {} if gap_s is None else {"gap_before_s": gap_s}
    release = album(tmp_path, tone(), 96_000, CUTS[:1], ["disc"], song2=text)
    planned = check(resolve_request(release), Options(workers=1))
    assert [part.stream for part in planned.of_spec("disc")] == ([(1, 2)] * 2 if joined else [()] * 2)


def test_a_neighbour_that_cannot_be_read_leaves_the_others_joined(tmp_path: Path) -> None:
    write_spec(tmp_path, "disc", CD, CONVERT)
    sound = np.concatenate([tone(), tone()[: 96_000 * 2]])
    release = album(tmp_path, sound, 96_000, [*CUTS, 288_000], ["disc"])
    (tmp_path / "01 Song 1.wav").write_bytes(b"no sound")
    planned = check(resolve_request(release), Options(workers=1))
    assert [part.stream for part in planned.of_spec("disc")] == [(), (2, 3, 4), (2, 3, 4), (2, 3, 4)]


CEILING = "{true_peak_max_dbtp: {must: -6.0}, rate_hz: {must: [44100]}, bits: {must: [16]}, coding: {must: [pcm]}}"
DOWN = "{rate: lower, depth: lower, gain: down_to_ceiling, gain_scope: SCOPE}"


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("scope", "reported"), [("track", True), ("album", False)])
@pytest.mark.parametrize("gap_s", [0, 2])
def test_a_step_in_level_at_a_join_is_reported_before_anything_is_built(
    tmp_path: Path, scope: str, reported: bool, gap_s: float
) -> None:
    """The second half is 3 dB louder, the ceiling lies 1 dB under the first: 1 dB less here, 4 dB less there."""
    write_spec(tmp_path, "disc", CEILING, DOWN.replace("SCOPE", scope))
    sound = np.concatenate([sine(997, 96_000, 1, level_dbfs=-5), sine(997, 96_000, 1, level_dbfs=-2)]) * [1.0, 1.0]
    release = album(tmp_path, sound, 96_000, [96_000], ["disc"], song2={"gap_before_s": gap_s})
    remarks = [text for text in check(resolve_request(release), Options(workers=1)).remarks if "steps by" in text]
    assert len(remarks) == (reported and gap_s == 0)
    for text in remarks:
        step_db = float(text.split("steps by ")[1].split(" dB")[0])
        assert step_db == pytest.approx(-3, abs=0.02)
        assert "tracks 1 and 2 continue" in text
        assert "gain_scope: album" in text
    built = build(resolve_request(release), tmp_path / "out", Options(workers=1))
    assert [text for text in built.delivery.remarks if "steps by" in text] == remarks


@pytest.mark.parametrize(
    ("gap_s", "fade", "reported"),
    [(0, False, "beside the other"), (None, False, "no gap is stated"), (2, False, ""), (None, True, "")],
)
def test_joined_masters_at_two_rates_are_reported(
    tmp_path: Path, gap_s: float | None, fade: bool, reported: str
) -> None:
    """Where no gap is stated each is converted separately, as if there were silence at the cut, and may click."""
    write_spec(tmp_path, "disc", CD, CONVERT)
    text = {} if gap_s is None else {"gap_before_s": gap_s}
    release = album(tmp_path, tone()[:192_000], 96_000, [96_000], ["disc"], song2=text)
    first = tone(44_100)[:44_100] * (np.linspace(1, 0, 44_100)[:, None] if fade else 1)
    first[-2_000:] *= 0 if fade else 1
    soundfile.write(tmp_path / "01 Song 1.wav", first, 44_100, "PCM_16")
    remarks = [each for each in check(resolve_request(release), Options(workers=1)).remarks if "masters differ" in each]
    assert len(remarks) == bool(reported)
    assert all(reported in each and "44.1 kHz and 96 kHz" in each for each in remarks)


@pytest.mark.parametrize("number", [1, 2])
def test_songs_at_two_rates_without_a_gap_meet_without_a_click(tmp_path: Path, number: int) -> None:
    """The one at 44.1 kHz stays bit-identical; the other is converted, which is reported."""
    write_spec(tmp_path, "disc", CD, "{rate: lower, depth: lower}")
    sound = tone()[:192_000]
    release = album(tmp_path, sound, 96_000, [96_000], ["disc"], song2={"gap_before_s": 0})
    here = tone(44_100)[44_100 * (number - 1) :][:44_100]
    file = tmp_path / f"{number:02} Song {number}.wav"
    soundfile.write(file, np.round(here * 2**15) / 2**15, 44_100, "PCM_16")
    built = build(resolve_request(release), tmp_path / "out", Options(workers=1))
    copied, converted = sorted(built.delivery.of_spec("disc"), key=lambda part: part.track != number)
    assert copied.chain
    assert copied.chain.identical
    assert converted.chain
    assert converted.chain.steps[0].because.endswith(f"beside track {number} at 44.1 kHz (joined without a gap)")
    songs = [soundfile.read(each)[0] for each in sorted(built.package.rglob("*.wav"))] if built.package else []
    at_cut, elsewhere = errors(songs, sound, 96_000, 44_100, [96_000])
    assert at_cut <= elsewhere + 0.5
    assert elsewhere < -80
