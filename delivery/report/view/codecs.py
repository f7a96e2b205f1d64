"""Effect of codecs on a master's peaks, in words and rounded numbers. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from delivery.model.trial import CodecForm, Decoded, Trial
from delivery.report.view import words
from delivery.report.view.parts import ABSENT, CODINGS

WORST_LISTED = 2
CHANGED = "Change is the copy's true peak less the master's. Copies are decoded to float; nothing is cut off."
TRIED = (
    "Each trim was tried: made from a master so much lower, the copy keeps to 0 dBTP. Another encoder, or this one "
    "at another level, gives peaks that differ by tenths of a dB, by more at low bit rates: leave some room."
)
NO_TRIM = "none found"
LOWERED = (
    "The AAC encoder used here attenuates loud frames; so it was given the sound {by} dB lower, "
    "and the copy is read so much higher."
)


@dataclass(frozen=True, slots=True)
class CodecRow:
    """One encoder: peaks of the decoded copy."""

    form: str
    """'MP3 320 kbit/s'."""
    true_peak: str
    change: str
    overs: str
    worst: str
    """'0:12.4 +0.94, 1:01.0 +0.61': times of the highest overs, in order of height."""
    trim: str


@dataclass(frozen=True, slots=True)
class CodecTable:
    """The encoders tried on one file."""

    columns: tuple[str, ...]
    rows: tuple[CodecRow, ...]
    notes: tuple[str, ...]


COLUMNS = ("after", "true peak, dBTP", "change, dB", "overs", "worst at, min:s", "trim, dB")


def codec_table(trials: Sequence[Trial]) -> CodecTable:
    """Rows in the order requested; a codec that could not be tried is marked in its row, with the reason below."""
    return CodecTable(COLUMNS, tuple(map(_row, trials)), tuple(words.unique(_notes(trials))))


def _row(trial: Trial) -> CodecRow:
    found = trial.decoded
    if found is None:
        return CodecRow(form_of(trial.form), "not tested", ABSENT, ABSENT, ABSENT, ABSENT)
    peak, change = f"{found.true_peak_dbtp:+.2f}", f"{trial.change_db:+.2f}"
    trim = NO_TRIM if trial.trim_db is None else f"{trial.trim_db:.2f}" if trial.trim_db else "none needed"
    return CodecRow(form_of(trial.form), peak, change, str(found.overs_count), _worst(found), trim)


def form_of(form: CodecForm) -> str:
    """'MP3 320 kbit/s', 'MP3 VBR V0'."""
    rate = f"{form.bitrate_kbps} kbit/s" if form.vbr_quality is None else f"VBR V{form.vbr_quality}"
    return f"{CODINGS.get(form.coding, form.coding)} {rate}"


def _worst(found: Decoded) -> str:
    highest = sorted(found.overs, key=lambda over: (-over[2], over[0]))[:WORST_LISTED]
    return ", ".join(f"{words.at(at_s)} {dbtp:+.2f}" for at_s, _, dbtp in highest) or ABSENT


def _notes(trials: Sequence[Trial]) -> Iterator[str]:
    if any(trial.decoded for trial in trials):
        yield CHANGED
    if any(trial.trimmed_dbtp is not None for trial in trials):
        yield TRIED
    for trial in trials:
        if trial.not_tested:
            yield f"{form_of(trial.form)} not tested: {words.plain(trial.not_tested)}."
        elif trial.lowered_db:
            yield LOWERED.format(by=f"{-trial.lowered_db:.2f}")
