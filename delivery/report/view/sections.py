"""The sections of a song in words and rounded numbers: what each measures, and its difference from its neighbour."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.model.sections import MeasuredSection, SectionSource, SongSections
from delivery.report.view import words
from delivery.report.view.numbers import signed

HEADS = ("Section", "from", "LUFS", "step LU", "low end", "width", "crest", "PSR")
UNITS = "Low end: 22 to 89 Hz against everything; width: side over mid; these, crest and PSR in dB."


@dataclass(frozen=True, slots=True)
class SectionsView:
    """The sections of a song, in texts."""

    title: str
    opening: str
    rows: tuple[tuple[str, ...], ...]
    """As HEADS names them."""
    notes: tuple[str, ...]


def sections_view(song: SongSections) -> SectionsView:
    """Pure."""
    if song.problem:
        return SectionsView(words.plain(song.title), song.problem, (), ())
    if not song.sections:
        return SectionsView(words.plain(song.title), "No sections: too short, or alike throughout.", (), ())
    steps = ("", *(signed(f"{step:.1f}") for step in song.contrasts_lu))
    rows = tuple(_row(section, step) for section, step in zip(song.sections, steps, strict=True))
    return SectionsView(words.plain(song.title), _opening(song), rows, (source_note(song.source), UNITS))


def source_note(source: SectionSource) -> str:
    """Which method gave the sections."""
    remedy = "" if source is SectionSource.STATED else " State your own as 'sections' of the track in release.yaml."
    return f"Sections: {source.value}.{remedy}"


def short_source_note(source: SectionSource) -> str:
    """The same in a line."""
    if source is SectionSource.STATED:
        return f"Sections: {source.value}."
    return "Sections found by level and timbre (Foote, 2000), unless release.yaml has them."


def _opening(song: SongSections) -> str:
    loudest = max(song.sections, key=lambda one: one.levels.loudness_lufs)
    quietest = min(song.sections, key=lambda one: one.levels.loudness_lufs)
    apart = loudest.levels.loudness_lufs - quietest.levels.loudness_lufs
    return (
        f"Loudest: {_named(loudest)}, {apart:.1f} LU above {_named(quietest)}."
        if loudest is not quietest
        else f"One section, {_named(loudest)}."
    )


def _named(one: MeasuredSection) -> str:
    name = words.plain(one.section.name)
    return f"{name} ({words.at(one.section.start_s)}, {one.levels.loudness_lufs:.1f} LUFS)"


def _row(one: MeasuredSection, step: str) -> tuple[str, ...]:
    levels = one.levels
    return (
        words.plain(one.section.name),
        words.at(one.section.start_s),
        f"{levels.loudness_lufs:.1f}",
        step,
        f"{levels.low_end_db:.1f}",
        "mono" if levels.side_mid_db is None else f"{levels.side_mid_db:.1f}",
        f"{levels.crest_db:.1f}",
        "-" if levels.psr_db is None else f"{levels.psr_db:.1f}",
    )
