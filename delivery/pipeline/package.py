"""Papers, sheet, data, bag and archive of a build: everything besides the parts."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery import __version__
from delivery.audio.isolated import Died, isolated
from delivery.errors import Unfinished, Unusable
from delivery.meters import figures
from delivery.model.part import Delivery
from delivery.model.reference import ReferenceComparison
from delivery.model.release import Artwork, Release
from delivery.model.spec import Spec
from delivery.pack import cover, layout, seal
from delivery.pack.archive import write_zip
from delivery.pack.bag import write_bag
from delivery.pack.checksums import Checksums
from delivery.pack.manifest import bag_info
from delivery.pack.paper import CarrierPaper, Paper, carrier_papers, papers
from delivery.pack.swap import unfinished, whole_file_or_nothing
from delivery.pipeline.images import as_papers_see
from delivery.pipeline.needed_space import needing
from delivery.pipeline.occupied import archive_of
from delivery.report.registry import on_request, reports
from delivery.report.text import mail as mail_text
from delivery.report.view.make import view_of
from delivery.report.view.model import View
from delivery.report.view.reference_page import reference_page

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


def pictures(delivery: Delivery) -> dict[str, bytes]:
    """Spec id -> its cover, upright: in the size it requires, else the original; empty if there is none.

    Raises
    ------
    Unusable : no cover of acceptable quality is as small as a spec requires
    """
    if delivery.artwork is None:
        return {}
    original = delivery.artwork.path
    found = {}
    try:
        for spec in delivery.specs:
            if spec.cover is None:
                found[spec.id] = isolated(cover.embeddable, original)
            elif not cover.why_not(delivery.artwork, "", spec.cover):
                found[spec.id] = isolated(cover.made, original, spec.cover, spec.limit("artwork_max_bytes"))
    except Died as death:
        wanted, remedy = "a whole picture", "Copy or export it again."
        raise Unusable(original.name, f"a damaged picture: its decoder {death}", wanted, remedy) from death
    return found


def cover_remarks(specs: tuple[Spec, ...], artwork: Artwork | None, problem: str) -> tuple[str, ...]:
    """Remarks: the original is stored rotated; covers that cannot be made."""
    reasons = ((spec, cover.why_not(artwork, problem, spec.cover)) for spec in specs if spec.cover)
    missing = (f"{spec.title}: no cover is included; {why}." for spec, why in reasons if why)
    return (*filter(None, [cover.turned(artwork)]), *missing)


def prepare(delivery: Delivery) -> None:
    """Load and make what `write` needs and nothing changes any more: a third of a second while files are made."""
    from delivery.report.html.page import environment
    from delivery.report.pdf import carrier  # noqa: F401 - loaded for `write`
    from delivery.report.pictures import small

    reports()
    environment().get_template("sheet.html.j2")
    for picture in (delivery.studio.logo, delivery.artwork.path if delivery.artwork else None):
        small(picture)


def write(
    folder: Path,
    delivery: Delivery,
    page: str,
    covers: Mapping[str, bytes],
    form: str = "whole",
    beside: ReferenceComparison | None = None,
) -> None:
    """Write everything in the package except the parts and the bag's own files.

    Parameters
    ----------
    folder : the hidden folder; parts may still be on their way into it
    page : paper of the sheet, 'A4' or 'Letter'
    covers : as `pictures` gives them
    form : of the PDF sheet, 'whole' or 'summary'
    beside : the release and a reference playlist, for a page of the PDF sheet; None: no such page
    """
    from delivery.report.data import document as data_json
    from delivery.report.pdf import carrier

    delivery = replace(delivery, unnamed=())  # other files in the studio's folder are private
    view = replace(view_of(delivery, figures()), form=form, beside=reference_page(beside) if beside else None)
    sheets = [sheet for sheet in view.carriers if sheet.written]
    documents = {
        **_reports(delivery, view, page),
        **{layout.part(each.spec, each.file_name): carrier.render(view, each, page) for each in sheets},
        **_papers(delivery),
        **_requested(delivery, view, page),
        **_covers(delivery, covers),
    }
    recorded = {path: hashlib.sha256(document).hexdigest() for path, document in documents.items()}
    documents[layout.DATA_JSON] = data_json.render(view, recorded)
    for path, document in documents.items():
        file = layout.on_disk(folder, path)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(document)


def write_lists(folder: Path, delivery: Delivery) -> None:
    """Write the bag's own files: what the package contains, by checksum. Everything else is in the *folder*."""
    known = {
        file.path: Checksums(file.sha256, file.md5, file.size_bytes)
        for file in (*(part.shipped for part in delivery.parts), *(image.shipped for image in delivery.images))
        if file
    }
    write_bag(folder, bag_info(delivery.release, delivery.studio, __version__), known)


def stale_archive(target: Path) -> bool:
    """Remove the zip of the package that *target* has just replaced; True if there was one.

    It is removed before the new one is written, so that a failure cannot leave an archive of another package.

    Raises
    ------
    Unfinished : it cannot be removed
    """
    path = archive_of(target)
    if not path.is_file():
        return False
    try:
        path.unlink()
    except OSError as fault:
        raise unfinished(fault, path) from fault
    return True


def sealed(folder: Path, key: Ed25519PrivateKey | None) -> str:
    """Sign the tag manifest if there is a key; return the manifest's fingerprint either way."""
    manifest = layout.on_disk(folder, layout.tag_manifest("sha256")).read_bytes()
    if key is not None:
        layout.on_disk(folder, layout.SEAL).write_bytes(seal.signed(manifest, key))
    return seal.fingerprint(manifest)


def mail_beside(target: Path, fingerprint: str) -> Path:
    """Write the mail text beside the package, with its fingerprint; an older one is replaced.

    Raises
    ------
    Unfinished : it cannot be written; the message states that the package itself is complete
    """
    path = target.with_name(layout.mail_name(target.name))
    try:
        text = layout.on_disk(target, layout.MAIL_TEXT).read_bytes()
        with whole_file_or_nothing(path, replace=True) as hidden:
            hidden.write_bytes(text + mail_text.with_fingerprint(fingerprint))
    except OSError as fault:
        raise _package_complete(unfinished(fault, path)) from fault
    except Unusable as fault:
        raise _package_complete(fault) from fault
    return path


def _package_complete(fault: Unusable) -> Unfinished:
    """The error for a *fault* that concerns only a file beside the complete package."""
    remedy = "The package is complete and in its place; only this file beside it is missing."
    return Unfinished(fault.place, fault.found, fault.wanted, f"{remedy} Then build with --replace.")


def archive(target: Path, release: Release) -> Path:
    """Write the package as one zip file beside it.

    Raises
    ------
    Unfinished : it cannot be written; the message states that the package itself is complete
    """
    path = archive_of(target)
    try:
        with needing(sum(file.stat().st_size for file in target.rglob("*")), target.parent, "the zip"):
            write_zip(target, path, dated=release.dated)
    except Unusable as fault:
        raise _package_complete(fault) from fault
    return path


def _papers(delivery: Delivery) -> dict[str, bytes]:
    return {
        layout.part(spec.id, name): document
        for spec in delivery.specs
        if any(part.shipped or part.inside for part in delivery.of_spec(spec.id))
        for paper in _papers_of(spec)
        for name, document in _rendered(paper, delivery.for_spec(spec.id), spec).items()
    }


def _reports(delivery: Delivery, view: View, page: str) -> dict[str, bytes]:
    """The reports that every package carries; for a spec with a sheet of its own, some of them about it alone."""
    always = [report for report in reports().values() if not report.on_request]
    apart = [spec for spec in delivery.specs if spec.own_sheet]
    common = view
    if apart:
        common = replace(view_of(_without(delivery, apart), figures()), form=view.form, beside=view.beside)
    made = {
        layout.of_release(report.file_name): report.render(common if report.own else view, page) for report in always
    }
    for spec in apart:
        seen = replace(view_of(delivery.for_spec(spec.id).only([spec.id]), figures()), form=view.form)
        made |= {layout.part(spec.id, report.file_name): report.render(seen, page) for report in always if report.own}
    return made


def _without(delivery: Delivery, apart: Sequence[Spec]) -> Delivery:
    """The delivery without these specs; a remark names the folder of each one's sheet."""
    rest = [spec.id for spec in delivery.specs if spec not in apart]
    sentences = tuple(f"{spec.title}: its delivery sheet is in {layout.spec_folder(spec.id)}." for spec in apart)
    shown = delivery.only(rest)
    return replace(shown, remarks=(*shown.remarks, *sentences))


def _requested(delivery: Delivery, view: View, page: str) -> dict[str, bytes]:
    """Reports on request: of the release for the whole package, of a spec beside its files."""
    known = on_request()
    made = {
        layout.of_release(report.file_name): report.render(view, page)
        for report in (known[name] for name in delivery.release.papers)
    }
    for spec in delivery.specs:
        required = [known[name] for name in spec.papers if name in known]
        if required and any(part.shipped or part.inside for part in delivery.of_spec(spec.id)):
            own = delivery.for_spec(spec.id)
            seen = view if own is delivery else view_of(own, figures())
            made |= {layout.part(spec.id, report.file_name): report.render(seen, page) for report in required}
    return made


def _rendered(paper: Paper | CarrierPaper, delivery: Delivery, spec: Spec) -> Mapping[str, bytes]:
    if isinstance(paper, CarrierPaper):
        return paper.render(delivery, spec)
    parts = as_papers_see(delivery.of_spec(spec.id), delivery.images_of(spec.id))
    return {paper.file_name: paper.render(delivery.release, spec, parts)}


def _covers(delivery: Delivery, covers: Mapping[str, bytes]) -> dict[str, bytes]:
    return {
        layout.part(spec.id, cover.file_name(spec.cover)): covers[spec.id]
        for spec in delivery.specs
        if spec.cover and spec.id in covers and any(part.shipped for part in delivery.of_spec(spec.id))
    }


def _papers_of(spec: Spec) -> list[Paper | CarrierPaper]:
    known: dict[str, Paper | CarrierPaper] = {**papers(), **carrier_papers()}
    required = [name for name in spec.papers if name not in on_request()]
    for name in required:
        if name not in known:
            wanted = f"one of {', '.join((*known, *on_request()))}"
            raise Unusable(spec.id, f"the paper {name!r}", wanted, "Correct it in the spec.")
    return [known[name] for name in required]
