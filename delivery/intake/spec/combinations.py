"""Requirements that are possible separately but not together: PCM in MP3, 321 kbit/s, shaped dither at 96 kHz. Pure.

`formats.capability` defines what can be made and predicts builds as well; nothing is repeated here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import Any

from delivery.formats import containers
from delivery.formats.capability import Misfit, target_misfits
from delivery.model.chain import Target
from delivery.model.spec import Spec

Fault = tuple[str, str, str, str]
"""Pointer, found, wanted, remedy."""

FLOAT_BITS = (32, 64)
"""IEEE 754, single and double precision."""
ANY_RATE_HZ, ANY_CHANNELS, ANY_BITS = 48_000, 2, 24
"""Values for keys that a spec leaves open; every container and encoder supports them, so they cause no misfit."""


def combination_faults(spec: Spec) -> Iterator[Fault]:
    """Every value that no file can have together with the spec's other values; empty if all can be met."""
    forms = tuple(_form(*pair) for pair in product(_containers(spec), _codings(spec)))
    held = tuple(form for form in forms if not _misfits(form, "coding"))
    yield from _not_stored_anywhere(spec, forms, held)
    for key in ("rate_hz", "channels"):
        yield from _values_of(spec, key, held)
    yield from _bit_depths(spec, held)
    yield from _bit_rate(spec, held)
    yield from _dither(spec, held)


def lossy(coding: str) -> bool:
    """True if *coding* has a bit rate and no bit depth."""
    return coding not in ("pcm", "float")


def _containers(spec: Spec) -> Sequence[str]:
    return spec.limit("container") or tuple(containers())


def _codings(spec: Spec) -> Sequence[str]:
    return spec.limit("coding") or sorted({coding for one in containers().values() for coding in one.codings})


def _form(container: str, coding: str) -> Target:
    return Target(container, coding, ANY_RATE_HZ, ANY_CHANNELS, ANY_BITS if coding == "pcm" else None)


def _misfits(form: Target, key: str, dither: str = "none") -> list[Misfit]:
    return [misfit for misfit in target_misfits(form, dither) if misfit.key == key]


def _not_stored_anywhere(spec: Spec, forms: Sequence[Target], held: Sequence[Target]) -> Iterator[Fault]:
    """Codings that no accepted container holds; if there are none, containers that hold no accepted coding."""
    for key in ("coding", "container"):
        homeless = {getattr(form, key) for form in forms} - {getattr(form, key) for form in held}
        for value in spec.limit(key) or ():
            if value in homeless:
                misfit = _misfits(next(form for form in forms if getattr(form, key) == value), "coding")[0]
                yield f"requires/{key}", misfit.found, misfit.wanted, "Change the coding or the container."
        if homeless:
            return


def _values_of(spec: Spec, key: str, held: Sequence[Target]) -> Iterator[Fault]:
    for value in spec.limit(key) or ():
        found = [_misfits(_with(form, key, value), key) for form in held]
        if found and all(found):
            yield f"requires/{key}", found[0][0].found, found[0][0].wanted, "No file can have it: change or delete it."


def _bit_depths(spec: Spec, held: Sequence[Target]) -> Iterator[Fault]:
    codings = {form.coding for form in held}
    depths: Sequence[int] = spec.limit("bits") or ()
    if depths and codings and all(map(lossy, codings)):
        yield (
            "requires/bits",
            f"a bit depth for {', '.join(sorted(codings))}",
            "none",
            "A lossy coding has no bit depth.",
        )
        return
    of_float = FLOAT_BITS if "float" in codings else ()
    for bits in (bits for bits in depths if bits not in of_float):
        found = [_misfits(_with(form, "bits", bits), "bits") for form in held if form.coding == "pcm"]
        if found and all(found):
            yield "requires/bits", found[0][0].found, found[0][0].wanted, "No file can have it: change or delete it."


def _bit_rate(spec: Spec, held: Sequence[Target]) -> Iterator[Fault]:
    """The first fault of the coding's bit rate, at every accepted rate and channel count."""
    if spec.bitrate_kbps is None or spec.vbr_quality is not None or not spec.limit("coding"):
        return
    if not any(map(lossy, _codings(spec))):
        wanted = "none, for lossless codings"
        yield "encode/bitrate_kbps", f"{spec.bitrate_kbps} kbit/s", wanted, "Delete it, or require a lossy coding."
        return
    made = [replace(form, bitrate_kbps=spec.bitrate_kbps) for form in held if form.coding == _codings(spec)[0]]
    rates, channels = spec.limit("rate_hz") or (ANY_RATE_HZ,), spec.limit("channels") or (ANY_CHANNELS,)
    for form, rate_hz, count in product(made, rates, channels):
        each = replace(form, rate_hz=rate_hz, channels=count)
        if (found := _misfits(each, "encode")) and not (_misfits(each, "rate_hz") or _misfits(each, "channels")):
            mono = ", mono" if count == 1 else ""
            yield "encode/bitrate_kbps", found[0].found + mono, found[0].wanted, "Choose one of these."
            return


def _dither(spec: Spec, held: Sequence[Target]) -> Iterator[Fault]:
    """Faults of a shaped dither at every accepted rate; samples never rounded need none."""
    pcm = [form for form in held if form.coding == "pcm"][:1]
    for form, rate_hz in product(pcm, spec.limit("rate_hz") or ()):
        for misfit in _misfits(_with(form, "rate_hz", rate_hz), "dither", spec.conversions.dither):
            yield "convert/dither", misfit.found, misfit.wanted, "Use tpdf, which is available at every rate."
            return


def _with(form: Target, key: str, value: Any) -> Target:
    return replace(form, **{key: value})
