"""One file for each container; being here is being registered."""

from __future__ import annotations

from delivery.formats.container import Container
from delivery.formats.embedding import embed, isrc_texts, notes, read_tags

__all__ = ["Container", "containers", "embed", "extension", "isrc_texts", "notes", "read_tags"]


def containers() -> dict[str, Container]:
    """Every container by id, sorted; the room is walked when this is first asked."""
    from delivery.formats import registry

    return registry.containers()


def extension(container_id: str) -> str:
    """The file name's ending, with the dot; of a container that is only read, such as 'w64', its own name."""
    from delivery.formats import registry

    return registry.extension(container_id)
