"""After tags are written, a file is proven to hold the audio that was measured before."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from delivery.audio import encode
from delivery.audio.codecs import CodedForm
from delivery.errors import Unusable
from delivery.formats.embedding import embed
from delivery.meters import identify, measure
from delivery.model.figure import Measurement
from delivery.pipeline import read_back
from delivery.pipeline.read_back import check_after_tagging, mark_of_sound
from tests.tags.sounds import VALUES


@pytest.fixture
def mp3(tmp_path: Path) -> tuple[Path, Measurement, str]:
    """An MP3 of a second of noise, its figures, and the mark of its sound; then tags were written into it."""
    file = tmp_path / "a.mp3"
    noise = 0.1 * np.random.default_rng(1).standard_normal((44_100, 2))
    encode.encode(file, CodedForm("mp3", 44_100, 2, 128), [noise])
    figures = measure(file, ("audio_hash", "frames", "container", "size_bytes", "sample_peak_dbfs"))
    mark = mark_of_sound(file, figures)
    embed(file, "mp3", VALUES)
    return file, figures, mark


def test_an_mp3_whose_bytes_are_the_same_is_not_decoded_again(
    mp3: tuple[Path, Measurement, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its figures are those of the file decoded again."""
    file, figures, mark = mp3
    again = identify(file)
    monkeypatch.setattr(read_back, "identify", lambda path, sound=None: identify(path, sound) if sound else None)
    found = check_after_tagging(file, figures, mark)
    assert {name: found[name] for name in again} == dict(again)
    assert found.value("size_bytes") == file.stat().st_size > figures.value("size_bytes")


def test_an_mp3_whose_sound_tagging_changed_is_refused(mp3: tuple[Path, Measurement, str]) -> None:
    """A frame's bits in the middle, away from its header."""
    file, figures, mark = mp3
    content = bytearray(file.read_bytes())
    middle = content.index(b"\xff\xfb", len(content) // 2) + 200
    content[middle : middle + 16] = bytes(byte ^ 0x55 for byte in content[middle : middle + 16])
    file.write_bytes(content)
    with pytest.raises(Unusable, match="samples that are not those measured"):
        check_after_tagging(file, figures, mark)


def test_without_a_mark_the_file_is_decoded(mp3: tuple[Path, Measurement, str]) -> None:
    """Figures of another file prove nothing about this one's bytes."""
    file, figures, _ = mp3
    assert check_after_tagging(file, figures).value("audio_hash") == figures.value("audio_hash")
