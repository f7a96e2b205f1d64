"""Figures of files outside a delivery, for programs: everything measured, unrounded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from delivery.model.figure import Figure, Measurement
from delivery.model.part import Source
from delivery.model.programme_totals import ProgrammeTotals
from delivery.model.second_opinion import SecondOpinion
from delivery.model.trial import Trial
from delivery.report.data.document import as_text, peaks, plain
from delivery.report.view.places import samples_of


def render(
    sources: Sequence[Source],
    figures: Mapping[str, Figure],
    one: ProgrammeTotals | None = None,
    trials: Mapping[int, Sequence[Trial]] | None = None,
    opinions: Mapping[int, SecondOpinion] | None = None,
) -> bytes:
    """One JSON document: each file in the order given, all of them as one programme, and what the figures are.

    Parameters
    ----------
    figures : every figure by name
    one : the files as one programme; None where there is only one file
    trials : of codecs, by the source's position; None if not requested
    opinions : of another meter, likewise
    """
    entries = {figure.name: _figure(figure) for figure in figures.values()}
    frame = as_text({"files": [], "together": _together(one) if one else None, "figures": entries})
    files = [_indented(as_text(_each(source, figures, trials, opinions))) for source in sources]
    before, after = frame.split(NO_FILES)
    return f"{before}{_listed(files)}{after}\n".encode("utf-8", errors="replace")


NO_FILES = '\n  "files": []'


def _listed(files: list[str]) -> str:
    """The list of files, each converted to text by itself: all of them as objects would take twice the memory."""
    return '\n  "files": [\n' + ",\n".join(files) + "\n  ]" if files else NO_FILES


def _indented(text: str) -> str:
    """Two levels deeper; JSON has no line's end inside its strings."""
    return "    " + text.replace("\n", "\n    ")


def _each(
    source: Source,
    figures: Mapping[str, Figure],
    trials: Mapping[int, Sequence[Trial]] | None,
    opinions: Mapping[int, SecondOpinion] | None,
) -> dict[str, Any]:
    return {
        **_file(source, figures),
        "after_codec": None if trials is None else [_trial(each) for each in trials[source.track.position]],
        "second_opinion": None if opinions is None else _opinion(opinions[source.track.position]),
    }


def _file(source: Source, figures: Mapping[str, Figure]) -> dict[str, Any]:
    """Figures by name, None where one is missing, with the reason; times in seconds, and again in samples."""
    found = source.measurement or Measurement({})
    return {
        "path": source.place,
        "problem": source.problem,
        "measurement": {name: plain(reading.value) for name, reading in found.items()} if source.measurement else None,
        "why_missing": {name: reading.why_missing for name, reading in found.items() if not reading.exists},
        "at_samples": {
            name: at for name in found if name in figures and (at := samples_of(figures[name], found)) is not None
        },
    }


def _figure(figure: Figure) -> dict[str, Any]:
    return {
        "subject": figure.subject.value,
        "unit": figure.unit,
        "says": figure.sentence,
        "source": figure.source,
        "columns": list(figure.columns),
        "along": figure.along,
        "error": figure.error,
        "weight": figure.weight.value if figure.weight else None,
    }


def _together(one: ProgrammeTotals) -> dict[str, Any]:
    """Loudness gated over all files as one programme: not an average."""
    return {
        "files": one.files,
        "measured": one.measured,
        "duration_s": one.duration_s,
        "integrated_lufs": one.integrated_lufs,
        "why_no_loudness": one.why_no_loudness,
        "true_peak_dbtp": one.true_peak_dbtp,
        "true_peak_file": one.true_peak_file,
    }


def _opinion(opinion: SecondOpinion) -> dict[str, Any]:
    return {
        "program": opinion.program,
        "integrated_lufs": opinion.integrated_lufs,
        "difference_lu": opinion.difference_lu,
        "why_missing": opinion.why_missing,
    }


def _trial(trial: Trial) -> dict[str, Any]:
    """Effect of one codec on the peaks; if not tried, ``decoded`` is None and ``not_tested`` gives the reason."""
    found = trial.decoded
    return {
        "coding": trial.form.coding,
        "bitrate_kbps": trial.form.bitrate_kbps,
        "vbr_quality": trial.form.vbr_quality,
        "not_tested": trial.not_tested,
        "decoded": found and peaks(found),
        "change_db": trial.change_db if found else None,
        "rate_hz": trial.rate_hz if found else None,
        "trim_db": trial.trim_db if found else None,
        "trimmed_dbtp": trial.trimmed_dbtp,
        "lowered_db": trial.lowered_db,
    }
