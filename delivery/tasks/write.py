"""Write a file whole or not at all. A module of its own: those who only write load nothing else."""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unfinished


def write_bytes(path: Path, content: bytes) -> None:
    """Write *content* atomically. Raises Unfinished if it cannot be written; nothing is changed then."""
    hidden = path.with_name(f".{path.name[:40]}.new")
    try:
        hidden.write_bytes(content)
        hidden.replace(path)
    except OSError as error:
        from delivery.disk import no_space

        full = no_space(error, path, len(content))
        hidden.unlink(missing_ok=True)
        if full:
            raise full from error
        reason = error.strerror or type(error).__name__
        raise Unfinished(
            str(path), f"no way to write it ({reason})", "a folder with room", "Nothing was changed."
        ) from error
