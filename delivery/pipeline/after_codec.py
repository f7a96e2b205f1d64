"""Peaks of a master after lossy coding: encode, decode to float, measure; find the trim that prevents overs.

Encoding changes the waveform and often raises its peaks. A decoder to integers clips what exceeds full scale; here the
samples stay floating-point and overs are counted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

from delivery.audio.blocks import open_sound
from delivery.audio.codecs import AAC_PEAK_MAX, CODECS, encoder_missing
from delivery.chain.render import render
from delivery.chain.render_steps import gained
from delivery.chain.trial import CODINGS, trial_chain
from delivery.dsp.peaks.trim import least_trim
from delivery.errors import Unfinished, Unusable
from delivery.meters import measure_blocks
from delivery.model.part import Source
from delivery.model.trial import CodecForm, Decoded, Trial
from delivery.pipeline.sources import Progress, quiet, side_by_side

DEFAULT = "mp3:320,mp3:128,aac:256,aac:128,opus:128"
HALVING_DB = 20 * math.log10(2)
"""FFmpeg's AAC encoder limits loud frames by itself (see ``AAC_PEAK_MAX``), which would hide the overs under test. Its
quantiser works in steps of a quarter of a power of two, so a signal at half the level is coded, on average, as the
whole would be without the limiter. The encoder is given the halved signal, and the decoded copy is doubled.
"""
HEADROOM_DB = 1.0
"""Headroom over the master's true peak for a rate conversion."""
HIGHEST_RATE_HZ = 48_000
"""Rates at which lossy copies are sold; AAC at 96 kHz exists but is not delivered."""
PEAKS = ("true_peak_dbtp", "overs_count", "overs")
_FORM = re.compile(r"(?P<coding>[a-z0-9]+):(?:(?P<kbps>\d{1,3})|v(?P<quality>\d))")


def codec_forms(text: str) -> tuple[CodecForm, ...]:
    """'mp3:320,aac:256,mp3:v0' -> codings to try, in that order.

    Raises
    ------
    Unusable : malformed list or unknown coding
    """
    return tuple(_form(piece.strip().lower()) for piece in text.split(","))


def _form(piece: str) -> CodecForm:
    found = _FORM.fullmatch(piece)
    if not found or found["coding"] not in CODINGS:
        wanted = f"a coding and its kbit/s, as in {DEFAULT}"
        raise Unusable("--codecs", repr(piece), wanted, f"Codings: {', '.join(CODINGS)}; mp3:v0 is MP3 by quality.")
    kbps, quality = found["kbps"], found["quality"]
    return CodecForm(found["coding"], int(kbps) if kbps else None, int(quality) if quality else None)


def after_codec(
    sources: Sequence[Source], forms: Sequence[CodecForm], workers: int = 1, progress: Progress = quiet
) -> Mapping[int, tuple[Trial, ...]]:
    """Try every coding on every source: trials by the source's position, in the order of *forms*.

    An impossible trial has a reason: encoder not installed, too many channels, a lossy or unusable source.

    Raises
    ------
    Unfinished : the disk is full or failed while trial copies were written
    """
    pairs = [(source, form) for source in sources for form in forms]
    tried = side_by_side(lambda pair: _tried(*pair), pairs, workers, "trying codecs", progress)
    positions = (source.track.position for source, _ in pairs)
    return {
        position: tuple(trial for _, trial in group)
        for position, group in groupby(zip(positions, tried, strict=True), key=lambda each: each[0])
    }


def _tried(source: Source, form: CodecForm) -> Trial:
    try:
        return _trial(source, form)
    except Unfinished:
        raise
    except Unusable as error:
        return Trial(form, not_tested=f"found {error.found}, wanted {error.wanted}")


def _trial(source: Source, form: CodecForm) -> Trial:
    """One trial. Raises what rendering raises."""
    if why := _untestable(source, form):
        return Trial(form, not_tested=why)
    assert source.measurement
    peak_dbtp = source.measurement.value("true_peak_dbtp")
    lowered_db = _lowered_db(form, peak_dbtp)
    decoded, rate_hz = _decoded(source, form, 0.0, lowered_db)
    trim, trimmed_dbtp = _cure(source, form, decoded, lowered_db)
    change_db = decoded.true_peak_dbtp - peak_dbtp
    return Trial(form, decoded, change_db, rate_hz, trim, trimmed_dbtp, lowered_db)


def _untestable(source: Source, form: CodecForm) -> str:
    measurement = source.measurement
    if measurement is None:
        return source.problem
    if measurement.value("coding") not in ("pcm", "float"):
        return "the file is a lossy copy itself"
    if not measurement["true_peak_dbtp"].exists:
        return measurement["true_peak_dbtp"].why_missing
    if encoder_missing(form.coding):
        return f"no encoder for {CODECS[form.coding].title} on this machine"
    return ""


def _lowered_db(form: CodecForm, peak_dbtp: float) -> float:
    """Gain in dB before encoding: 0, or for AAC enough halvings (at least one) to keep a converted peak below its
    limiter."""
    if form.coding != "aac":
        return 0.0
    clear_db = peak_dbtp + HEADROOM_DB - 20 * math.log10(AAC_PEAK_MAX)
    return -HALVING_DB * max(1, math.ceil(clear_db / HALVING_DB))


def _cure(source: Source, form: CodecForm, decoded: Decoded, lowered_db: float) -> tuple[float | None, float | None]:
    """Smallest trim with which nothing exceeds 0 dBTP, found by trying, and the true peak then; Nones if none was
    found."""
    if decoded.true_peak_dbtp <= 0:
        return 0.0, None

    def peak_at(gain_db: float) -> float:
        return _decoded(source, form, gain_db, lowered_db)[0].true_peak_dbtp

    return least_trim(peak_at, decoded.true_peak_dbtp) or (None, None)


def _decoded(source: Source, form: CodecForm, gain_db: float, lowered_db: float) -> tuple[Decoded, int]:
    """Peaks of the decoded copy and its sample rate; the copy itself is deleted."""
    assert source.measurement
    rates_hz = [rate_hz for rate_hz in CODECS[form.coding].rates_hz if rate_hz <= HIGHEST_RATE_HZ]
    chain = trial_chain(source.measurement, form, rates_hz, gain_db + lowered_db)
    with TemporaryDirectory(prefix="delivery-") as folder:
        copy = Path(folder) / f"copy.{chain.target.container}"
        render(source.track.file, chain, copy, "")
        with open_sound(copy, count=False) as sound:
            louder = gained(sound.blocks(), -lowered_db) if lowered_db else sound.blocks()
            found = measure_blocks(sound.facts, louder, only=PEAKS)
    return Decoded(*(found.value(name) for name in PEAKS)), chain.target.rate_hz
