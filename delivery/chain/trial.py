"""The chain for a trial copy: rate if the coding needs another, gain if requested, encode. Pure."""

from __future__ import annotations

from collections.abc import Collection

from delivery.audio.codecs import CODECS
from delivery.chain.target import cheapest_rate_hz
from delivery.formats.registry import container_of
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Measurement
from delivery.model.trial import CodecForm

CODINGS = tuple(coding for coding, codec in CODECS.items() if codec.kbps)
"""Lossy codings that can be tried."""
WHY = "a trial, to measure what the coding does"


def trial_chain(measurement: Measurement, form: CodecForm, rates_hz: Collection[int], gain_db: float = 0.0) -> Chain:
    """The shortest chain from a lossless master to a copy in *form*.

    Parameters
    ----------
    rates_hz : sample rates the coding supports; the one a delivery would choose is used
    """
    from_hz = measurement.value("rate_hz")
    to_hz = cheapest_rate_hz(from_hz, rates_hz, may_rise=True)
    rate = Step(StepKind.RATE, f"rate to {to_hz} Hz", WHY, {"from_hz": from_hz, "to_hz": to_hz})
    gain = Step(StepKind.GAIN, f"gain {gain_db:+.2f} dB", WHY, {"gain_db": gain_db})
    encode = Step(StepKind.ENCODE, f"encode {form}", WHY, {"coding": form.coding})
    steps = (*[rate] * (to_hz != from_hz), *[gain] * bool(gain_db), encode)
    target = Target(
        container_of(form.coding),
        form.coding,
        to_hz,
        measurement.value("channels"),
        None,
        form.bitrate_kbps,
        form.vbr_quality,
    )
    return Chain(steps, target)
