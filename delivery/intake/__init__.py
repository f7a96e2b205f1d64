"""Text becomes nouns: release files, spec files, studio files, artwork. Errors carry file and line.

What others may call stands in the table below; a module is imported when one of its names is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.intake.accepted import accept_titles as accept_titles
    from delivery.intake.artwork import look_at_artwork as look_at_artwork
    from delivery.intake.confirm import confirm_values as confirm_values
    from delivery.intake.edit import add_acceptance as add_acceptance
    from delivery.intake.edit import add_waiver as add_waiver
    from delivery.intake.migrate import migrate_file as migrate_file
    from delivery.intake.release_file import load_release as load_release
    from delivery.intake.shipped_files import shipped as shipped
    from delivery.intake.single import single_release_file as single_release_file
    from delivery.intake.spec_file import is_stale as is_stale
    from delivery.intake.spec_file import load_spec as load_spec
    from delivery.intake.spec_file import load_specs as load_specs
    from delivery.intake.spec_file import spec_names as spec_names
    from delivery.intake.start import first_release_file as first_release_file
    from delivery.intake.studio_file import load_studio as load_studio
    from delivery.intake.write import write_text as write_text

HOMES = {
    "accept_titles": "accepted",
    "add_acceptance": "edit",
    "add_waiver": "edit",
    "confirm_values": "confirm",
    "first_release_file": "start",
    "is_stale": "spec_file",
    "load_release": "release_file",
    "load_spec": "spec_file",
    "load_specs": "spec_file",
    "load_studio": "studio_file",
    "look_at_artwork": "artwork",
    "migrate_file": "migrate",
    "shipped": "shipped_files",
    "single_release_file": "single",
    "spec_names": "spec_file",
    "write_text": "write",
}


def __getattr__(name: str) -> Any:
    if name not in HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{HOMES[name]}"), name)
