"""A package built in this process."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from delivery.pipeline import Options, build, resolve_request
from delivery.pipeline.run import Built


def made(release: Path, into: Path, **options: Any) -> Built:
    """Build *release* with these `Options`."""
    into.mkdir(exist_ok=True)
    return build(resolve_request(release), into, Options(**options))
