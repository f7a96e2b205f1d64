"""The shortest chain of steps that makes one deliverable, with the reason for each. Pure.

Planning refuses nothing: if a needed step is not permitted by the spec, it is not planned, and judging the predicted
figures shows the requirement as not met. Verdicts are made in one place, steps in another.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from delivery.audio.codecs import CODECS
from delivery.audio.pcm import ROOM_FOR_TAGS_BYTES, SIZE_FIELD_MAX
from delivery.chain.gain import gain_wanted_db
from delivery.chain.target import MasterFacts, target_of, with_bit_depth
from delivery.formats.container import Container
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Measurement
from delivery.model.spec import Spec

STAYS = {"dsd": "one-bit audio is decoded only to measure it; converting it is a decision for a mastering session"}
"""Coding -> why a master in it is not converted."""
COPIED = "copied_to_both_channels"
"""Marks the figures of a mono master measured as it will be with its channel copied to both."""


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
    facts = MasterFacts.of(measurement)
    if not facts.lossless:
        return _as_it_came(facts, STAYS.get(facts.coding, "a lossy master is never converted"))
    target = target_of(spec, facts, containers)
    copied = tuple(_copied(spec, measurement))
    changes = (*_rate(spec, facts, target), *_gain(spec, measurement, gain_db, gain_because))
    if target.coding not in ("pcm", "float"):
        return Chain((*copied, *changes, _encode(target)), target)
    target = with_bit_depth(spec, facts, target, changed=bool(changes))
    steps = (*copied, *changes, *_requantise(spec, facts, target, changed=bool(changes)))
    return Chain(_repackaged(spec, facts, target, steps) or (_carry(spec, facts, target),), target)


def _as_it_came(facts: MasterFacts, because: str) -> Chain:
    target = Target(facts.container, facts.coding, facts.rate_hz, facts.channels, facts.bits)
    return Chain((Step(StepKind.COPY, "samples copied bit for bit", because),), target)


def _copied(spec: Spec, measurement: Measurement) -> Iterator[Step]:
    if measurement.value(COPIED):
        accepted = ", ".join(map(str, spec.limit("channels") or ()))
        yield Step(
            StepKind.CHANNELS,
            "one channel copied to both, without gain",
            f"channels: the spec requires {accepted}, and the release file has mono_as: both_channels",
        )


def _rate(spec: Spec, facts: MasterFacts, target: Target) -> Iterator[Step]:
    if target.rate_hz == facts.rate_hz:
        return
    requested = ", ".join(_khz(rate_hz) for rate_hz in spec.limit("rate_hz"))
    raised = "; raised because the spec requires it; this adds no detail" if target.rate_hz > facts.rate_hz else ""
    yield Step(
        StepKind.RATE,
        f"rate {_khz(facts.rate_hz)} -> {_khz(target.rate_hz)} kHz",
        f"the spec requires {requested} kHz, the master has {_khz(facts.rate_hz)} kHz{raised}",
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
        reason += "; the same on every track, so the balance between songs is kept"
    yield Step(StepKind.GAIN, f"gain {gain_db:+.2f} dB", because or reason, {"gain_db": gain_db})


def _requantise(spec: Spec, facts: MasterFacts, target: Target, *, changed: bool) -> Iterator[Step]:
    fits = facts.coding == "pcm" and target.bits is not None and (facts.bits or 0) <= target.bits
    exact = facts.effective_bits is not None and target.bits is not None and facts.effective_bits <= target.bits
    if target.coding != "pcm" or (not changed and (fits or exact)):
        return
    assert target.bits is not None
    dither, zero = spec.conversions.dither, spec.conversions.silence == "zero"
    source = "32-bit float" if facts.coding == "float" else f"{facts.bits}-bit"
    why = (
        "earlier processing needs more bits than the file has"
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


def _extensible(spec: Spec, facts: MasterFacts, target: Target) -> bool:
    """True for the extensible WAV header: required by the spec, or needed to keep the channel layout."""
    required = spec.limit("extensible_header")
    if target.container != "wav":
        return False
    return bool(required) if required is not None else facts.states_layout and target.channels == facts.channels


def _repackaged(spec: Spec, facts: MasterFacts, target: Target, steps: tuple[Step, ...]) -> tuple[Step, ...]:
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


def _carry(spec: Spec, facts: MasterFacts, target: Target) -> Step:
    """Samples unchanged: copy the file's bytes, or the samples into another container."""
    requires_extensible = spec.limit("extensible_header")
    container_differs = (
        requires_extensible is not None and target.container == "wav" and requires_extensible != facts.extensible
    )
    plain = _requires_plain_riff(spec, facts)
    same_form = (target.container, target.coding, target.bits) == (facts.container, facts.coding, facts.bits)
    if same_form and not (container_differs or plain):
        return Step(StepKind.COPY, "samples copied bit for bit", "the master already is what the spec requires")
    changes = [
        f"{facts.container} -> {target.container}" if target.container != facts.container else "",
        _stored_anew(facts, target),
        ("extensible header" if requires_extensible else "plain header") if container_differs else "",
        f"{facts.riff_form} -> RIFF" if plain else "",
    ]
    return Step(
        StepKind.REWRAP,
        "identical samples, " + ", ".join(change for change in changes if change),
        "the spec requires another container, which stores the samples exactly",
        {"extensible": _extensible(spec, facts, target)},
    )


def _stored_anew(facts: MasterFacts, target: Target) -> str:
    """'16-bit pcm -> 24-bit pcm', '32-bit float -> 24-bit pcm'; empty if neither bit depth nor coding changes."""
    before, after = (f"{form.bits}-bit {form.coding}" for form in (facts, target))
    return f"{before} -> {after}" if before != after else ""


def _requires_plain_riff(spec: Spec, facts: MasterFacts) -> bool:
    """True for an RF64 or BW64 file small enough for 32-bit sizes if the spec requires another form and permits making
    it."""
    forms = spec.limit("riff_form")
    small = facts.size_bytes <= SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES
    other = bool(forms) and facts.riff_form not in ("", "RIFF", *forms)
    return other and small and "RIFF" in forms and spec.conversions.container == "any"


def _khz(rate_hz: int) -> str:
    return f"{rate_hz / 1000:g}"
