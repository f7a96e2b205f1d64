"""Why a planned file cannot be made: one pure function, used for the prediction and for the result.

No spec switches these checks on and no waiver switches them off: a file that cannot hold the samples cannot be shipped.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import log10
from types import MappingProxyType
from typing import NamedTuple

from delivery.formats.capability import Ceiling, peak_ceiling, target_misfits
from delivery.model.chain import Chain, StepKind, Target
from delivery.model.figure import Measurement
from delivery.model.finding import Answer, Finding, Weight
from delivery.rules.words import DBFS, counted, enough, kilohertz

FULL_SCALE, ENCODER_HEADROOM = "full_scale", "encoder_headroom"
WRITABLE_FORM, CONVERTIBLE_SAMPLES = "writable_form", "convertible_samples"

ALWAYS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        FULL_SCALE: (
            "No sample exceeds full scale when it is written as an integer, after rate conversion and gain.",
            "AES17 (full scale); the peak is measured in a trial conversion where the rate changes",
        ),
        ENCODER_HEADROOM: (
            "No sample exceeds the level above which the AAC encoder in use attenuates by itself.",
            "measured on the encoder in use; ISO/IEC 14496-3 has no such limit",
        ),
        WRITABLE_FORM: (
            "Container, coding, rate, bit depth, channels, bit rate, dither and size are a possible combination.",
            "the formats' own standards, and the limits of the writers and encoders in use",
        ),
        CONVERTIBLE_SAMPLES: (
            "Every sample of a master that is converted is a number.",
            "IEEE 754: not-a-number and infinity are no sample values",
        ),
    }
)
"""Check id -> requirement and source."""


def obstacles(spec: str, track: int, expected: Measurement, chain: Chain, missing: str = "") -> tuple[Finding, ...]:
    """Why the file that *chain* makes cannot be written; empty if it can.

    Parameters
    ----------
    expected : predicted figures of the deliverable, levels after rate conversion and gain
    missing : why the encoder cannot be used on this machine; empty if it can or none is needed

    Returns
    -------
    Findings of the track, each not met and a must; by check id.
    """
    if chain.step(StepKind.COPY):
        return ()
    found = (
        *_samples(expected),
        *_peaks(expected, chain),
        *_form(expected, chain),
        *([Row(WRITABLE_FORM, missing, "an encoder", "install it, or leave this spec out")] if missing else []),
    )
    return tuple(_finding(spec, track, row) for row in sorted(found, key=lambda row: row[:3]))


def unlike_side(spec: str, track: int, own: Target, side: Target) -> tuple[Finding, ...]:
    """Why a song cannot be on a disc or side, which is one file of one sample rate and channel count.

    Parameters
    ----------
    own, side : form of the song by its own chain, and of the file
    """
    row = None
    if own.rate_hz != side.rate_hz:
        remedy = "all masters at one rate, or a spec that permits conversion to one (convert: rate)"
        row = kilohertz(own.rate_hz), kilohertz(side.rate_hz), remedy
    elif own.channels != side.channels:
        remedy = "masters with the same number of channels (mono_as: both_channels makes two of one)"
        row = counted(own.channels, "channel"), counted(side.channels, "channel"), remedy
    if row is None:
        return ()
    found, wanted, remedy = row
    wanted = f"{wanted}, as the first song of the disc or side"
    return (_finding(spec, track, Row(WRITABLE_FORM, found, wanted, remedy)),)


def _finding(spec: str, track: int, row: Row) -> Finding:
    return Finding(
        row.check,
        spec,
        track,
        Answer.NOT_MET,
        must=True,
        weight=Weight.FACT,
        found=row.found,
        wanted=row.wanted,
        remedy=row.remedy,
        at_s=() if row.at_s is None else (row.at_s,),
        source=ALWAYS[row.check][1],
        excess_db=row.excess_db,
    )


class Row(NamedTuple):
    """One obstacle."""

    check: str
    """Its id, as in `ALWAYS`."""
    found: str
    wanted: str
    remedy: str
    at_s: float | None = None
    excess_db: float = 0.0


def _samples(expected: Measurement) -> Iterator[Row]:
    wrong = expected.value("nonfinite_samples")
    if wrong:
        found = f"{counted(wrong, 'sample')} not a number"
        yield Row(CONVERTIBLE_SAMPLES, found, "numbers only", "a new export of the master")


def _peaks(expected: Measurement, chain: Chain) -> Iterator[Row]:
    ceiling, peak_dbfs = peak_ceiling(chain.target), expected.value("sample_peak_dbfs")
    if ceiling is None or peak_dbfs is None or chain.identical or peak_dbfs <= 20 * log10(ceiling.magnitude):
        return
    limit_dbfs = 20 * log10(min(ceiling.magnitude, 1.0))
    over_db = peak_dbfs - limit_dbfs
    found = f"a sample peak of {DBFS.beside(peak_dbfs, limit_dbfs)}{_after(chain)}"
    rule = ENCODER_HEADROOM if chain.target.coding == "aac" else FULL_SCALE
    at_s = expected.value("sample_peak_at_s")
    yield Row(rule, found, _wanted(ceiling, limit_dbfs), _lower(chain, over_db), at_s, over_db)


def _after(chain: Chain) -> str:
    """' after conversion to 44.1 kHz and +2.50 dB of gain'; empty if there is neither."""
    rate, gain = chain.step(StepKind.RATE), chain.step(StepKind.GAIN)
    text = [
        f"conversion to {kilohertz(rate.settings['to_hz'])}" if rate else "",
        f"{gain.settings['gain_db']:+.2f} dB of gain" if gain else "",
    ]
    return f" after {' and '.join(filter(None, text))}" if rate or gain else ""


def _wanted(ceiling: Ceiling, limit_dbfs: float) -> str:
    if ceiling.magnitude < 1.0:
        return f"at most {DBFS(limit_dbfs)}, above which the AAC encoder in use attenuates by itself"
    return "at most 0 dBFS"


def _lower(chain: Chain, over_db: float) -> str:
    gain = chain.step(StepKind.GAIN)
    if gain and gain.settings["gain_db"] > 0:
        return f"a loudness target {enough(over_db)} lower, or a master with peaks {enough(over_db)} lower"
    return f"a master {enough(over_db)} lower, or convert: gain in the spec"


def _form(expected: Measurement, chain: Chain) -> Iterator[Row]:
    rounding = chain.step(StepKind.REQUANTISE)
    dither = rounding.settings["dither"] if rounding else "none"
    for misfit in target_misfits(chain.target, dither, expected.value("frames") or 0):
        yield Row(WRITABLE_FORM, misfit.found, misfit.wanted, REMEDIES[misfit.key])


REMEDIES: Mapping[str, str] = MappingProxyType(
    {
        "bits": "a spec with another bit depth or container, or a master at a bit depth it can hold",
        "channels": "a mono or stereo master, or a spec with another container or coding",
        "coding": "a spec whose coding and container fit together",
        "container": "a spec with another container",
        "dither": "a spec with dither: tpdf, which is available at every rate",
        "encode": "a spec with another bit rate, rate or number of channels",
        "rate_hz": "a spec that permits conversion to one of these rates (convert: rate)",
    }
)
"""Spec key of a misfit -> remedy."""
