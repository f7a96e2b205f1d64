"""Sections of songs for programs: everything unrounded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from delivery.model.sections import SongSections
from delivery.report.data.document import as_bytes


def render(songs: Sequence[SongSections]) -> bytes:
    """One JSON document with ``songs``."""
    return as_bytes({"songs": [_song(song) for song in songs]})


def _song(song: SongSections) -> dict[str, object]:
    steps = (None, *song.contrasts_lu)[: len(song.sections)]
    return {
        "title": song.title,
        "source": song.source.name.lower(),
        "problem": song.problem,
        "sections": [
            {**asdict(one.section), **asdict(one.levels), "step_lu": step}
            for one, step in zip(song.sections, steps, strict=True)
        ],
    }
