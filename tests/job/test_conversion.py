"""Conversion through the whole walk: what is read back is what was rendered, and it comes out the same every time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from delivery.audio import pcm
from delivery.job import Built, Options, build, intend
from delivery.model.finding import Result
from delivery.model.part import Part
from tests.albums import Song, write_album, write_spec

CD = "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [16]}, rate_hz: {must: [44100]}}"


def made(release: Path, into: Path, **options: Any) -> Built:
    into.mkdir(exist_ok=True)
    return build(intend(release), into, Options(**options))


def parts(built: Built, spec: str) -> tuple[Part, ...]:
    return built.delivery.of_spec(spec)


def masters(folder: Path, *songs: Song, **specs: tuple[str, str]) -> Path:
    """An album for specs given as name=(asks, convert)."""
    folder.mkdir()
    for name, (asks, convert) in specs.items():
        write_spec(folder, name, asks, convert)
    return write_album(folder, songs, list(specs))


def test_a_writer_that_fails_silently_is_found_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One wrong bit in one sample: the file is whole, opens and plays, and must not ship."""
    release = masters(tmp_path / "masters", Song(), disc=(CD, "{rate: lower, depth: lower}"))
    real = pcm._write

    def wrong(file: Any, form: pcm.PcmForm, block: np.ndarray) -> int:
        changed = block.copy()
        changed[0, 0] ^= 1 << 16
        return real(file, form, changed)

    monkeypatch.setattr(pcm, "_write", wrong)
    built = made(release, tmp_path / "out")
    assert "samples that were not rendered" in parts(built, "disc")[0].problem
    assert built.delivery.result is Result.UNUSABLE
    assert built.package is None
