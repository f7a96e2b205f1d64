"""Acceptances through the whole job: they hold for a master and what is made of it, until one sample changes."""

from __future__ import annotations

from pathlib import Path

import pytest
import soundfile as sf

from delivery.errors import Faulty, Unusable
from delivery.model.finding import Answer, Result
from delivery.pipeline import Options, check, resolve_request
from delivery.tasks.accept import accept
from tests.albums import Song, write_album, write_spec

RULE = "true_peak_max_dbtp"
WAV = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [24]}, true_peak_max_dbtp: {should: -20}}"
CD = WAV.replace("24", "16").replace("{container", "{rate_hz: {must: [44100]}, container")


@pytest.fixture
def album(tmp_path: Path) -> Path:
    write_spec(tmp_path, "native", WAV, "{}")
    write_spec(tmp_path, "disc", CD, "{rate: lower, depth: lower}")
    write_spec(tmp_path, "strict", WAV.replace("should", "must"), "{}")
    songs = [Song("One", level_dbfs=-16), Song("Two", level_dbfs=-16, seed=2)]  # no higher: it must fit 16 bits
    return write_album(tmp_path, songs, ["native", "disc"])


def accepted(album: Path, position: int = 1, rule: str = RULE, specs: tuple[str, ...] = ()) -> None:
    accept(resolve_request(album, specs), album, rule, position, "I. Merrow", "it is meant to bite")


def answers(album: Path, specs: tuple[str, ...] = ()) -> dict[tuple[str, int], Answer]:
    delivery = check(resolve_request(album, specs), Options())
    return {
        (part.spec, part.track): next(finding.answer for finding in part.findings if finding.rule == RULE)
        for part in delivery.parts
    }


def test_an_acceptance_holds_for_every_file_made_from_the_master(album: Path) -> None:
    assert set(answers(album).values()) == {Answer.NOT_MET}
    accepted(album)
    found = answers(album)
    assert {found[spec, 1] for spec in ("native", "disc")} == {Answer.ACCEPTED}
    assert {found[spec, 2] for spec in ("native", "disc")} == {Answer.NOT_MET}


def test_when_all_is_accepted_the_release_is_ready(album: Path) -> None:
    assert check(resolve_request(album), Options()).result is Result.REMARKS
    accepted(album, 1)
    accepted(album, 2)
    assert check(resolve_request(album), Options()).result is Result.READY


def test_an_acceptance_follows_the_recording_through_reordering_and_rewrapping(album: Path) -> None:
    """The audio hash is of samples: the same in any lossless container, at any place of the album."""
    accepted(album)
    samples, rate_hz = sf.read(album.parent / "01 One.wav", dtype="int32")
    (album.parent / "01 One.wav").unlink()
    sf.write(album.parent / "zz.flac", samples, rate_hz, subtype="PCM_24")
    text = album.read_text(encoding="utf-8").replace("01 One.wav", "parked").replace("02 Two.wav", "zz.flac")
    album.write_text(text.replace("parked", "02 Two.wav"), encoding="utf-8", newline="\n")
    found = answers(album)
    assert (found["native", 1], found["native", 2]) == (Answer.NOT_MET, Answer.ACCEPTED)


def test_one_changed_sample_ends_it(album: Path) -> None:
    accepted(album)
    samples, rate_hz = sf.read(album.parent / "01 One.wav", dtype="int32")
    samples[1000, 0] += 256
    sf.write(album.parent / "01 One.wav", samples, rate_hz, subtype="PCM_24")
    assert answers(album)["native", 1] is Answer.NOT_MET


def test_an_acceptance_does_not_settle_a_must_of_another_spec(album: Path) -> None:
    accepted(album, specs=("native", "strict"))
    found = answers(album, ("native", "strict"))
    assert (found["native", 1], found["strict", 1]) == (Answer.ACCEPTED, Answer.NOT_MET)


@pytest.mark.parametrize(
    ("rule", "position", "specs", "message"),
    [
        ("true-peak-celing", 1, (), "no such rule"),
        ("title_unique", 1, (), "about one file's sound"),
        (RULE, 9, (), "a position from 1 to 2"),
        (RULE, 1, ("strict",), "delivery waive RELEASE true_peak_max_dbtp:TRACK"),
    ],
)
def test_what_cannot_be_accepted_is_refused_with_the_remedy(
    rule: str, position: int, specs: tuple[str, ...], message: str, album: Path
) -> None:
    before = album.read_bytes()
    with pytest.raises(Unusable, match=message):
        accepted(album, position, rule, specs)
    assert album.read_bytes() == before


def test_the_same_acceptance_twice_is_refused(album: Path) -> None:
    accepted(album)
    before = album.read_bytes()
    with pytest.raises(Unusable, match=r"accepted already, by I\. Merrow"):
        accepted(album)
    assert album.read_bytes() == before


def test_an_acceptance_for_an_unknown_rule_is_refused(album: Path) -> None:
    line = "accepted: [{rule: sparkle, track: 1, audio_hash: '93fd4f2b', by: a, why: b}]\n"
    album.write_text(album.read_text(encoding="utf-8") + line, encoding="utf-8", newline="\n")
    with pytest.raises(Faulty, match="accepted 1: found 'sparkle', wanted the id of a rule"):
        resolve_request(album)
