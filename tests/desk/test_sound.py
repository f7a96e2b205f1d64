"""Masters are played unchanged: their own bytes with ranges, or the same samples decoded to WAV."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile

from tests.desk.conftest import Client


def with_master(client: Client, name: str, **how: str) -> None:
    sound, rate_hz = soundfile.read(client.folder / "01 Song.wav", always_2d=True)
    soundfile.write(client.folder / name, sound, rate_hz, **how)
    file = client.folder / "release.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("01 Song.wav", name), encoding="utf-8")


def test_a_wav_master_is_played_byte_for_byte_in_ranges(client: Client) -> None:
    master = (client.folder / "01 Song.wav").read_bytes()
    whole = client.get(f"{client.release}/sound/1")
    assert whole.content == master
    assert whole.headers["accept-ranges"] == "bytes"
    part = client.get(f"{client.release}/sound/1", Range="bytes=1000-1999")
    assert part.status_code == 206
    assert part.content == master[1000:2000]
    assert part.headers["content-range"] == f"bytes 1000-1999/{len(master)}"


@pytest.mark.parametrize(
    ("name", "coding"), [("a.flac", "PCM_24"), ("a.aiff", "PCM_16"), ("a.w64", "PCM_24"), ("a.caf", "FLOAT")]
)
def test_other_masters_are_decoded_to_the_same_samples(client: Client, name: str, coding: str) -> None:
    """libsndfile reads both files: the samples are equal."""
    with_master(client, name, subtype=coding)
    told = client.get(f"{client.release}/sound/1/facts").json()["text"]
    assert "Decoded to WAV: the master's own samples" in told
    heard, _ = soundfile.read(io.BytesIO(client.get(f"{client.release}/sound/1").content), always_2d=True)
    sound, _ = soundfile.read(client.folder / name, always_2d=True)
    assert np.array_equal(heard, sound)
    assert client.get(f"{client.release}/sound/1", Range="bytes=44-99").status_code == 206


def test_a_master_that_cannot_be_read_is_one_message(client: Client) -> None:
    (client.folder / "01 Song.wav").write_bytes(b"RIFF")
    assert client.get(f"{client.release}/sound/1").status_code == 400
    assert client.get(f"{client.release}/sound/9").status_code == 404
