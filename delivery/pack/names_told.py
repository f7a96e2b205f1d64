"""What becomes of texts on their way into a file name, in words, and whether the name reads back as the file. Pure."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping

from delivery.pack.characters import cleaned, in_ascii
from delivery.pack.names import LONGEST_BYTES, file_name
from delivery.pack.names_back import disagreements, read_back
from delivery.pack.template import template_fields

FREE = ("title", "version", "artist", "release", "catalogue")


def on_the_way(
    template: str, fields: Mapping[str, object], name: str, extension: str, *, max_bytes: int, ascii_only: bool
) -> tuple[str, ...]:
    """One sentence for each thing that *name*, made by *template* from *fields*, does not say as it was supplied.

    Parameters
    ----------
    name : with its extension, as `distinct` gave it
    max_bytes, ascii_only : as the spec has them
    """
    whole = file_name(template, fields, extension, max_bytes=LONGEST_BYTES, ascii_only=ascii_only)
    fitted = file_name(template, fields, extension, max_bytes=max_bytes, ascii_only=ascii_only)
    told = list(_respelled(template, fields, ascii_only))
    if fitted != whole:
        told.append(f"shortened to {max_bytes} bytes from {whole!r}")
    if name != fitted:
        told.append(f"numbered, for another file is called {fitted!r}")
    return tuple(told)


def read_wrong(template: str, fields: Mapping[str, object], name: str, extension: str) -> tuple[str, ...]:
    """What the name, read back by its own template, says of rate, word length and version and the file is not.

    Where free texts stand side by side nobody can tell where one ends; the version's letters must be there, in a row.
    """
    rate_hz, bits = round(float(str(fields["rate"])) * 1000), fields.get("bits")
    stem = name.removesuffix(extension)
    told = disagreements(template, stem, rate_hz, bits if isinstance(bits, int) else None)
    version = str(fields.get("version", "")) if "version" in template_fields(template) else ""
    if not any(_letters(form) in _letters(stem) for form in (version, in_ascii(version))):
        found = (read_back(template, stem) or {}).get("version", "")
        told = (*told, f"the name says version {found!r}, the label copy {version!r}")
    return told


def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, cleaned(text).casefold()))


def _respelled(template: str, fields: Mapping[str, object], ascii_only: bool) -> Iterator[str]:
    for field in dict.fromkeys(template_fields(template)):
        text = unicodedata.normalize("NFC", str(fields.get(field, ""))) if field in FREE else ""
        written = cleaned(text, ascii_only=ascii_only).strip()
        if text.strip() != written:
            yield f"{text!r} is written {written!r}"
