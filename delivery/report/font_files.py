"""Fonts for any script: found by name, and cut to the characters that a sheet shows.

They lie in ``fonts/`` beside this module. One small font there has Chinese, Japanese and Korean in one form and weight;
large ones, with each region's own forms, come from the package of the extra ``cjk``.

One font covers Latin, Greek and Cyrillic; every other character is set in the first font that has it. Variable fonts
are cut and pinned to one weight in a single step by HarfBuzz (milliseconds even for the large East Asian ones), which
keeps the layout features that shaping needs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import uharfbuzz as hb

from delivery.errors import Unfinished

FOLDER = Path(__file__).with_name("fonts")
LATIN = "IBMPlexSans[wdth,wght].ttf"
WORLD_FIRST, WORLD_LAST = "NotoSans[wght].ttf", "NotoEmoji[wght].ttf"
LAST_RESORTS = ("DroidSansFallback.ttf", "DejaVuSans.ttf")
"""East Asian characters, and signs; used where no font before them has the character."""
INVISIBLE = re.compile("[\u200c\u200d\ufe00-\ufe0f\U000e0100-\U000e01ef]")
"""Joiners and variation selectors: nothing is missing where no font has them."""
EAST_ASIA = "justmytype_intl_cjk"
EAST_ASIAN_FONTS: Mapping[str, str] = {
    region: f"fonts/ofl/notosans{region.lower()}/NotoSans{region}[wght].ttf" for region in ("JP", "KR", "SC", "TC")
}


def package_folder(package: str) -> Path | None:
    """Where an installed package keeps its files; nothing of it is run."""
    spec = find_spec(package)
    places = spec.submodule_search_locations if spec else None
    return Path(next(iter(places))) if places else None


def font_files(lang: str) -> tuple[Path, ...]:
    """Every font there is, in the order in which they are searched for a character.

    Raises
    ------
    Unfinished : the one font that nothing can be printed without is missing
    """
    if not (FOLDER / LATIN).is_file():
        raise Unfinished(LATIN, "no such font", "the font of the sheet", "Install the program again, whole.")
    order = {LATIN: 0, WORLD_FIRST: 1, WORLD_LAST: 3}
    last = [FOLDER / name for name in LAST_RESORTS]
    found = sorted({*FOLDER.glob("*.ttf")} - {*last}, key=lambda path: (order.get(path.name, 2), path.name))
    east = package_folder(EAST_ASIA)
    regional = [east / EAST_ASIAN_FONTS[region] for region in regions(lang)] if east is not None else []
    return (*found, *filter(Path.is_file, (*regional, *last)))


def regions(lang: str) -> tuple[str, ...]:
    """Which forms of the shared ideographs to prefer: the document's language decides."""
    tag = lang.lower().replace("_", "-")
    first = "JP"
    if tag.startswith("ko"):
        first = "KR"
    elif tag.startswith("zh"):
        first = "TC" if any(mark in tag for mark in ("hant", "-tw", "-hk", "-mo")) else "SC"
    return (first, *(region for region in ("JP", "SC", "TC", "KR") if region != first))


@lru_cache(maxsize=64)
def _face(path: Path) -> Any:
    return hb.Face(hb.Blob.from_file_path(str(path)))


@lru_cache(maxsize=64)
def covered(path: Path) -> frozenset[int]:
    """Code points of the characters in the font."""
    return frozenset(_face(path).unicodes)


@lru_cache(maxsize=256)
def cut(path: Path, weight: int, characters: frozenset[int], *, hints: bool = True) -> bytes:
    """A static TrueType font of *characters* alone, at *weight*, its other axes at their defaults."""
    face = _face(path)
    wanted = hb.SubsetInput()
    if not hints:
        wanted.flags |= hb.SubsetFlags.NO_HINTING
    wanted.sets(hb.SubsetInputSets.UNICODE).update(characters)
    wanted.pin_all_axes_to_default(face)
    for axis in face.axis_infos:
        if axis.tag == "wght":
            wanted.pin_axis_location(face, "wght", min(max(weight, axis.min_value), axis.max_value))
    return bytes(hb.subset(face, wanted).blob.data)
