"""Sentences about changes of texts in a file name, and whether the name reads back as the file. Pure."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping

from delivery.model.ascii_text import has_unread
from delivery.model.release import Release
from delivery.pack.characters import cleaned, in_ascii, no_device
from delivery.pack.names import LONGEST_BYTES, MAX_BYTES, file_name, folder_name, title_in_name
from delivery.pack.names_back import disagreements, read_back
from delivery.pack.template import template_fields

UNREAD = ", because the reading of its characters is not known"
"""Of Han characters in names that must be ASCII."""
FREE = ("title", "version", "artist", "release", "catalogue")


def name_changes(
    template: str, fields: Mapping[str, object], name: str, extension: str, *, max_bytes: int, ascii_only: bool
) -> tuple[str, ...]:
    """One sentence for each text that *name*, made by *template* from *fields*, does not contain as supplied.

    Parameters
    ----------
    name : with its extension, as `distinct` gave it
    max_bytes, ascii_only : as set in the spec
    """
    whole = file_name(template, fields, extension, max_bytes=LONGEST_BYTES, ascii_only=ascii_only)
    fitted = file_name(template, fields, extension, max_bytes=max_bytes, ascii_only=ascii_only)
    changes = list(_respelled(template, fields, ascii_only))
    changes += _ends(template, fields, whole.removesuffix(extension), ascii_only)
    if fitted != whole:
        changes.append(f"shortened to {max_bytes} bytes from {whole!r}")
    if name != fitted:
        changes.append(f"numbered, for another file is called {fitted!r}")
    return tuple(changes)


def folder_name_changes(release: Release) -> tuple[str, ...]:
    """One sentence for each text that the package's folder name does not contain as supplied."""
    texts = (release.catalogue_number, release.title, release.version)
    changes = [sentence for text in texts if (sentence := _written(text, ascii_only=False))]
    name = folder_name(release)
    if not changes and any(cleaned(text).strip() not in name for text in texts):
        changes.append(f"shortened to {MAX_BYTES} bytes, or to what a name may begin or end with: {name!r}")
    return tuple(changes)


def read_wrong(template: str, fields: Mapping[str, object], name: str, extension: str) -> tuple[str, ...]:
    """Rate, bit depth and version in the name, read back by its template, that differ from the file.

    The boundary of adjacent free texts is unknown, so the version's letters must merely appear in sequence.
    """
    rate_hz, bits = round(float(str(fields["rate"])) * 1000), fields.get("bits")
    stem = name.removesuffix(extension)
    changes = disagreements(template, stem, rate_hz, bits if isinstance(bits, int) else None)
    version = str(fields.get("version", "")) if "version" in template_fields(template) else ""
    if not any(_letters(form) in _letters(stem) for form in (version, in_ascii(version))):
        found = (read_back(template, stem) or {}).get("version", "")
        changes = (*changes, f"the name says version {found!r}, the label copy {version!r}")
    return changes


def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, cleaned(text).casefold()))


def _respelled(template: str, fields: Mapping[str, object], ascii_only: bool) -> Iterator[str]:
    for field in dict.fromkeys(template_fields(template)):
        text = str(fields.get(field, ""))
        other = title_in_name(template, fields, ascii_only=ascii_only) if field == "title" else text
        if field in FREE and (changes := _written(text, ascii_only=ascii_only, instead=other if other != text else "")):
            yield changes


def _written(supplied: str, *, ascii_only: bool, instead: str = "") -> str:
    """A sentence if a text is not written as supplied; *instead*: what replaces it."""
    text = unicodedata.normalize("NFC", supplied)
    written = instead or cleaned(text, ascii_only=ascii_only).strip()
    if text.strip() == written:
        return ""
    changed = f"is written {written!r}" if written else "is left out"
    return f"{text!r} {changed}{UNREAD if ascii_only and has_unread(text) else ''}"


def _ends(template: str, fields: Mapping[str, object], stem: str, ascii_only: bool) -> Iterator[str]:
    """Sentences about characters that a name may not begin or end with, and about device names of Windows."""
    for field in dict.fromkeys(template_fields(template)):
        written = cleaned(str(fields.get(field, "")), ascii_only=ascii_only).strip() if field in FREE else ""
        if written not in stem and len(stem.encode("utf-8")) + 8 < LONGEST_BYTES:
            yield f"{written!r} becomes {stem!r}: a name may not begin or end so"
    bare = stem.replace("_", "", 1)
    if bare != stem and no_device(bare) == stem:
        yield f"{bare!r} is written {stem!r}: it is not allowed on Windows"
