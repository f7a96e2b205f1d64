"""The macrodynamics of songs: their sections, stated or found, and what each measures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.audio.forward import forward
from delivery.compare.outline import Outline, Outlining, found_sections, section_levels
from delivery.errors import Unreadable
from delivery.ledger.cache import MeasurementCache
from delivery.model.sections import MeasuredSection, SectionSource, SongSections, stated_sections
from delivery.model.source import Source
from delivery.pipeline.sources import Progress, quiet, side_by_side, take_in_figures
from delivery.tasks.stated import sections_of, songs_of, stated_of

NEEDED = ("rate_hz", "frames", "channels", "gating_powers", "short_term_curve_lufs", "peak_curve_dbtp")


def song_sections(
    paths: Sequence[Path], cache: MeasurementCache | None = None, *, workers: int = 2, progress: Progress = quiet
) -> tuple[SongSections, ...]:
    """Of each song named, or of each track of a release file.

    Raises
    ------
    Faulty, Unusable : a release file has faults, a stated section begins behind the end, or there is no sound file
    """
    sources = take_in_figures(songs_of(paths).tracks, NEEDED, cache, workers, progress)
    return tuple(side_by_side(_of_one, sources, workers, "finding sections", progress))


def _of_one(source: Source) -> SongSections:
    title = source.track.title
    if source.measurement is None:
        return SongSections(title, SectionSource.FOUND, (), source.problem)
    rate_hz, frames = (int(source.measurement.value(name)) for name in ("rate_hz", "frames"))
    starts = sections_of(stated_of(source.track.file), frames / rate_hz) or source.track.sections
    try:
        outline = _outline(source.track.file, rate_hz, frames, int(source.measurement.value("channels")))
    except Unreadable as problem:
        return SongSections(title, SectionSource.FOUND, (), str(problem))
    sections = stated_sections(starts, frames / rate_hz) if starts else found_sections(outline.rows)
    measured = zip(sections, section_levels(outline, source.measurement, sections), strict=True)
    how = SectionSource.STATED if starts else SectionSource.FOUND
    return SongSections(title, how, tuple(MeasuredSection(*one) for one in measured))


def _outline(file: Path, rate_hz: int, frames: int, channels: int) -> Outline:
    outline = Outlining(rate_hz, channels)
    with forward(file, rate_hz) as sound:
        for start in range(0, frames, rate_hz):
            outline.take(sound.read(start, min(rate_hz, frames - start)))
    return outline.result()
