"""Edit a release file from a page: cells, order, specs, cover. It is written only if it is what the page shows."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Occupied, Unfinished, Unusable
from delivery.intake import write_text
from delivery.intake.release.file import release_of
from delivery.intake.sheet.editing import EDITABLE as EDITABLE
from delivery.intake.sheet.editing import Cells, CellText, Refusal, with_cells, with_key, with_order
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import document_of, text_of
from delivery.regular import read_regular
from delivery.report.view.label_copy import LabelCopy
from delivery.tasks.write import write_bytes

__all__ = [
    "EDITABLE",
    "CellText",
    "Changed",
    "Edited",
    "Refusal",
    "by_task",
    "digest_of",
    "put_back",
    "set_cells",
    "set_cover",
    "set_order",
    "set_specs",
]

MOST_BYTES = 64 * 2**20
BOM = b"\xef\xbb\xbf"
ENDINGS = {"jpeg": ".jpg", "png": ".png", "tiff": ".tif", "webp": ".webp"}


@dataclass(frozen=True, slots=True)
class Edited:
    """Result of an edit of a release file."""

    before: bytes
    """The whole file as it was, for undo."""
    digest: str
    """SHA-256 of the file as it is now."""
    refused: tuple[Refusal, ...] = ()


class Changed(Unusable):
    """The release file was changed by another program since the page was made."""


def digest_of(release_file: Path) -> str:
    """SHA-256 of the file's bytes. Raises Unfinished if it cannot be read."""
    return hashlib.sha256(_bytes_of(release_file)).hexdigest()


def set_cells(release_file: Path, digest: str, exported: LabelCopy, typed: Sequence[CellText]) -> Edited:
    """Write the *typed* cells; each that cannot be taken is refused with its reason, and the others are written.

    Parameters
    ----------
    digest : of the file from which *exported* was made

    Raises
    ------
    Changed : the file is another one now; nothing is written
    Unusable, Faulty, Unfinished : it cannot be edited or written; nothing is changed
    """
    refused: tuple[Refusal, ...] = ()
    cells = Cells(exported.release, exported.columns, exported.rows)

    def edit(text: str) -> str:
        nonlocal refused
        check = lambda changed: release_of(document_of(changed, release_file.name), release_file)  # noqa: E731
        text, refused = with_cells(text, release_file.name, cells, typed, check)
        return text

    edited = _edit(release_file, digest, edit)
    return Edited(edited.before, edited.digest, refused)


def set_order(release_file: Path, digest: str, order: Sequence[int]) -> Edited:
    """Write the tracks in a new order, given by their present positions. Raises as `set_cells`."""
    try:
        return _edit(release_file, digest, lambda text: with_order(text, release_file.name, order))
    except ValueError as error:
        raise Unusable(release_file.name, "an order of other tracks", "every track once", "Reload the page.") from error


def set_specs(release_file: Path, digest: str, names: Sequence[str]) -> Edited:
    """Write the specs to deliver to. Raises as `set_cells`."""
    return _edit(
        release_file, digest, lambda text: with_key(text, release_file.name, "deliver_to", list(names) or None)
    )


def set_cover(release_file: Path, digest: str, picture: bytes) -> Edited:
    """Write *picture* beside the release file, under a name that does not exist yet, and name it as the artwork.

    Raises
    ------
    Unusable : not a picture
    Changed, Faulty, Unfinished : as `set_cells`; the picture is then not kept
    """
    from delivery.intake import look_at_artwork

    _refuse_changed(release_file, digest)
    draft = release_file.with_name(".cover.new")
    write_bytes(draft, picture)
    try:
        kind = look_at_artwork(draft).kind
        target = _free_name(release_file.parent, ENDINGS.get(kind, f".{kind}"))
        draft.rename(target)
    finally:
        draft.unlink(missing_ok=True)
    try:
        return _edit(release_file, digest, lambda text: with_key(text, release_file.name, "artwork", target.name))
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def put_back(release_file: Path, digest: str, earlier: bytes) -> Edited:
    """Undo: write an *earlier* state of the file. Raises as `set_cells`."""
    before = _refuse_changed(release_file, digest)
    write_text(release_file, earlier.decode("utf-8"))
    return Edited(before, hashlib.sha256(earlier).hexdigest())


def _edit(release_file: Path, digest: str, edit: Callable[[str], str]) -> Edited:
    before = _refuse_changed(release_file, digest)
    text = current(text_of(release_file)).text
    changed = edit(text)
    release_of(document_of(changed, release_file.name), release_file)
    mark = "\ufeff" if before.startswith(BOM) else ""
    if changed != text:
        _refuse_changed(release_file, digest)
        write_text(release_file, mark + changed)
    return Edited(before, digest_of(release_file))


def _refuse_changed(release_file: Path, digest: str) -> bytes:
    """The file's bytes.

    Raises
    ------
    Changed : they are not those of *digest*
    """
    content = _bytes_of(release_file)
    if hashlib.sha256(content).hexdigest() != digest:
        found = "a change made by another program since this page was loaded"
        raise Changed(release_file.name, found, "the file that is shown", "Nothing was written. Look at it again.")
    return content


def _bytes_of(path: Path) -> bytes:
    try:
        return read_regular(path, MOST_BYTES)
    except OSError as error:
        found = f"no way to read it ({error.strerror or type(error).__name__})"
        raise Unfinished(str(path), found, "a release file", "Check the path and its permissions.") from error


def _free_name(folder: Path, ending: str) -> Path:
    for number in range(1, 1000):
        path = folder / f"cover{'' if number == 1 else f'-{number}'}{ending}"
        if not path.exists():
            return path
    raise Occupied(str(folder), "a thousand covers", "a path that does not exist yet", "Delete some of them.")


def by_task(release_file: Path, digest: str, write: Callable[[], object]) -> Edited:
    """A change that another task writes, such as a waiver. Raises Changed as `set_cells`, and what *write* raises."""
    before = _refuse_changed(release_file, digest)
    write()
    return Edited(before, digest_of(release_file))
