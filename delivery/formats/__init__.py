"""One module for each container; every module here is registered."""

from __future__ import annotations

from delivery.formats.container import Container
from delivery.formats.embedding import embed, isrc_texts, notes, read_tags

__all__ = ["Container", "containers", "embed", "extension", "isrc_texts", "notes", "read_tags"]


def containers() -> dict[str, Container]:
    """Every container by id, sorted; the folder is scanned at the first call."""
    from delivery.formats import registry

    return registry.containers()


def extension(container_id: str) -> str:
    """File name extension with the dot; for a container that is only read, such as 'w64', its own name."""
    from delivery.formats import registry

    return registry.extension(container_id)
