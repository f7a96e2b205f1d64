"""Text files become data: release files, spec files, studio files, artwork. Errors carry file and line.

The public names are in the table below; a module is imported when one of its names is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.intake.artwork import look_at_artwork as look_at_artwork
    from delivery.intake.begin.first_file import first_release_file as first_release_file
    from delivery.intake.begin.single import single_release_file as single_release_file
    from delivery.intake.release.confirm import confirm_values as confirm_values
    from delivery.intake.release.edit import add_acceptance as add_acceptance
    from delivery.intake.release.edit import add_waiver as add_waiver
    from delivery.intake.release.file import load_release as load_release
    from delivery.intake.shipped_files import shipped as shipped
    from delivery.intake.spec.file import is_stale as is_stale
    from delivery.intake.spec.file import load_spec as load_spec
    from delivery.intake.spec.file import load_specs as load_specs
    from delivery.intake.spec.file import named_from as named_from
    from delivery.intake.spec.file import spec_names as spec_names
    from delivery.intake.spec.file import spec_stamps as spec_stamps
    from delivery.intake.studio.accepted_spellings import accept_titles as accept_titles
    from delivery.intake.studio.file import load_studio as load_studio
    from delivery.intake.text_files import write_text as write_text
    from delivery.intake.yaml.migrate import migrate_file as migrate_file

HOMES = {
    "accept_titles": "studio.accepted_spellings",
    "add_acceptance": "release.edit",
    "add_waiver": "release.edit",
    "confirm_values": "release.confirm",
    "first_release_file": "begin.first_file",
    "is_stale": "spec.file",
    "load_release": "release.file",
    "load_spec": "spec.file",
    "load_specs": "spec.file",
    "load_studio": "studio.file",
    "look_at_artwork": "artwork",
    "migrate_file": "yaml.migrate",
    "named_from": "spec.file",
    "shipped": "shipped_files",
    "single_release_file": "begin.single",
    "spec_names": "spec.file",
    "spec_stamps": "spec.file",
    "write_text": "text_files",
}


def __getattr__(name: str) -> Any:
    if name not in HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{HOMES[name]}"), name)
