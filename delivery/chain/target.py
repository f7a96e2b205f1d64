"""What file a master becomes under a spec: container, coding, rate and bit depth. Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from delivery.formats.container import Container
from delivery.model.chain import Target
from delivery.model.figure import Measurement
from delivery.model.spec import Spec

DEFAULT_BITS = 24
"""Bit depth of integers made from floats if a spec names none."""
NEVER_FITS_BITS = 99
FLOAT32_WHOLE_BITS = 24
"""Integers of this many bits fit into 32-bit floats exactly (IEEE 754: 24 bits of significand)."""


@dataclass(frozen=True, slots=True)
class MasterFacts:
    """What a measured master is, as far as its target depends on it."""

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
    def of(cls, measurement: Measurement) -> MasterFacts:
        """The facts of a measured master."""
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
        """True for PCM and float."""
        return self.coding in ("pcm", "float")


def target_of(spec: Spec, facts: MasterFacts, containers: Mapping[str, Container]) -> Target:
    """Container, coding and rate; the bit depth of PCM is settled once it is known whether samples change."""
    container = _first_fit(spec.limit("container"), facts.container, spec.conversions.container == "any")
    holds = containers[container].codings if container in containers else (facts.coding,)
    required = [coding for coding in spec.limit("coding") or holds if coding in holds] or list(holds)
    coding = facts.coding if facts.coding in required else required[0]
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


def with_bit_depth(spec: Spec, facts: MasterFacts, target: Target, *, changed: bool) -> Target:
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


def _float_bits(facts: MasterFacts, *, changed: bool) -> int:
    """32, or 64 if the master has 64 or its integers fit exactly only into 64-bit floats."""
    if facts.coding == "float":
        return 64 if facts.bits == 64 else 32
    return 64 if not changed and (facts.effective_bits or facts.bits or 0) > FLOAT32_WHOLE_BITS else 32


def _with_bits(target: Target, bits: int) -> Target:
    return replace(target, bits=bits)
