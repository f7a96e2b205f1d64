"""The containers: every module of this package that declares a ``CONTAINER``."""

from __future__ import annotations

from functools import cache

import delivery.formats
from delivery.formats.container import Container
from delivery.model.registry import modules, register


@cache
def _found() -> dict[str, Container]:
    declared = (getattr(module, "CONTAINER", None) for module in modules(delivery.formats))
    return register((one for one in declared if isinstance(one, Container)), key=lambda one: one.id)


def containers() -> dict[str, Container]:
    """Every container by id, sorted."""
    return dict(_found())


def container_of(coding: str) -> str:
    """Id of the container that is usually for a lossy *coding*, such as 'm4a' for 'aac'.

    Raises
    ------
    KeyError : no container holds it
    """
    return {container.codings[0]: container.id for container in _found().values()}[coding]


def codec_of(container_id: str, coding: str) -> str:
    """What codes samples of *coding* in that container: 'alac' for PCM in 'm4a', else the coding itself."""
    container = _found().get(container_id)
    return (container.pcm_codec if container and coding == "pcm" else "") or coding


def extension(container_id: str) -> str:
    """File name extension with the dot; for a container that is only read, such as 'w64', its own name."""
    return _found()[container_id].extension if container_id in _found() else f".{container_id}"
