"""MD5 of every file of a spec, for `md5sum -c` in the files' own folder."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.model.part import Part
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack.layout import name_of
from delivery.pack.manifest import checksum_list
from delivery.pack.paper import Paper, shipped


def render(release: Release, spec: Spec, parts: Sequence[Part]) -> bytes:  # noqa: ARG001 - every paper takes the three
    """The list of *parts*, in the form of md5sum."""
    return checksum_list({name_of(file.path): file.md5 for _, file in shipped(parts)})


PAPER = Paper(
    id="checksums_md5",
    file_name="checksums.md5",
    sentence="an MD5 list of the files, checked with: md5sum -c checksums.md5",
    render=render,
)
