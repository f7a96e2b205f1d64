"""The shortest chain of steps that makes one deliverable, with the reason for each. Pure.

Planning refuses nothing: if a needed step is not permitted by the spec, it is not planned, and judging the predicted
figures shows the requirement as not met. Verdicts are made in one place, steps in another.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from delivery.audio.encode import CODECS
from delivery.audio.pcm import ROOM_FOR_TAGS_BYTES, SIZE_FIELD_MAX
from delivery.formats import containers as known_containers
from delivery.formats.capability import peak_ceiling
from delivery.formats.container import Container
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.dual_mono import extra_lu
from delivery.model.figure import Measurement, Reading
from delivery.model.spec import Spec
from delivery.model.trial import ConvertedPeaks

GAIN_SLACK_DB = 0.005
"""Loudness and peaks are printed to 0.01; a trim lands half of that inside the ceiling."""

LEVEL_FIGURES = (
    "integrated_lufs",
    "momentary_max_lufs",
    "short_term_max_lufs",
    "sample_peak_dbfs",
    "true_peak_dbtp",
    "programme_rms_dbfs",
    "noise_floor_dbfs",
)

STAYS = {"dsd": "one-bit audio is decoded only to measure it; converting it is a decision for a mastering session"}
"""Coding -> why a master in it is not converted."""
USUAL_LOSSLESS_SHARE = 0.6
"""Share of their PCM size that FLAC and ALAC need for music; from memory, between 0.4 and 0.75 for most."""
USUAL_VBR_KBPS = 220
COPIED = "copied_to_both_channels"
"""Marks the figures of a mono master measured as it will be with its channel copied to both."""
DEFAULT_BITS = 24
"""Bit depth of integers made from floats if a spec names none."""
NEVER_FITS_BITS = 99
FLOAT32_WHOLE_BITS = 24
"""Integers of this many bits fit into 32-bit floats exactly (IEEE 754: 24 bits of significand)."""
OWN_PEAK_PLACES = ("overs_count", "overs", "ceilings_dbtp", "places_above_ceilings", "highest_places")


@dataclass(frozen=True, slots=True)
class _Facts:
    container: str
    coding: str
    rate_hz: int
    channels: int
    bits: int | None
    effective_bits: int | None
    extensible: bool
    states_layout: bool
    """More than two channels, each for a given loudspeaker: in WAV only the extensible header stores this."""
    riff_form: str
    size_bytes: int

    @classmethod
    def of(cls, measurement: Measurement) -> _Facts:
        value = measurement.value
        return cls(
            value("container"),
            value("coding"),
            value("rate_hz"),
            value("channels"),
            value("bits"),
            value("effective_bits"),
            bool(value("extensible")),
            value("channels") > 2 and bool(value("speakers")),
            value("riff_form") or "",
            value("size_bytes") or 0,
        )

    @property
    def lossless(self) -> bool:
        return self.coding in ("pcm", "float")


def plan(
    spec: Spec,
    measurement: Measurement,
    containers: Mapping[str, Container],
    *,
    gain_db: float | None = None,
    gain_because: str = "",
) -> Chain:
    """The fewest steps from the measured master to the file that *spec* requires.

    Parameters
    ----------
    measurement : of the master; its container figures and levels determine the steps
    containers : capabilities of each container, by id
    gain_db : overrides the gain this master alone would get (the album's common gain, or a trim found by measuring a
    rendered file); ignored if the spec permits no gain
    gain_because : the reason for that gain, if more specific than the spec's key

    Returns
    -------
    Chain with its steps in the order channels, rate, gain, requantise or encode; or a single copy or rewrap.
    """
    facts = _Facts.of(measurement)
    if not facts.lossless:
        return _as_it_came(facts, STAYS.get(facts.coding, "a lossy master is never converted"))
    target = _target(spec, facts, containers)
    copied = tuple(_copied(spec, measurement))
    changes = (*_rate(spec, facts, target), *_gain(spec, measurement, gain_db, gain_because))
    if target.coding not in ("pcm", "float"):
        return Chain((*copied, *changes, _encode(target)), target)
    target = _word_length(spec, facts, target, changed=bool(changes))
    steps = (*copied, *changes, *_requantise(spec, facts, target, changed=bool(changes)))
    return Chain(_repackaged(spec, facts, target, steps) or (_carry(spec, facts, target),), target)


def gain_wanted_db(spec: Spec, measurement: Measurement) -> float:
    """Gain this master alone would get under *spec*, in dB; 0.0 if none is required, needed or measurable."""
    if spec.conversions.gain == "to_target":
        return _to_target_db(spec, measurement)
    if spec.conversions.gain == "down_to_ceiling":
        return min(0.0, headroom_db(spec, measurement), form_headroom_db(spec, measurement))
    return 0.0


def form_headroom_db(spec: Spec, master: Measurement) -> float:
    """Headroom of the master's samples to the largest value of the planned file, in dB; infinite if it has no limit.

    Integers hold no more than full scale, and the AAC encoder in use attenuates samples above its own limit.
    """
    facts, peak_dbfs = _Facts.of(master), master.value("sample_peak_dbfs")
    if not facts.lossless or peak_dbfs is None:
        return math.inf
    target = _target(spec, facts, known_containers())
    ceiling = peak_ceiling(target if target.bits or target.coding != "pcm" else replace(target, bits=24))
    if ceiling is None:
        return math.inf
    if peak_dbfs <= 20 * math.log10(ceiling.magnitude):
        return max(0.0, 20 * math.log10(min(ceiling.magnitude, 1.0)) - float(peak_dbfs))
    return 20 * math.log10(min(ceiling.magnitude, 1.0)) - float(peak_dbfs) - GAIN_SLACK_DB


def headroom_db(spec: Spec, measurement: Measurement) -> float:
    """Headroom of the peaks to the spec's ceilings, in dB; negative if one is exceeded, 0.0 if unknown."""
    ceilings = (("true_peak_max_dbtp", "true_peak_dbtp"), ("sample_peak_max_dbfs", "sample_peak_dbfs"))
    rooms = [
        spec.limit(key)
        - measurement.value(figure)
        - (GAIN_SLACK_DB if spec.limit(key) < measurement.value(figure) else 0)
        for key, figure in ceilings
        if spec.limit(key) is not None and measurement.value(figure) is not None
    ]
    return min(rooms, default=0.0)


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
        changed["size_bytes"] = Reading(_size_bytes(target, frames))
    gain_db = _settings(chain, StepKind.GAIN).get("gain_db", 0.0)
    for figure in LEVEL_FIGURES:
        if gain_db and measurement.value(figure) is not None:
            changed[figure] = Reading(measurement.value(figure) + gain_db)
    return measurement.with_readings(changed)


def _sound_bytes(target: Target, frames: int) -> int:
    return frames * target.channels * (target.bits or 0) // 8


def _size_bytes(target: Target, frames: int) -> int:
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


def _as_it_came(facts: _Facts, because: str) -> Chain:
    target = Target(facts.container, facts.coding, facts.rate_hz, facts.channels, facts.bits)
    return Chain((Step(StepKind.COPY, "samples copied bit for bit", because),), target)


def _target(spec: Spec, facts: _Facts, containers: Mapping[str, Container]) -> Target:
    """Container, coding and rate; the bit depth of PCM is settled once it is known whether samples change."""
    container = _first_fit(spec.limit("container"), facts.container, spec.conversions.container == "any")
    holds = containers[container].codings if container in containers else (facts.coding,)
    asked = [coding for coding in spec.limit("coding") or holds if coding in holds] or list(holds)
    coding = facts.coding if facts.coding in asked else asked[0]
    rate_hz = _rate_to(spec, facts.rate_hz)
    if facts.coding == "float" and coding == "pcm" and spec.conversions.depth == "never":
        fits = max(spec.limit("bits") or [DEFAULT_BITS]) >= (facts.effective_bits or NEVER_FITS_BITS)
        coding = "pcm" if fits and rate_hz == facts.rate_hz else "float"
    if coding in ("pcm", "float"):
        return Target(container, coding, rate_hz, facts.channels, facts.bits)
    return Target(container, coding, rate_hz, facts.channels, None, spec.bitrate_kbps, spec.vbr_quality)


def _first_fit(accepted: list[str] | None, have: str, may_change: bool) -> str:
    if not accepted or have in accepted or not may_change:
        return have
    return accepted[0]


def _rate_to(spec: Spec, have_hz: int) -> int:
    if spec.conversions.rate == "never":
        return have_hz
    return cheapest_rate_hz(have_hz, spec.limit("rate_hz") or (have_hz,), may_rise=spec.conversions.rate == "any")


def cheapest_rate_hz(have_hz: int, accepted: Collection[int], *, may_rise: bool) -> int:
    """Unchanged if accepted; else the cheapest permitted rate: an integer divisor first, then the nearest below."""
    if have_hz in accepted:
        return have_hz
    lower = [rate_hz for rate_hz in accepted if rate_hz < have_hz]
    if lower:
        return max(lower, key=lambda rate_hz: (have_hz % rate_hz == 0, rate_hz))
    higher = [rate_hz for rate_hz in accepted if rate_hz > have_hz and may_rise]
    return min(higher, key=lambda rate_hz: (rate_hz % have_hz != 0, rate_hz), default=have_hz)


def _copied(spec: Spec, measurement: Measurement) -> Iterator[Step]:
    if measurement.value(COPIED):
        accepted = ", ".join(map(str, spec.limit("channels") or ()))
        yield Step(
            StepKind.CHANNELS,
            "one channel copied to both, without gain",
            f"channels: the spec requires {accepted}, and the release file says mono_as: both_channels",
        )


def _rate(spec: Spec, facts: _Facts, target: Target) -> Iterator[Step]:
    if target.rate_hz == facts.rate_hz:
        return
    asked = ", ".join(_khz(rate_hz) for rate_hz in spec.limit("rate_hz"))
    raised = "; raised because the spec requires it; this adds no detail" if target.rate_hz > facts.rate_hz else ""
    yield Step(
        StepKind.RATE,
        f"rate {_khz(facts.rate_hz)} -> {_khz(target.rate_hz)} kHz",
        f"the spec requires {asked} kHz, the master has {_khz(facts.rate_hz)} kHz{raised}",
        {"from_hz": facts.rate_hz, "to_hz": target.rate_hz},
    )


def _gain(spec: Spec, measurement: Measurement, override_db: float | None, because: str) -> Iterator[Step]:
    if spec.conversions.gain == "never":
        return
    gain_db = round(gain_wanted_db(spec, measurement) if override_db is None else override_db, 3)
    if not gain_db:
        return
    reason = {
        "to_target": "integrated_lufs: the spec requires gain to its target",
        "down_to_ceiling": "true_peak_max_dbtp: the spec permits gain down to the ceiling",
    }[spec.conversions.gain]
    if spec.conversions.gain_scope == "album":
        reason += "; the same on every track, so the balance between songs survives"
    yield Step(StepKind.GAIN, f"gain {gain_db:+.2f} dB", because or reason, {"gain_db": gain_db})


def _to_target_db(spec: Spec, measurement: Measurement) -> float:
    window, loudness = spec.limit("integrated_lufs"), measurement.value("integrated_lufs")
    if not window or loudness is None:
        return 0.0
    return to_target_db(window, loudness + extra_lu(measurement, dual_mono=spec.dual_mono))


def to_target_db(window: Mapping[str, float], loudness: float) -> float:
    """Gain to the target; 0 if the loudness is already within the window: the fewest steps take priority over hitting
    the centre."""
    if window.get("at_least", float("-inf")) <= loudness <= window.get("at_most", float("inf")):
        return 0.0
    return float(window.get("target", loudness) - loudness)


def _word_length(spec: Spec, facts: _Facts, target: Target, *, changed: bool) -> Target:
    """Bit depth of a lossless target: kept, padded exactly, or the highest accepted once samples change."""
    if target.coding == "float":
        return _with_bits(target, _float_bits(facts, changed=changed))
    own = [facts.bits] if facts.bits and facts.coding == "pcm" else [DEFAULT_BITS]
    accepted: list[int] = spec.limit("bits") or own
    permitted = spec.conversions.depth == "lower"
    if changed and (permitted or max(accepted) >= (facts.bits or 0)):
        return _with_bits(target, max(accepted))
    if changed:
        return target
    if facts.coding == "pcm" and facts.bits in accepted:
        return target
    exact = [bits for bits in accepted if facts.effective_bits and bits >= facts.effective_bits]
    if exact:
        return _with_bits(target, min(exact))
    lower = [bits for bits in accepted if bits < (facts.bits or 0)]
    if permitted and (lower or facts.coding == "float"):
        return _with_bits(target, max(lower or accepted))
    return target


def _float_bits(facts: _Facts, *, changed: bool) -> int:
    """32, or 64 if the master has 64 or its integers fit exactly only into 64-bit floats."""
    if facts.coding == "float":
        return 64 if facts.bits == 64 else 32
    return 64 if not changed and (facts.effective_bits or facts.bits or 0) > FLOAT32_WHOLE_BITS else 32


def _with_bits(target: Target, bits: int) -> Target:
    return replace(target, bits=bits)


def _requantise(spec: Spec, facts: _Facts, target: Target, *, changed: bool) -> Iterator[Step]:
    same_words = facts.coding == "pcm" and target.bits is not None and (facts.bits or 0) <= target.bits
    exact = facts.effective_bits is not None and target.bits is not None and facts.effective_bits <= target.bits
    if target.coding != "pcm" or (not changed and (same_words or exact)):
        return
    assert target.bits is not None
    dither, zero = spec.conversions.dither, spec.conversions.silence == "zero"
    source = "32-bit float" if facts.coding == "float" else f"{facts.bits}-bit"
    why = (
        "earlier processing needs more bits than the file holds"
        if changed
        else f"the spec requires {target.bits} bit, the master is {source}"
    )
    yield Step(
        StepKind.REQUANTISE,
        (
            f"{dither.upper() if len(dither) <= 4 else dither} dither to {target.bits} bit"
            if dither != "none"
            else f"round to {target.bits} bit without dither"
        )
        + (", digital silence at the ends kept at zero" if zero else ""),
        why,
        {"bits": target.bits, "dither": dither, "from_bits": facts.bits} | ({"silence": "zero"} if zero else {}),
    )


def _extensible(spec: Spec, facts: _Facts, target: Target) -> bool:
    """True for the extensible WAV header: required by the spec, or needed to keep the channel layout."""
    required = spec.limit("extensible_header")
    if target.container != "wav":
        return False
    return bool(required) if required is not None else facts.states_layout and target.channels == facts.channels


def _repackaged(spec: Spec, facts: _Facts, target: Target, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps, with the extensible header set in the last one if the WAV file is to have it."""
    if not steps or not _extensible(spec, facts, target):
        return steps
    return (*steps[:-1], replace(steps[-1], settings={**steps[-1].settings, "extensible": True}))


def _encode(target: Target) -> Step:
    coding, by_quality = CODECS[target.coding].title, target.vbr_quality is not None
    rate = f" at {target.bitrate_kbps} kbit/s" if target.bitrate_kbps else ""
    return Step(
        StepKind.ENCODE,
        f"encode {coding}" + (f" at a variable bit rate, quality {target.vbr_quality}" if by_quality else rate),
        f"the spec requires {coding}",
        {"coding": target.coding}
        | ({"vbr_quality": target.vbr_quality} if by_quality else {"bitrate_kbps": target.bitrate_kbps}),
    )


def _carry(spec: Spec, facts: _Facts, target: Target) -> Step:
    """Samples unchanged: copy the file's bytes, or the samples into another container."""
    wants_extensible = spec.limit("extensible_header")
    container_differs = (
        wants_extensible is not None and target.container == "wav" and wants_extensible != facts.extensible
    )
    plain = _wants_plain_riff(spec, facts)
    same_form = (target.container, target.coding, target.bits) == (facts.container, facts.coding, facts.bits)
    if same_form and not (container_differs or plain):
        return Step(StepKind.COPY, "samples copied bit for bit", "the master already is what the spec requires")
    changes = [
        f"{facts.container} -> {target.container}" if target.container != facts.container else "",
        _stored_anew(facts, target),
        ("extensible header" if wants_extensible else "plain header") if container_differs else "",
        f"{facts.riff_form} -> RIFF" if plain else "",
    ]
    return Step(
        StepKind.REWRAP,
        "identical samples, " + ", ".join(change for change in changes if change),
        "the spec requires another container, which holds the samples exactly",
        {"extensible": _extensible(spec, facts, target)},
    )


def _stored_anew(facts: _Facts, target: Target) -> str:
    """'16-bit pcm -> 24-bit pcm', '32-bit float -> 24-bit pcm'; empty if neither bit depth nor coding changes."""
    before, after = (f"{form.bits}-bit {form.coding}" for form in (facts, target))
    return f"{before} -> {after}" if before != after else ""


def _wants_plain_riff(spec: Spec, facts: _Facts) -> bool:
    """True for an RF64 or BW64 file small enough for 32-bit sizes if the spec requires another form and permits making
    it."""
    forms = spec.limit("riff_form")
    small = facts.size_bytes <= SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES
    other = bool(forms) and facts.riff_form not in ("", "RIFF", *forms)
    return other and small and "RIFF" in forms and spec.conversions.container == "any"


def _khz(rate_hz: int) -> str:
    return f"{rate_hz / 1000:g}"
