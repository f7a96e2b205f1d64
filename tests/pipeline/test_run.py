"""The pipeline, end to end, on real files: what ships, what is refused, what stays untouched."""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import closing
from pathlib import Path
from zipfile import ZipFile

import bagit
import numpy as np
import pytest
import soundfile as sf

from delivery.errors import Faulty, Occupied, Unfinished, Unusable
from delivery.ledger.cache import MeasurementCache
from delivery.model.chain import StepKind
from delivery.model.finding import Answer, Result
from delivery.model.part import Part
from delivery.pipeline import Built, Options, check, packing, resolve_request
from delivery.pipeline import package as package_module
from delivery.pipeline import songs as making
from delivery.pipeline.verify import verify
from tests.albums import Song, hashes, write_album, write_song, write_spec
from tests.pipeline.made import made

LOSSLESS = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [24]}}"
CD = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [16]}, rate_hz: {must: [44100]}}"
THREE = [Song("One", seed=1), Song("Two", seed=2, seconds=1.5), Song("Three", seed=3)]


def part_of(built: Built, spec: str, track: int) -> Part:
    return next(part for part in built.delivery.of_spec(spec) if part.track == track)


@pytest.fixture
def album(tmp_path: Path) -> Path:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "native", LOSSLESS, "{rate: never}")
    write_spec(folder, "disc", CD, "{rate: lower, depth: lower}")
    return write_album(folder, THREE, ["native", "disc"])


def test_what_ships_is_a_bag_and_masters_stay_as_they_were(album: Path, tmp_path: Path) -> None:
    """RFC 8493, judged by the Library of Congress's own bagit package."""
    before = hashes(album.parent)
    built = made(album, tmp_path / "out")
    assert built.package
    assert bagit.Bag(str(built.package)).validate()
    assert hashes(album.parent) == before
    assert built.delivery.result in (Result.READY, Result.REMARKS)


def test_a_master_that_meets_the_spec_ships_bit_identical(album: Path, tmp_path: Path) -> None:
    built = made(album, tmp_path / "out")
    assert built.package
    part = part_of(built, "native", 1)
    assert part.chain
    assert part.shipped
    assert [step.kind for step in part.chain.steps] == [StepKind.COPY]
    sent, _ = sf.read(built.package / part.shipped.path, dtype="int32")
    master, _ = sf.read(album.parent / "01 One.wav", dtype="int32")
    assert np.array_equal(sent, master)


def test_the_same_samples_at_a_higher_bit_depth_are_measured_as_they_are(tmp_path: Path) -> None:
    """A step of 16 bits is 256 steps of 24 bits. `verify` measures again and finds the figures of the sheet."""
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "native", LOSSLESS, "{rate: never}")
    album = write_album(folder, [Song("Loud", level_dbfs=-14.0, subtype="PCM_16", seconds=4.0)], ["native"])
    built = made(album, tmp_path / "out")
    part = part_of(built, "native", 1)
    (master,) = (source.measurement for source in built.delivery.sources)
    assert part.chain
    assert part.chain.identical
    assert part.shipped
    assert master
    assert (master.value("common_step"), part.shipped.measurement.value("common_step")) == (1, 256)
    assert built.package
    assert verify(built.package).differences == ()


def test_converted_files_are_what_they_claim(album: Path, tmp_path: Path) -> None:
    built = made(album, tmp_path / "out")
    assert built.package
    for part in built.delivery.of_spec("disc"):
        assert part.shipped
        info = sf.info(built.package / part.shipped.path)
        assert (info.samplerate, info.subtype, info.channels) == (44_100, "PCM_16", 2)
        assert part.shipped.measurement.value("rate_hz") == 44_100


def test_same_in_same_out_whatever_the_number_of_workers(album: Path, tmp_path: Path) -> None:
    one = made(album, tmp_path / "one", workers=1, zip=True)
    two = made(album, tmp_path / "two", workers=3, zip=True)
    assert hashes(tmp_path / "one") == hashes(tmp_path / "two")
    assert one.archive
    assert two.archive


def test_a_part_that_is_not_met_is_refused_and_the_others_continue(tmp_path: Path) -> None:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "quiet", LOSSLESS[:-1] + ", true_peak_max_dbtp: {must: -6.0}}", "{rate: never}")
    release = write_album(folder, [Song("Low", level_dbfs=-24), Song("High", level_dbfs=-12, seed=2)], ["quiet"])
    built = made(release, tmp_path / "out")
    low, high = part_of(built, "quiet", 1), part_of(built, "quiet", 2)
    assert low.shipped
    assert high.shipped is None
    short = next(finding for finding in high.findings if finding.answer is Answer.NOT_MET)
    assert short.rule == "true_peak_max_dbtp"
    assert "dB lower" in short.remedy
    assert built.delivery.result is Result.NOT_READY
    assert built.package
    assert not list(built.package.rglob("*High*"))


def test_an_unreadable_master_does_not_stop_the_others(album: Path, tmp_path: Path) -> None:
    (album.parent / "02 Two.wav").write_text("this is not sound", encoding="utf-8")
    built = made(album, tmp_path / "out")
    assert part_of(built, "native", 2).result is Result.UNUSABLE
    assert "02 Two.wav" in part_of(built, "native", 2).problem
    assert part_of(built, "native", 1).shipped
    assert part_of(built, "native", 3).shipped


def test_an_unforeseen_error_is_one_line_and_the_others_continue(
    album: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = making.make

    def trips(task: object, *rest: object) -> Part:
        from delivery.pipeline import make_part

        def breaks(*_: object) -> None:
            raise ZeroDivisionError("planted")

        if task.part.track == 2:  # type: ignore[attr-defined]
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(make_part, "render", breaks)
                return real(task, *rest)  # type: ignore[arg-type]
        return real(task, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(making, "make", trips)
    built = made(album, tmp_path / "out", workers=1)
    assert "planted" in part_of(built, "native", 2).problem
    assert part_of(built, "native", 1).shipped


def test_nothing_is_written_when_everything_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "long", "{duration_s: {must: {at_least: 600}}}", "{}")
    built = made(write_album(folder, THREE, ["long"]), tmp_path / "out")
    assert built.package is None
    assert list((tmp_path / "out").iterdir()) == []


def test_a_release_fault_refuses_the_whole_spec(tmp_path: Path) -> None:
    """Two recordings under one code: no file of that spec may be delivered (ISO 3901:2019, one code, one recording)."""
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "coded", "{isrc_unique: {must: true}}", "{}")
    write_spec(folder, "plain", LOSSLESS, "{}")
    songs = [Song("One"), Song("Two", seed=2, extra={"isrc": "ZZOSL2600001"})]
    built = made(write_album(folder, songs, ["coded", "plain"]), tmp_path / "out")
    assert all(part.shipped is None for part in built.delivery.of_spec("coded"))
    assert all(part.shipped for part in built.delivery.of_spec("plain"))
    assert built.delivery.spec_result("coded") is Result.NOT_READY


def test_an_existing_package_is_overwritten_only_on_request(album: Path, tmp_path: Path) -> None:
    built = made(album, tmp_path / "out")
    assert built.package
    before = hashes(built.package)
    with pytest.raises(Occupied, match="--replace"):
        made(album, tmp_path / "out", again=True)
    assert hashes(built.package) == before
    again = made(album, tmp_path / "out", replace=True)
    assert again.package
    assert hashes(again.package) == before


def zipped_files(archive: Path | None) -> dict[str, bytes]:
    assert archive
    with ZipFile(archive) as content:
        return {name.partition("/")[2]: content.read(name) for name in content.namelist()}


def test_no_old_archive_stays_beside_a_replaced_package(album: Path, tmp_path: Path) -> None:
    """It is made again with the package, whether or not this run was to make one."""
    first = made(album, tmp_path / "out", zip=True)
    write_song(album.parent, 1, Song("One", seed=9))
    again = made(album, tmp_path / "out", replace=True)
    assert again.package
    assert again.archive == first.archive
    files = {path.relative_to(again.package).as_posix(): path.read_bytes() for path in again.package.rglob("*.*")}
    assert zipped_files(again.archive) == files


def test_an_old_archive_without_its_package_is_not_passed_over(album: Path, tmp_path: Path) -> None:
    first = made(album, tmp_path / "out", zip=True)
    assert first.package
    shutil.rmtree(first.package)
    with pytest.raises(Occupied, match=r"\.zip: found an existing file or folder.*Raise the revision"):
        made(album, tmp_path / "out")


def test_a_full_disk_leaves_no_archive_of_an_earlier_package(
    album: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = made(album, tmp_path / "out", zip=True)
    assert first.archive

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(first.archive))

    monkeypatch.setattr(package_module, "write_zip", full)
    with pytest.raises(OSError, match="No space"):
        made(album, tmp_path / "out", replace=True)
    assert not first.archive.exists()


def test_gain_down_to_the_ceiling_is_learnt_from_the_result(tmp_path: Path) -> None:
    """Peaks grow in rate conversion; where the spec permits, the part is made again as much lower as it needs."""
    folder = tmp_path / "masters"
    folder.mkdir()
    requires = CD[:-1] + ", true_peak_max_dbtp: {must: -3.0}}"
    write_spec(folder, "trim", requires, "{rate: lower, depth: lower, gain: down_to_ceiling, gain_scope: album}")
    songs = [Song("Loud", level_dbfs=-11, seed=4), Song("Soft", level_dbfs=-30, seed=5)]
    built = made(write_album(folder, songs, ["trim"]), tmp_path / "out")
    gains = []
    for part in built.delivery.of_spec("trim"):
        assert part.shipped
        assert part.chain
        gain = part.chain.step(StepKind.GAIN)
        assert gain
        gains.append(gain.settings["gain_db"])
        assert part.shipped.measurement.value("true_peak_dbtp") <= -3.0
    assert gains[0] == gains[1] < 0  # the balance between the songs survives
    loud = part_of(built, "trim", 1).shipped
    assert loud
    assert loud.measurement.value("true_peak_dbtp") == pytest.approx(-3.0, abs=0.03)  # and no more than it needs


def test_broadcast_gain_hits_its_target_or_is_refused(tmp_path: Path) -> None:
    """EBU R 128: -23.0 LUFS, at most -1 dBTP; static gain only, so a quiet song with high peaks is refused."""
    songs = [Song("Loud", level_dbfs=-14, seconds=4), Song("Spiky", level_dbfs=-45, seconds=4, seed=2)]
    release = write_album(tmp_path / "masters", songs, ["broadcast-r128"])
    spiky = release.parent / "02 Spiky.wav"
    data, rate_hz = sf.read(spiky)
    data[rate_hz] = 0.5
    sf.write(spiky, data, rate_hz, subtype="PCM_24")
    built = made(release, tmp_path / "out")
    loud, refused = part_of(built, "broadcast-r128", 1), part_of(built, "broadcast-r128", 2)
    assert loud.shipped
    assert loud.shipped.measurement.value("integrated_lufs") == pytest.approx(-23.0, abs=0.05)
    assert refused.shipped is None
    assert any(f.rule == "true_peak_max_dbtp" and f.answer is Answer.NOT_MET for f in refused.findings)


def test_a_waiver_permits_a_failed_check_and_is_reported(tmp_path: Path) -> None:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "quiet", "{true_peak_max_dbtp: {must: -6.0}}", "{}")
    waiver = {"rule": "true_peak_max_dbtp", "by": "A. Moreau", "why": "loud on purpose"}
    release = write_album(folder, [Song("High", level_dbfs=-12)], ["quiet"], waivers=[waiver])
    part = part_of(made(release, tmp_path / "out"), "quiet", 1)
    assert part.shipped
    assert [finding.why for finding in part.findings if finding.answer is Answer.WAIVED] == [
        "A. Moreau: loud on purpose"
    ]


def test_a_waiver_for_no_rule_is_an_error(tmp_path: Path) -> None:
    waiver = {"rule": "no-such-rule", "by": "A", "why": "B"}
    release = write_album(tmp_path / "masters", [Song()], ["store-master-24"], waivers=[waiver])
    with pytest.raises((Unusable, Faulty), match="no-such-rule"):
        resolve_request(release)


@pytest.mark.parametrize("cached", [False, True])
def test_a_master_that_changes_under_our_hands_stops_the_build(
    album: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, cached: bool
) -> None:
    """With a cache too, whose times make reading an unchanged master unnecessary."""
    real = packing.make_all

    def meddled(*arguments: object) -> object:
        parts = real(*arguments)  # type: ignore[arg-type]
        with (album.parent / "01 One.wav").open("ab") as file:
            file.write(b"\0")
        return parts

    monkeypatch.setattr(packing, "make_all", meddled)
    for path in album.parent.glob("*.wav"):
        os.utime(path, ns=(10**18, 10**18))  # long settled
    with closing(MeasurementCache(tmp_path / "ledger.sqlite3")) as cache:
        if cached:
            check(resolve_request(album), Options(cache=cache))
        with pytest.raises(Unfinished, match=r"01 One\.wav"):
            made(album, tmp_path / "out", cache=cache if cached else None)
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize(
    ("rate_hz", "subtype", "suffix"),
    [
        (44_100, "PCM_16", ".wav"),
        (48_000, "PCM_24", ".flac"),
        (88_200, "PCM_24", ".aiff"),
        (96_000, "PCM_32", ".wav"),
        (176_400, "FLOAT", ".wav"),
        (192_000, "PCM_24", ".wav"),
    ],
)
def test_every_kind_of_master_becomes_a_cd_rate_file(tmp_path: Path, rate_hz: int, subtype: str, suffix: str) -> None:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "disc", CD, "{rate: lower, depth: lower}")
    song = Song("Any", rate_hz=rate_hz, subtype=subtype, suffix=suffix, seconds=1.0)
    built = made(write_album(folder, [song], ["disc"]), tmp_path / "out")
    part = part_of(built, "disc", 1)
    assert part.problem == ""
    assert part.shipped
    assert built.package
    info = sf.info(built.package / part.shipped.path)
    assert (info.samplerate, info.subtype) == (44_100, "PCM_16")
    assert info.frames == round(round(1.2 * rate_hz) * 44_100 / rate_hz)


def test_a_file_or_folder_without_a_release_is_judged_by_its_sound(album: Path) -> None:
    album.unlink()
    request = resolve_request(album.parent, ("cd-rate-16",))
    delivery = check(request, Options())
    assert len(delivery.parts) == 3
    assert {finding.rule for part in delivery.parts for finding in part.findings}
    assert delivery.findings == ()
    assert any("No release file" in remark for remark in request.remarks)


def test_no_spec_named_anywhere_is_one_clear_message(album: Path) -> None:
    album.unlink()
    with pytest.raises(Unusable, match="--spec"):
        resolve_request(album.parent)
