"""Measure files outside a delivery: each file, all as one programme, and optional extras."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.pipeline.sound_files import bare_tracks, sound_files
from delivery.pipeline.sources import Progress, quiet, take_in

if TYPE_CHECKING:
    from delivery.ledger.cache import MeasurementCache
    from delivery.model.programme_totals import ProgrammeTotals
    from delivery.model.second_opinion import SecondOpinion
    from delivery.model.source import Source
    from delivery.model.trial import CodecForm, Trial
    from delivery.pipeline.engine import Engine


@dataclass(frozen=True, slots=True)
class Measured:
    """The results of measuring several files."""

    sources: tuple[Source, ...]
    """In the order given; a file that cannot be used has a ``problem`` and no measurement."""
    together: ProgrammeTotals | None
    """All files as one programme; None for fewer than two."""
    trials: Mapping[int, Sequence[Trial]] | None
    """Peaks after each codec, by position; None if not requested."""
    opinions: Mapping[int, SecondOpinion] | None
    """Loudness by another library, by position; None if not requested."""

    @property
    def untried(self) -> bool:
        """True if a requested codec could not be tried."""
        return any(trial.not_tested for tried in (self.trials or {}).values() for trial in tried)


def measure_files(
    paths: Sequence[Path],
    cache: MeasurementCache | None = None,
    *,
    codecs: str | None = None,
    second_opinion: bool = False,
    workers: int = 2,
    progress: Progress = quiet,
    only: Collection[str] | None = None,
    cutting_reference_dbfs: float | None = None,
    engine: Engine | None = None,
) -> Measured:
    """Measure every sound file named by *paths*, folders included.

    Parameters
    ----------
    codecs : as ``codec_forms`` reads them; empty: the usual ones; None: no codec is tried
    only : figures to keep of each file, if there are several; None: all. Trials of codecs need the peaks.

    engine : where files are measured; None: here
    cutting_reference_dbfs : level of the 1 kHz sine that cuts 7.07 cm/s; None: these figures are missing

    Raises
    ------
    Unusable : no sound file found, or an unknown codec
    """
    forms = None if codecs is None else _forms(codecs)
    files = tuple(file for path in paths for file in sound_files(path))
    held = None if only is None or len(files) == 1 else frozenset((*only, *_totals_need()))
    sources = take_in(bare_tracks(files), cache, workers, progress, held, with_tags=False, engine=engine)
    if cutting_reference_dbfs is not None:
        sources = tuple(_cut_at(source, cutting_reference_dbfs) for source in sources)
    trials = _after_codec(sources, forms, workers, progress) if forms else None
    opinions = _second_opinions(sources, progress) if second_opinion else None
    several = sum(source.measurement is not None for source in sources) > 1
    return Measured(sources, _together(sources) if several else None, trials, opinions)


# Imported when wanted: a single short file is measured in less time than these take to load.


def _cut_at(source: Source, reference_dbfs: float) -> Source:
    """With the figures of cutting, which need a pass of their own."""
    from delivery.meters import measure_only
    from delivery.meters.cutting import Cutting, at_reference

    if source.measurement is None:
        return source
    names = {figure.name for figure in Cutting.gives}
    found = at_reference(measure_only(source.track.file, names), reference_dbfs)
    return replace(source, measurement=source.measurement.with_readings(found))


def _forms(codecs: str) -> tuple[CodecForm, ...]:
    from delivery.pipeline.after_codec import DEFAULT, codec_forms

    return codec_forms(codecs or DEFAULT)


def _after_codec(
    sources: tuple[Source, ...], forms: tuple[CodecForm, ...], workers: int, progress: Progress
) -> Mapping[int, Sequence[Trial]]:
    from delivery.pipeline.after_codec import after_codec

    return after_codec(sources, forms, workers, progress)


def _second_opinions(sources: tuple[Source, ...], progress: Progress) -> Mapping[int, SecondOpinion]:
    from delivery.tasks.second_opinion import second_opinions

    return second_opinions(sources, progress)


def _totals_need() -> tuple[str, ...]:
    from delivery.pipeline.album import TOTALS_NEED

    return TOTALS_NEED


def _together(sources: tuple[Source, ...]) -> ProgrammeTotals:
    from delivery.pipeline.album import programme_totals

    return programme_totals(sources)
