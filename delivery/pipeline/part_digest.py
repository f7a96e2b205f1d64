"""What decides every byte of a delivered file, as one digest. Pure, but for the versions of what is installed.

Two files of one digest are the same bytes. The name is none of it, nor the requirements, which are judged each time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path, PurePath
from typing import Any

from delivery import __version__
from delivery.chain.stream import Place, Stream
from delivery.meters import meters_version, sources_digest
from delivery.model.chain import Chain
from delivery.model.part import Source
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pipeline import metadata

LIBRARIES = ("av", "lameenc", "mutagen", "numpy", "soundfile", "soxr")
"""Of these, some bytes of files are made."""


def of_part(
    spec: Spec, source: Source, chain: Chain, place: Place | None, release: Release, picture: bytes | None, name: str
) -> str:
    """Digest of a song's file.

    Parameters
    ----------
    release : as *spec* receives it
    picture : the cover that is embedded, if *spec* embeds one
    name : of the file; its ending counts
    """
    return _digest(
        "part",
        makers_version(),
        source.sha256,
        source.audio_hash,
        _chain(chain),
        _place(place) if place else None,
        metadata.decisive(release, spec, source, chain),
        hashlib.sha256(picture).hexdigest() if picture and spec.embed_artwork else None,
        PurePath(name).suffix,
    )


def of_rendering(source: Source, chain: Chain, place: Place | None, name: str) -> str:
    """Digest of what decides the samples of a song's file, and the file before tags are written into it.

    Parameters
    ----------
    name : of the file; its ending counts
    """
    where = _place(place) if place else None
    return _digest(
        "rendering", makers_version(), source.sha256, source.audio_hash, _chain(chain), where, PurePath(name).suffix
    )


def of_image(
    programme: Any, target: Any, sources: Iterable[Source], chains: Mapping[int, Chain], keep_chunks: Sequence[str]
) -> str:
    """Digest of the file of a whole disc or side.

    Parameters
    ----------
    sources : the masters of its songs, in order
    chains : by position
    """
    songs = [(each.sha256, each.audio_hash, _chain(chains[each.track.position])) for each in sources]
    return _digest("image", makers_version(), programme, target, songs, sorted(keep_chunks))


@cache
def makers_version() -> str:
    """Identifies the code that makes files: this program's, and the libraries that write bytes of them."""
    ours = sources_digest("chain", "formats", "tags", "pipeline")
    return _digest(__version__, meters_version(), ours, [(name, _installed(name)) for name in LIBRARIES])


def _installed(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


def _chain(chain: Chain) -> Any:
    """Without the reasons of its steps."""
    return chain.target, [(step.kind, step.settings) for step in chain.steps]


def _place(place: Place) -> Any:
    return place.index, _stream(place.stream)


def _stream(stream: Stream | None) -> Any:
    if stream is None:
        return None
    masters = [(each.audio_hash, each.frames, _chain(each.chain)) for each in stream.masters]
    return masters, stream.rate_hz, stream.channels, _stream(stream.before), _stream(stream.after)


def _digest(*parts: Any) -> str:
    text = json.dumps(_plain(parts), sort_keys=True, ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _plain(value: Any) -> Any:
    """Nested data as JSON can hold it, each kind of it in one way.

    Raises
    ------
    TypeError : something whose text would not identify it, such as a path
    """
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Path):
        raise TypeError(f"a path identifies no content: {value}")
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, set | frozenset):
        return sorted(map(str, value))
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value.item() if hasattr(value, "item") else value
