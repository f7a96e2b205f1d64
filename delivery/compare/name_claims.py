"""Compare the claims in a master's file name with the file: rate, bit depth, version. Remarks, never verdicts.

Names are written by hand and titles may contain any word, so a mismatch is only a reason to look. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from delivery.model.part import Source
from delivery.model.release import Track

RATES_KHZ = {"44.1": 44_100, "441": 44_100, "44": 44_100, "48": 48_000, "88.2": 88_200, "882": 88_200, "96": 96_000,
             "176.4": 176_400, "192": 192_000}  # fmt: skip
_RATE = r"(?P<rate>44\.?1|44|48|88\.?2|96|176\.?4|192)"
_DEPTH = r"(?P<bits>16|24|32)"
_EDGE = r"(?<![A-Za-z0-9.])"
PAIR = re.compile(rf"{_EDGE}(?:{_DEPTH}\s?(?:bits?)?[\s_\-x/]+{_RATE}(?:\s?k(?:hz)?)?)(?![0-9A-Za-z.])", re.IGNORECASE)
BACKWARDS = re.compile(rf"{_EDGE}{_RATE}\s?(?:k(?:hz)?)?[\s_\-x/]+{_DEPTH}\s?(?:bits?)?(?![0-9A-Za-z.])", re.IGNORECASE)
RATE = re.compile(rf"{_EDGE}{_RATE}\s?k(?:hz)?(?![0-9A-Za-z])", re.IGNORECASE)
DEPTH = re.compile(rf"{_EDGE}{_DEPTH}[\s_\-]?bits?(?![0-9A-Za-z])", re.IGNORECASE)

VERSIONS = {
    "instrumental": ("instrumental", "inst"),
    "a cappella": ("acapella", "a cappella", "acappella", "acap"),
    "clean": ("clean", "clean version"),
    "radio edit": ("radio edit", "radio"),
    "remix": ("remix", "rmx"),
    "live": ("live",),
    "demo": ("demo",),
    "extended": ("extended",),
    "acoustic": ("acoustic",),
    "TV": ("tv track", "tv mix"),
}
"""Version -> how file names spell it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Claims:
    """Rate and bit depth claimed by a file name; None: no claim."""

    rate_hz: int | None = None
    bits: int | None = None


def claims(stem: str) -> Claims:
    """Rate and bit depth from the end of a name: '24-96', '96k', '24bit', '44.1 kHz 16 bit'."""
    for form in (PAIR, BACKWARDS):
        found = form.search(stem)
        if found:
            return Claims(RATES_KHZ[_dotted(found["rate"])], int(found["bits"]))
    rate, depth = RATE.search(stem), DEPTH.search(stem)
    return Claims(RATES_KHZ[_dotted(rate["rate"])] if rate else None, int(depth["bits"]) if depth else None)


def wrong_claims(sources: Sequence[Source]) -> tuple[str, ...]:
    """One sentence for each master whose name disagrees with the file or the label copy."""
    return tuple(text for source in sources for text in (*_sound(source), *_version(source.track)))


def _sound(source: Source) -> Iterator[str]:
    if source.measurement is None:
        return
    name, claimed = source.track.file.name, claims(source.track.file.stem)
    rate_hz, bits = source.measurement.value("rate_hz"), source.measurement.value("bits")
    if claimed.rate_hz and rate_hz and claimed.rate_hz != rate_hz:
        yield f"{name} is called {claimed.rate_hz / 1000:g} kHz and is {rate_hz / 1000:g} kHz."
    if claimed.bits and bits and claimed.bits != bits:
        yield f"{name} is called {claimed.bits} bit and is {bits} bit."


def _version(track: Track) -> Iterator[str]:
    name = _words(track.file.stem)
    label_copy = _words(f"{track.title} {track.version}") + (" instrumental" if track.instrumental else "")
    label_copy += " clean" if track.explicit == "clean" else ""
    for version, forms in VERSIONS.items():
        if any(f" {form} " in f" {name} " for form in forms) and not any(
            f" {form} " in f" {label_copy} " for form in forms
        ):
            yield f"{track.file.name} is called {version}; the label copy of track {track.position} is not."


def _words(text: str) -> str:
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())


def _dotted(rate: str) -> str:
    return rate if rate in RATES_KHZ else f"{rate[:-1]}.{rate[-1]}"
