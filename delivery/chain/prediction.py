"""What a planned file is expected to measure: length, size, levels. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from delivery.audio.pcm import ROOM_FOR_TAGS_BYTES, SIZE_FIELD_MAX
from delivery.formats import containers as known_containers
from delivery.model.chain import Chain, StepKind, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.trial import ConvertedPeaks

LEVEL_FIGURES = (
    "integrated_lufs",
    "momentary_max_lufs",
    "short_term_max_lufs",
    "sample_peak_dbfs",
    "true_peak_dbtp",
    "programme_rms_dbfs",
    "noise_floor_dbfs",
)
USUAL_LOSSLESS_SHARE = 0.6
"""Share of their PCM size that FLAC and ALAC need for music; from memory, between 0.4 and 0.75 for most."""
USUAL_VBR_KBPS = 220
OWN_PEAK_PLACES = ("overs_count", "overs", "ceilings_dbtp", "places_above_ceilings", "highest_places")


def predict(measurement: Measurement, chain: Chain) -> Measurement:
    """Predicted figures of the deliverable, judged before anything is rendered.

    Levels move with the gain. Peaks after rate conversion come from a trial conversion if *measurement* has them
    (``after_conversion``); the effect of an encoder is found by measuring its output.
    """
    target = chain.target
    from_hz = measurement.value("rate_hz")
    changed: dict[str, Reading] = {
        "container": Reading(target.container),
        "coding": Reading(target.coding),
        "rate_hz": Reading(target.rate_hz),
        "bits": Reading(target.bits) if target.bits else Reading.missing("a lossy coding has no bit depth"),
    }
    if target.rate_hz != from_hz:
        before = _settings(chain, StepKind.RATE).get("frames_before", 0)
        cuts = (frames_at_cut(before + frames, from_hz, target.rate_hz) for frames in (measurement.value("frames"), 0))
        frames = max(1, next(cuts) - next(cuts))
        changed |= {"frames": Reading(frames), "duration_s": Reading(frames / target.rate_hz)}
    if (measurement.value("upsampled_from_hz") or 0) >= target.rate_hz:
        changed["upsampled_from_hz"] = Reading(0)
    if chain.step(StepKind.REQUANTISE):
        changed["effective_bits"] = Reading(target.bits)
    elif not chain.identical:
        changed["effective_bits"] = Reading.missing(f"{target.coding} samples, not all of them integers")
    if chain.step(StepKind.COPY) is None:
        frames = changed.get("frames", measurement["frames"]).value
        long = target.container == "wav" and _sound_bytes(target, frames) > SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES
        changed["riff_form"] = Reading("RF64" if long else "RIFF" if target.container == "wav" else "")
        extensible = any(step.settings.get("extensible", False) for step in chain.steps)
        changed["extensible"] = Reading(long or extensible)
        changed["size_bytes"] = Reading(size_bytes(target, frames))
    gain_db = _settings(chain, StepKind.GAIN).get("gain_db", 0.0)
    for figure in LEVEL_FIGURES:
        if gain_db and measurement.value(figure) is not None:
            changed[figure] = Reading(measurement.value(figure) + gain_db)
    return measurement.with_readings(changed)


def _sound_bytes(target: Target, frames: int) -> int:
    return frames * target.channels * (target.bits or 0) // 8


def size_bytes(target: Target, frames: int) -> int:
    """Bytes of audio in the file, without tags and cover; exact unless the coding's size depends on the content."""
    if target.bitrate_kbps:
        return round(frames / target.rate_hz * target.bitrate_kbps * 125)
    if target.vbr_quality is not None:
        return round(frames / target.rate_hz * USUAL_VBR_KBPS * 125)
    usual = USUAL_LOSSLESS_SHARE if size_depends_on_sound(target) else 1.0
    return round(usual * _sound_bytes(target, frames))


def size_depends_on_sound(target: Target) -> bool:
    """True of FLAC, ALAC and variable bit rates, whose size is known only once they are made."""
    container = known_containers().get(target.container)
    compressed = bool(target.bits) and container is not None and container.compressed
    return compressed or not (target.bits or target.bitrate_kbps)


def after_conversion(measurement: Measurement, peaks: ConvertedPeaks | None) -> Measurement:
    """A master's figures with the peaks found by a trial conversion; unchanged if there was none.

    The positions and counts of the master's own peaks are dropped: they do not apply to the converted audio.
    """
    if peaks is None:
        return measurement
    elsewhere = Reading.missing("a trial conversion finds the highest peak alone")
    changed = {name: elsewhere for name in OWN_PEAK_PLACES if name in measurement}
    return measurement.with_readings(
        changed
        | {
            "sample_peak_dbfs": Reading(peaks.sample_peak_dbfs),
            "sample_peak_at_s": Reading(peaks.at_s),
            "true_peak_dbtp": Reading(peaks.true_peak_dbtp),
            "true_peak_at_s": Reading(peaks.at_s),
        }
    )


def converted_frames(frames: int, from_hz: int, to_hz: int) -> int:
    """Length after rate conversion: the same time at the new rate, halves rounded up, at least one frame."""
    return max(1, frames_at_cut(frames, from_hz, to_hz))


def frames_at_cut(frames: int, from_hz: int, to_hz: int) -> int:
    """Position of a cut after rate conversion, halves rounded up; 0 stays 0."""
    return (2 * frames * to_hz + from_hz) // (2 * from_hz)


def _settings(chain: Chain, kind: StepKind) -> Mapping[str, Any]:
    step = chain.step(kind)
    return step.settings if step else {}
