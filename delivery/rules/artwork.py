"""The cover picture: properties that can be measured. Text and logos in it need a person's eye."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.model.release import Artwork
from delivery.rules.limits import FLAG, LARGEST_PX, count, some
from delivery.rules.rule import Scope, Unanswered, rule
from delivery.rules.words import BYTES, PIXELS, always, at_least, at_most, counted, listed, one_of

smallest_wanted = at_least(PIXELS)
largest_wanted = at_most(PIXELS)
square_wanted = always("as wide as high")
kind_wanted = one_of()
bytes_wanted = at_most(BYTES)
profile_wanted = always("in sRGB, or without a profile, which counts as sRGB")
detail_wanted = always("not upscaled")
border_wanted = always("without a thin border of one colour")

ending_wanted = always("what its name states")

ENDINGS: Mapping[str, tuple[str, ...]] = {
    "jpeg": (".jpg", ".jpeg", ".jpe", ".jfif"),
    "png": (".png",),
    "tiff": (".tif", ".tiff"),
    "webp": (".webp",),
    "gif": (".gif",),
    "bmp": (".bmp",),
}
"""Kind -> file extensions, the usual one first."""
DETAIL_ENDS = 0.42
"""Cycles per pixel; a picture enlarged to twice its size ends at 0.25 to 0.41."""
THIN = 0.1
"""Share of the side; a wider margin is part of the design."""


def sides(artwork: Artwork) -> str:
    """Width and height in pixels."""
    return f"{artwork.width_px} x {artwork.height_px} px"


@rule(
    id="artwork_min_px",
    limit=count(PIXELS, minimum=1, maximum=LARGEST_PX),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the shorter side of the cover is {limit}",
    value_text=sides,
    limit_text=smallest_wanted,
    scope=Scope.RELEASE,
)
def artwork_smallest_side(artwork: Artwork, limit: int) -> Iterator[NotMet]:
    """The cover is large enough; enlarging a small one adds no detail."""
    if min(artwork.width_px, artwork.height_px) < limit:
        yield NotMet(sides(artwork), smallest_wanted(limit), "the designer's larger original", artwork.place)


@rule(
    id="artwork_max_px",
    limit=count(PIXELS, minimum=1, maximum=LARGEST_PX),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the longer side of the cover is {limit}",
    value_text=sides,
    limit_text=largest_wanted,
    scope=Scope.RELEASE,
)
def artwork_largest_side(artwork: Artwork, limit: int) -> Iterator[NotMet]:
    """The cover is no larger than the recipient accepts."""
    if max(artwork.width_px, artwork.height_px) > limit:
        yield NotMet(sides(artwork), largest_wanted(limit), f"the cover at {PIXELS(limit)}", artwork.place)


@rule(
    id="artwork_square",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.FACT,
    source="common practice, no source",
    sentence="the cover is {limit}",
    value_text=sides,
    limit_text=square_wanted,
    scope=Scope.RELEASE,
)
def artwork_square(artwork: Artwork, limit: bool) -> Iterator[NotMet]:
    """The cover is exactly as wide as it is high."""
    if artwork.width_px != artwork.height_px:
        yield NotMet(sides(artwork), square_wanted(limit), "a square cover from the designer", artwork.place)


@rule(
    id="artwork_kind",
    limit=some({"enum": ["jpeg", "png", "tiff", "webp", "gif", "bmp"]}, "kinds of picture, the preferred one first"),
    needs=("artwork",),
    weight=Weight.FACT,
    source="read from the file's content, not from its name; the limit is the spec's own",
    sentence="the cover is a {limit}",
    value_text=lambda artwork: str(artwork.kind),
    limit_text=kind_wanted,
    scope=Scope.RELEASE,
)
def artwork_kind(artwork: Artwork, limit: Sequence[str]) -> Iterator[NotMet]:
    """The cover is a kind of picture that the recipient accepts."""
    if artwork.kind not in limit:
        yield NotMet(artwork.kind, kind_wanted(limit), f"the cover saved as {limit[0]}", artwork.place)


@rule(
    id="artwork_ending",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.FACT,
    source="read from the file's content; programs that go by the extension may refuse it",
    sentence="the cover is {limit}",
    value_text=lambda artwork: artwork.path.name,
    limit_text=ending_wanted,
    scope=Scope.RELEASE,
)
def artwork_ending(artwork: Artwork, limit: bool) -> Iterator[NotMet]:
    """The extension of the cover's name matches its kind: some programs refuse a PNG renamed to .jpg."""
    ending = artwork.path.suffix.lower()
    if ending not in ENDINGS.get(artwork.kind, (ending,)):
        name = f"{artwork.path.stem}{ENDINGS[artwork.kind][0]}"
        found = f"{artwork.path.name}, which is a {artwork.kind.upper()}"
        yield NotMet(found, ending_wanted(limit), f"the name {name} or the cover exported again", artwork.place)


@rule(
    id="artwork_mode",
    limit=some({"enum": ["rgb", "grey", "cmyk", "rgba", "palette"]}, "colour modes, the preferred one first"),
    needs=("artwork",),
    weight=Weight.FACT,
    source="read from the file's content; the limit is the spec's own",
    sentence="the colours of the cover are {limit}",
    value_text=lambda artwork: str(artwork.mode),
    limit_text=kind_wanted,
    scope=Scope.RELEASE,
)
def artwork_mode(artwork: Artwork, limit: Sequence[str]) -> Iterator[NotMet]:
    """The cover's colours are stored in a mode that the recipient accepts."""
    if artwork.mode not in limit:
        yield NotMet(
            artwork.mode,
            kind_wanted(limit),
            f"the cover saved as {limit[0]} by the designer",
            artwork.place,
        )


@rule(
    id="artwork_max_bytes",
    limit=count(BYTES, minimum=1),
    needs=("artwork",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the cover's file has {limit}",
    value_text=lambda artwork: BYTES(artwork.size_bytes),
    limit_text=bytes_wanted,
    scope=Scope.RELEASE,
)
def artwork_size(artwork: Artwork, limit: int) -> Iterator[NotMet]:
    """The cover's file is no larger than the recipient accepts."""
    if artwork.size_bytes > limit:
        less = counted(artwork.size_bytes - limit, "byte")
        yield NotMet(BYTES(artwork.size_bytes), bytes_wanted(limit), f"a file {less} smaller", artwork.place)


@rule(
    id="artwork_srgb",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.FACT,
    source="IEC 61966-2-1 (sRGB): what programs assume of a picture without a profile",
    sentence="the cover is {limit}",
    value_text=lambda artwork: artwork.profile or "no profile",
    limit_text=profile_wanted,
    scope=Scope.RELEASE,
)
def artwork_profile(artwork: Artwork, limit: bool) -> Iterator[NotMet]:
    """The cover's colours are in sRGB, in which programs display it; other colour spaces can look dull or wrong."""
    if artwork.profile and "srgb" not in artwork.profile.casefold():
        found = f"the profile {artwork.profile!r}"
        yield NotMet(found, profile_wanted(limit), "the cover converted to sRGB by the designer", artwork.place)


@rule(
    id="artwork_not_enlarged",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.WEAK_SIGN,
    source="power of natural pictures falls with frequency squared (Field 1987); an early end means lost detail",
    sentence="the cover is {limit}",
    value_text=sides,
    limit_text=detail_wanted,
    scope=Scope.RELEASE,
)
def artwork_enlarged(artwork: Artwork, limit: bool) -> Iterator[NotMet | Unanswered]:
    """Some part of the cover has detail as fine as its pixels; an enlarged or deliberately soft picture does not."""
    if artwork.finest_detail is None:
        yield Unanswered("the cover is too plain, too small or too large to tell")
    elif artwork.finest_detail < DETAIL_ENDS:
        real_px = round(2 * artwork.finest_detail * max(artwork.width_px, artwork.height_px), -1)
        found = f"{sides(artwork)} with no finer detail than about {PIXELS(real_px)} would hold"
        yield NotMet(
            found,
            detail_wanted(limit),
            "the designer's larger original",
            artwork.place,
            settled_if="if the picture is meant to be soft",
        )


@rule(
    id="artwork_no_border",
    limit=FLAG,
    needs=("artwork",),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: lines left by cropping",
    sentence="the cover is {limit}",
    value_text=lambda _artwork: "no thin border",
    limit_text=border_wanted,
    scope=Scope.RELEASE,
)
def artwork_border(artwork: Artwork, limit: bool) -> Iterator[NotMet]:
    """No thin strip of one colour along an edge, as left by a careless crop or scan."""
    long = (artwork.height_px, artwork.width_px, artwork.height_px, artwork.width_px)
    edges = zip(("top", "right", "bottom", "left"), artwork.border_px, long, strict=True)
    thin = [f"{PIXELS(px)} at the {edge}" for edge, px, side in edges if 0 < px <= side * THIN]
    if thin:
        yield NotMet(
            f"one colour for {listed(thin)}",
            border_wanted(limit),
            "a crop without it",
            artwork.place,
            settled_if="if it is intended",
        )
