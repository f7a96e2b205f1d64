"""Conversion through the pipeline: what is read back is what was rendered, and it comes out the same every time."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile

from delivery.audio import pcm
from delivery.chain.render import render
from delivery.meters import figures
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.finding import Answer, Result
from delivery.model.part import Part
from delivery.pack import layout
from delivery.pipeline import Built
from delivery.pipeline.judge_part import gain_db
from delivery.report.view.make import view_of
from delivery.report.view.track_page import Done
from tests.albums import Song, write_album, write_spec
from tests.pipeline.made import made

CD = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [16]}, rate_hz: {must: [44100]}}"


def parts(built: Built, spec: str) -> tuple[Part, ...]:
    return built.delivery.of_spec(spec)


def data(built: Built) -> dict[str, Any]:
    """The document beside the sheet."""
    assert built.package
    return dict(json.loads(layout.on_disk(built.package, layout.DATA_JSON).read_bytes()))


def shipped_data(built: Built, spec: str) -> dict[str, Any]:
    return dict(next(part["shipped"] for part in data(built)["parts"] if part["spec"] == spec))


def done(built: Built, spec: str) -> Done:
    """The sheet's text on what was done to the first song for *spec*."""
    return next(each for each in view_of(built.delivery, figures()).tracks[0].done if each.spec == spec)


def masters(folder: Path, *songs: Song, **specs: tuple[str, str]) -> Path:
    """An album for specs given as name=(requires, convert)."""
    folder.mkdir()
    for name, (requires, convert) in specs.items():
        write_spec(folder, name, requires, convert)
    return write_album(folder, songs, list(specs))


def test_a_writer_that_fails_silently_is_found_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One wrong bit in one sample: the file is whole, opens and plays, and must not ship."""
    from delivery.chain import render as renderer

    release = masters(tmp_path / "masters", Song(), disc=(CD, "{rate: lower, depth: lower}"))
    real = pcm.write_pcm

    def wrong(path: Path, form: pcm.PcmForm, frames: int, blocks: Iterable[np.ndarray]) -> None:
        def changed() -> Iterator[np.ndarray]:
            for block in blocks:
                other = block.copy()
                other[0, 0] ^= 1 << 16
                yield other

        real(path, form, frames, changed())

    monkeypatch.setattr(renderer, "write_pcm", wrong)
    built = made(release, tmp_path / "out")
    assert "samples that were not rendered" in parts(built, "disc")[0].problem
    assert built.delivery.result is Result.UNUSABLE
    assert built.package is None


COPIES = {
    "constant": ("{container: {must: [mp3]}, coding: {must: [mp3]}, rate_hz: {must: [44100]}}", "bitrate_kbps: 320"),
    "variable": ("{container: {must: [mp3]}, coding: {must: [mp3]}, rate_hz: {must: [44100]}}", "vbr_quality: 0"),
    "opus": ("{container: {must: [opus]}, coding: {must: [opus]}, rate_hz: {must: [48000]}}", "bitrate_kbps: 192"),
    "aac": ("{container: {must: [m4a]}, coding: {must: [aac]}, rate_hz: {must: [44100]}}", "bitrate_kbps: 256"),
}


@pytest.mark.thorough(2)
@pytest.mark.parametrize("name", COPIES)
def test_a_lossy_copy_by_spec_is_whole_and_measured_as_decoded(tmp_path: Path, name: str) -> None:
    """Length of the master to the frame; what encoding did to the peaks is in the data and on the sheet."""
    requires, encoding = COPIES[name]
    release = masters(
        tmp_path / "masters", Song(level_dbfs=-14), **{name: (requires, f"{{rate: lower}}\nencode: {{{encoding}}}")}
    )
    built = made(release, tmp_path / "out")
    (part,) = parts(built, name)
    assert part.problem == ""
    assert part.shipped
    assert built.package
    rate_hz = part.shipped.measurement.value("rate_hz")
    assert part.shipped.measurement.value("frames") == round(2.2 * rate_hz)
    decoded = shipped_data(built, name)["decoded"]
    with av.open(str(built.package / part.shipped.path)) as file:
        highest = max(np.abs(frame.to_ndarray()).max() for frame in file.decode(audio=0))
    assert 20 * np.log10(highest) <= decoded["true_peak_dbtp"] + 1e-6 <= 20 * np.log10(highest) + 1
    assert any(line.startswith("Decoded to float and measured: true peak") for line in done(built, name).lines)


def test_an_over_in_a_copy_is_reported_with_place_and_remedy(tmp_path: Path) -> None:
    """A master pressed to full scale; the ceiling is only a should, so the copy ships with a remark."""
    requires = COPIES["constant"][0]
    release = masters(
        tmp_path / "masters", Song(rate_hz=44_100), loud=(requires, "{rate: lower}\nencode: {bitrate_kbps: 128}")
    )
    path = release.parent / "01 Song.wav"
    rng = np.random.default_rng(1)
    soundfile.write(path, 0.98 * np.clip(rng.standard_normal((88_200, 2)), -1, 1), 44_100, "PCM_24")
    built = made(release, tmp_path / "out")
    decoded = shipped_data(built, "loud")["decoded"]
    assert decoded["overs_count"] > 0
    assert decoded["trim_db"] == -np.ceil(100 * decoded["true_peak_dbtp"]) / 100
    assert max(over["dbtp"] for over in decoded["worst"]) == decoded["true_peak_dbtp"]
    (reported,) = [line for line in done(built, "loud").lines if line.startswith("Decoded")]
    assert f"about {-decoded['trim_db']:.2f} dB less cures it" in reported
    assert f"{decoded['true_peak_dbtp']:+.2f} dBTP at 0:0" in reported


@pytest.mark.parametrize(("subtype", "bits"), [("PCM_16", 16), ("PCM_24", 24), ("FLOAT", 24)])
def test_alac_by_spec_is_lossless(tmp_path: Path, subtype: str, bits: int) -> None:
    requires = f"{{container: {{must: [m4a]}}, coding: {{must: [pcm]}}, bits: {{must: [{bits}]}}}}"
    release = masters(tmp_path / "masters", Song(rate_hz=48_000, subtype=subtype), alac=(requires, "{depth: lower}"))
    built = made(release, tmp_path / "out")
    (part,) = parts(built, "alac")
    assert part.shipped
    assert part.chain
    assert built.package
    assert part.shipped.measurement.value("coding") == "pcm"
    assert shipped_data(built, "alac")["decoded"] is None
    with av.open(str(built.package / part.shipped.path)) as file:
        assert file.streams.audio[0].codec_context.name == "alac"
        integers = np.concatenate([frame.to_ndarray() for frame in file.decode(audio=0)], axis=1).T
    if subtype != "FLOAT":
        assert part.chain.identical
        scale = 1 if bits == 16 else 2**8
        master = soundfile.read(release.parent / "01 Song.wav", dtype="int16" if bits == 16 else "int32")[0]
        assert np.array_equal(integers.astype(np.int64) // scale, master.astype(np.int64) // scale)
    else:
        assert [step.kind for step in part.chain.steps] == [StepKind.REQUANTISE]


@pytest.mark.parametrize("bits", [16, 24])
def test_floats_that_hold_integers_ship_as_these_integers(tmp_path: Path, bits: int) -> None:
    """A float export of finished 16 or 24-bit sound: no dither, identical samples, proven by the audio hash."""
    requires = "{container: {must: [%s]}, coding: {must: [pcm]}, bits: {must: [24]}}"
    specs = {kind: (requires % kind, "{depth: lower}") for kind in ("wav", "flac", "aiff", "m4a")}
    release = masters(tmp_path / "masters", Song(rate_hz=48_000), **specs)
    path = release.parent / "01 Song.wav"
    samples = np.rint(soundfile.read(path)[0] * 2 ** (bits - 1)) / 2 ** (bits - 1)
    soundfile.write(path, samples, 48_000, "FLOAT")
    built = made(release, tmp_path / "out")
    assert built.package
    for part in built.delivery.parts:
        assert part.shipped, part.problem
        assert part.chain
        assert part.chain.identical
        assert done(built, part.spec).headline.startswith("samples bit-identical: audio hash in = audio hash out")
        if part.spec != "m4a":
            assert np.array_equal(soundfile.read(built.package / part.shipped.path)[0], samples)


def test_integers_ship_as_floats_where_required(tmp_path: Path) -> None:
    floats = ("{container: {must: [wav]}, coding: {must: [float]}}", "{}")
    release = masters(tmp_path / "masters", Song(rate_hz=48_000), floats=floats)
    built = made(release, tmp_path / "out")
    assert built.package
    (part,) = parts(built, "floats")
    assert part.shipped, part.problem
    shipped = built.package / part.shipped.path
    assert soundfile.info(shipped).subtype == "FLOAT"
    assert np.array_equal(soundfile.read(shipped)[0], soundfile.read(release.parent / "01 Song.wav")[0])
    assert done(built, "floats").untouched


def test_one_deliverable_in_three_containers_is_one_sound(tmp_path: Path) -> None:
    """The same audio hash in WAV, AIFF and FLAC of the same rate and depth, read back from what ships."""
    specs = {kind: (CD.replace("wav", kind), "{rate: lower, depth: lower}") for kind in ("wav", "aiff", "flac")}
    built = made(masters(tmp_path / "masters", Song(), **specs), tmp_path / "out")
    hashes_found = {part.shipped.measurement.value("audio_hash") for part in built.delivery.parts if part.shipped}
    assert len(built.delivery.parts) == 3
    assert len(hashes_found) == 1


def test_silence_at_the_ends_as_required(tmp_path: Path) -> None:
    specs = {
        "dithered": (CD, "{rate: lower, depth: lower, silence: dithered}"),
        "zero": (CD, "{rate: lower, depth: lower}"),
    }
    built = made(masters(tmp_path / "masters", Song(), **specs), tmp_path / "out")
    assert built.package
    ends = {}
    for name in specs:
        (part,) = parts(built, name)
        assert part.shipped
        integers = soundfile.read(built.package / part.shipped.path, dtype="int16")[0]
        ends[name] = np.concatenate([integers[:3_000], integers[-3_000:]])  # of 4410 frames of silence at either end
        assert part.shipped.measurement.value("zero_head_s") == pytest.approx(0.1 if name == "zero" else 0, abs=0.01)
    assert not ends["zero"].any()
    assert ends["dithered"].var() == pytest.approx(0.25, rel=0.1)
    assert "digital silence at the ends kept at zero" in " ".join(done(built, "zero").lines)


def test_a_retagged_master_gives_the_same_sound(tmp_path: Path) -> None:
    """Dither is seeded by the samples, so another title in the master's own tags changes no word of what ships."""
    from mutagen.id3 import TIT2
    from mutagen.wave import WAVE

    release = masters(tmp_path / "masters", Song(), disc=(CD, "{rate: lower, depth: lower}"))
    before = made(release, tmp_path / "before")
    master = WAVE(release.parent / "01 Song.wav")
    master.add_tags()
    master.tags.add(TIT2(encoding=3, text="Another Title Altogether"))
    master.save()
    after = made(release, tmp_path / "after")
    assert before.delivery.sources[0].sha256 != after.delivery.sources[0].sha256
    shipped = [parts(built, "disc")[0].shipped for built in (before, after)]
    assert shipped[0]
    assert shipped[1]
    assert shipped[0].sha256 == shipped[1].sha256  # the same file, tags and all, for its tags come from the release


@pytest.mark.thorough(2)
@pytest.mark.parametrize("worst", [0, 1, 2])
def test_the_balance_of_an_album_is_kept_whichever_song_needs_the_trim(tmp_path: Path, worst: int) -> None:
    """One song passes full scale (floats may), so all are made that much lower, and sound as apart as they did."""
    levels = [-30.0, -24.0, -18.0]
    levels[worst] = 2.0
    songs = [Song(f"Song {at}", level_dbfs=level, seed=at, subtype="FLOAT") for at, level in enumerate(levels)]
    requires = CD[:-1] + ", true_peak_max_dbtp: {must: -1.0}}"
    album = (requires, "{rate: lower, depth: lower, gain: down_to_ceiling, gain_scope: album}")
    built = made(masters(tmp_path / "masters", *songs, album=album), tmp_path / "out")
    made_parts = parts(built, "album")
    assert all(part.shipped for part in made_parts)
    assert len({gain_db(part) for part in made_parts}) == 1
    assert gain_db(made_parts[0]) < -10
    change = [
        part.shipped.measurement.value("integrated_lufs") - source.measurement.value("integrated_lufs")
        for part, source in zip(made_parts, built.delivery.sources, strict=True)
        if part.shipped and source.measurement
    ]
    assert np.ptp(change) < 0.01 + 0.02  # rate conversion drops what lies above 22.05 kHz, differently in each
    loudest = made_parts[worst].shipped
    assert loudest
    assert -1.05 <= loudest.measurement.value("true_peak_dbtp") <= -1.0


def test_gain_scope_track_treats_each_song_separately(tmp_path: Path) -> None:
    songs = [Song("Quiet", level_dbfs=-30, seed=1), Song("Loud", level_dbfs=-8, seed=2, subtype="FLOAT")]
    requires = CD[:-1] + ", true_peak_max_dbtp: {must: -1.0}}"
    built = made(
        masters(tmp_path / "masters", *songs, each=(requires, "{rate: lower, depth: lower, gain: down_to_ceiling}")),
        tmp_path / "out",
    )
    quiet, loud = parts(built, "each")
    assert gain_db(quiet) == 0
    assert gain_db(loud) < 0


def test_a_chain_in_the_data_document_can_be_repeated(tmp_path: Path) -> None:
    """The data document is complete: from it and the master come the very samples that shipped."""
    release = masters(
        tmp_path / "masters",
        Song(level_dbfs=-8, subtype="FLOAT"),
        disc=(CD[:-1] + ", true_peak_max_dbtp: {must: -1.0}}", "{rate: lower, depth: lower, gain: down_to_ceiling}"),
    )
    built = made(release, tmp_path / "out")
    reported = data(built)["parts"][0]
    assert [step["touch"] for step in reported["chain"]["steps"]] == ["rate", "gain", "requantise"]
    assert all(step["because"] for step in reported["chain"]["steps"])
    steps = tuple(Step(StepKind(step.pop("touch")), step.pop("says"), **step) for step in reported["chain"]["steps"])
    chain = Chain(steps, Target(**reported["chain"]["target"]))
    seed = data(built)["sources"][0]["measured"]["figures"]["audio_hash"]
    again = render(release.parent / "01 Song.wav", chain, tmp_path / "again.wav", seed)
    assert again == reported["shipped"]["audio_hash"]


def flattened(path: Path) -> None:
    """9 kHz with a sixth of its third harmonic, at 96 kHz: the sum peaks at 0.866 of the tone, and at 44.1 kHz only
    the tone is left, 1.25 dB higher. Third-harmonic injection, as in any book on power inverters: sqrt(3) / 2.
    """
    t = np.arange(192_000) / 96_000
    tone = 0.5 * (np.sin(2 * np.pi * 9_000 * t) + np.sin(2 * np.pi * 27_000 * t) / 6) * np.hanning(len(t)) ** 0.1
    soundfile.write(path, np.stack([tone, tone * 0.9], axis=1), 96_000, "PCM_24")


def test_a_peak_that_conversion_raises_over_the_ceiling_is_refused_with_the_trim(tmp_path: Path) -> None:
    """No figure of the master shows it; measuring the result does. Master -7.27 dBTP, result -6.02, ceiling -6.5."""
    requires = CD[:-1] + ", true_peak_max_dbtp: {must: -6.5}}"
    specs = {
        "refused": (requires, "{rate: lower, depth: lower}"),
        "trimmed": (requires, "{rate: lower, depth: lower, gain: down_to_ceiling}"),
    }
    release = masters(tmp_path / "masters", Song(), **specs)
    flattened(release.parent / "01 Song.wav")
    built = made(release, tmp_path / "out")
    assert built.delivery.sources[0].measurement
    assert built.delivery.sources[0].measurement.value("true_peak_dbtp") == pytest.approx(-7.27, abs=0.01)
    (refused,), (trimmed,) = parts(built, "refused"), parts(built, "trimmed")
    assert refused.shipped is None
    short = next(each for each in refused.findings if each.rule == "true_peak_max_dbtp")
    assert (short.answer, short.found) == (Answer.NOT_MET, "-6.02 dBTP")
    assert short.remedy.startswith(("a master 0.48 dB lower", "a master 0.49 dB lower"))
    assert trimmed.shipped
    assert gain_db(trimmed) == pytest.approx(-0.48, abs=0.01)
    assert trimmed.shipped.measurement.value("true_peak_dbtp") == pytest.approx(-6.5, abs=0.01)


@pytest.mark.parametrize("container", ["wav", "flac"])
def test_a_copy_that_is_none_is_found_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, container: str) -> None:
    """One wrong byte among the samples of a bit-identical copy, or of the same samples in another container."""
    from delivery.chain import render as renderer

    requires = f"{{container: {{must: [{container}]}}, bits: {{must: [24]}}}}"
    release = masters(tmp_path / "masters", Song(), same=(requires, "{}"))
    real_copy, real_write = renderer._copy, pcm._write

    def wrong_copy(source: Path, target: Path) -> None:
        real_copy(source, target)
        raw = bytearray(target.read_bytes())
        raw[len(raw) // 2] ^= 1
        target.write_bytes(raw)

    def wrong_write(file: Any, form: pcm.PcmForm, block: np.ndarray) -> None:
        real_write(file, form, block ^ np.int32(1 << 8))

    monkeypatch.setattr(renderer, "_copy", wrong_copy)
    monkeypatch.setattr(pcm, "_write", wrong_write)
    built = made(release, tmp_path / "out")
    assert "samples that are not those measured" in parts(built, "same")[0].problem
    assert built.package is None
