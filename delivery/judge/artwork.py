"""The cover picture. Words and logos in it are for the eye; these are the things a machine can know."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from delivery.judge.limits import FLAG, count, some
from delivery.judge.rule import Scope, rule
from delivery.judge.words import BYTES, PIXELS, always, at_least, at_most, counted, one_of
from delivery.model.finding import Shortfall, Weight
from delivery.model.release import Artwork

smallest_wanted = at_least(PIXELS)
largest_wanted = at_most(PIXELS)
square_wanted = always("as wide as high")
kind_wanted = one_of()
bytes_wanted = at_most(BYTES)


def sides(artwork: Artwork) -> str:
    return f"{artwork.width_px} x {artwork.height_px} px"


@rule(
    id="artwork-smallest-side",
    asks="artwork_min_px",
    limit=count(PIXELS, minimum=1),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    says="the shorter side of the cover is {limit}",
    shows=sides,
    wants=smallest_wanted,
    scope=Scope.RELEASE,
)
def artwork_smallest_side(artwork: Artwork, limit: int) -> Iterator[Shortfall]:
    """The cover is large enough; enlarging a small one adds no detail."""
    if min(artwork.width_px, artwork.height_px) < limit:
        yield Shortfall(sides(artwork), smallest_wanted(limit), "the designer's larger original, or a waiver")


@rule(
    id="artwork-largest-side",
    asks="artwork_max_px",
    limit=count(PIXELS, minimum=1),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    says="the longer side of the cover is {limit}",
    shows=sides,
    wants=largest_wanted,
    scope=Scope.RELEASE,
)
def artwork_largest_side(artwork: Artwork, limit: int) -> Iterator[Shortfall]:
    """The cover is no larger than the recipient takes."""
    if max(artwork.width_px, artwork.height_px) > limit:
        yield Shortfall(sides(artwork), largest_wanted(limit), f"the cover at {PIXELS(limit)}, or a waiver")


@rule(
    id="artwork-square",
    asks="artwork_square",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.FACT,
    source="common practice, no source",
    says="the cover is {limit}",
    shows=sides,
    wants=square_wanted,
    scope=Scope.RELEASE,
)
def artwork_square(artwork: Artwork, limit: bool) -> Iterator[Shortfall]:
    """The cover is exactly as wide as it is high."""
    if artwork.width_px != artwork.height_px:
        yield Shortfall(sides(artwork), square_wanted(limit), "a square cover from the designer, or a waiver")


@rule(
    id="artwork-kind",
    asks="artwork_kind",
    limit=some({"enum": ["jpeg", "png", "tiff", "webp", "gif", "bmp"]}, "kinds of picture, the preferred one first"),
    needs=("artwork",),
    weight=Weight.FACT,
    source="read from the file's content, never from its name; the limit is the spec's own",
    says="the cover is a {limit}",
    shows=lambda artwork: str(artwork.kind),
    wants=kind_wanted,
    scope=Scope.RELEASE,
)
def artwork_kind(artwork: Artwork, limit: Sequence[str]) -> Iterator[Shortfall]:
    """The cover is a kind of picture the recipient takes."""
    if artwork.kind not in limit:
        yield Shortfall(artwork.kind, kind_wanted(limit), f"the cover saved as {limit[0]}, or a waiver")


@rule(
    id="artwork-mode",
    asks="artwork_mode",
    limit=some({"enum": ["rgb", "grey", "cmyk", "rgba", "palette"]}, "colour modes, the preferred one first"),
    needs=("artwork",),
    weight=Weight.FACT,
    source="read from the file's content; the limit is the spec's own",
    says="the colours of the cover are {limit}",
    shows=lambda artwork: str(artwork.mode),
    wants=kind_wanted,
    scope=Scope.RELEASE,
)
def artwork_mode(artwork: Artwork, limit: Sequence[str]) -> Iterator[Shortfall]:
    """The cover's colours are stored in a way the recipient takes."""
    if artwork.mode not in limit:
        yield Shortfall(artwork.mode, kind_wanted(limit), f"the cover saved as {limit[0]} by the designer, or a waiver")


@rule(
    id="artwork-size",
    asks="artwork_max_bytes",
    limit=count(BYTES, minimum=1),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    says="the cover's file has {limit}",
    shows=lambda artwork: BYTES(artwork.size_bytes),
    wants=bytes_wanted,
    scope=Scope.RELEASE,
)
def artwork_size(artwork: Artwork, limit: int) -> Iterator[Shortfall]:
    """The cover's file is no larger than the recipient's way in can take."""
    if artwork.size_bytes > limit:
        less = counted(artwork.size_bytes - limit, "byte")
        yield Shortfall(BYTES(artwork.size_bytes), bytes_wanted(limit), f"a file {less} smaller, or a waiver")
