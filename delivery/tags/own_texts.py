"""Write comments and lyrics of a master into a file of any tag format, if a spec lets them through."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path
from typing import Any

from delivery.model.carried import Item
from delivery.tags import id3, mp4, vorbis
from delivery.tags.fields import JOINT
from delivery.tags.guard import clear, mutagen

KINDS = ("comments", "lyrics")
_VORBIS = {"comments": "COMMENT", "lyrics": "LYRICS"}
_MP4 = {"comments": "©cmt", "lyrics": "©lyr"}
_ID3 = {"comments": "COMM", "lyrics": "USLT"}


def write(path: Path, tag_formats: Collection[str], items: Iterable[Item]) -> None:
    """Write the texts of these kinds among *items* into our own copy at *path*, each once.

    Parameters
    ----------
    tag_formats : those of its container; formats other than these three cannot store them

    Raises
    ------
    Unusable : the file's tags cannot be read
    """
    entries = {kind: list(dict.fromkeys(i.text for i in items if i.kind == kind)) for kind in KINDS}
    texts = {kind: JOINT.join(found) for kind, found in entries.items() if found}
    if not texts:
        return
    with clear(path, "writing"):
        if "vorbis" in tag_formats:
            _comments(path, texts)
        elif "mp4" in tag_formats:
            _atoms(path, texts)
        elif "id3" in tag_formats:
            id3.add_frames(path, [_frame(kind, text) for kind, text in texts.items()])


def _comments(path: Path, texts: dict[str, str]) -> None:
    file = vorbis.load(path)
    tags = file.tags if file.tags is not None else vorbis.new_tags(file)
    for kind, text in texts.items():
        tags[_VORBIS[kind]] = [text]
    file.save(padding=lambda _: 0)


def _atoms(path: Path, texts: dict[str, str]) -> None:
    file = mp4.load(path)
    if file.tags is None:
        file.add_tags()
    for kind, text in texts.items():
        file.tags[_MP4[kind]] = [text]
    file.save(padding=lambda _: 0)


def _frame(kind: str, text: str) -> Any:
    """A frame in UTF-8 whose language is not stated (ISO 639-2 'und')."""
    form = mutagen("id3").Frames[_ID3[kind]]
    return form(encoding=3, lang="und", desc="", text=[text] if kind == "comments" else text)
