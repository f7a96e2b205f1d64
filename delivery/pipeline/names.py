"""Names before a build: what each master is called, and what its files will be called."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from delivery.compare.name_claims import wrong_claims
from delivery.formats import extension
from delivery.model.file_name import FileName
from delivery.model.part import Delivery, Image, Part, Source
from delivery.model.spec import Spec
from delivery.pack.name_changes import folder_name_changes, name_changes, read_wrong
from delivery.pack.names import MAX_BYTES, fields_of, fields_of_part
from delivery.report.view import words


def names_of(checked: Delivery) -> tuple[FileName, ...]:
    """Every name that a build of *checked* gives, in the order of specs and tracks."""
    return tuple(named for spec in checked.specs for named in _of_spec(checked, spec))


def altered(checked: Delivery) -> tuple[str, ...]:
    """A sentence for each change between the supplied and the written names of files and of the package's folder."""
    found: dict[str, dict[str, list[str]]] = {}
    for spec in checked.specs:
        for what, change in _altered(checked, spec):
            found.setdefault(change, {}).setdefault(what, []).append(spec.title)
    folder = (f"Name of the package's folder: {change}." for change in folder_name_changes(checked.release))
    return (*folder, *(_sentence(change, where, len(checked.specs)) for change, where in found.items()))


def _altered(checked: Delivery, spec: Spec) -> Iterator[tuple[str, str]]:
    own = checked.for_spec(spec.id)
    numbers = words.numbers(checked.release)
    for part in own.of_spec(spec.id) if spec.carrier is None else ():
        if part.chain:
            fields = fields_of(own.release, own.source(part.track).track, part.chain.target, spec.id)
            for change in _remarks(spec, fields, part.name, extension(part.chain.target.container)):
                yield f"track {numbers[part.track]}", change
    for image in own.images_of(spec.id):
        fields = fields_of_part(own.release, image.programme, image.target, spec.id)
        for change in _remarks(spec, fields, image.name, ".wav"):
            yield image.programme.name, change


def _sentence(change: str, where: Mapping[str, list[str]], specs: int) -> str:
    """'File names of track 3 and side A: 'AC/DC' is written 'AC-DC' (Store master).'; the specs unless all agree."""
    titles = list(dict.fromkeys(title for each in where.values() for title in each))
    of = f" ({words.listed(titles)})" if len(titles) < specs else ""
    files = sum(map(len, where.values()))
    return f"{'File name' if files == 1 else 'File names'} of {words.listed(_together(where))}: {change}{of}."


def _together(where: Iterable[str]) -> Iterator[str]:
    """'tracks 1 to 12', then sides and discs."""
    places = list(where)
    tracks = [place.removeprefix("track ") for place in places if place.startswith("track ")]
    if tracks:
        yield f"track{'s' if len(tracks) > 1 else ''} {words.runs(tracks)}"
    yield from (place for place in places if not place.startswith("track "))


def _of_spec(checked: Delivery, spec: Spec) -> Iterator[FileName]:
    if spec.carrier:
        yield from (_side(checked, spec, image) for image in checked.images_of(spec.id))
        return
    own = checked.for_spec(spec.id)
    yield from (_track(own, spec, part, own.source(part.track)) for part in own.of_spec(spec.id))


def _track(checked: Delivery, spec: Spec, part: Part, source: Source) -> FileName:
    what, now = str(part.track), source.track.file.name
    if part.chain is None:
        return FileName(spec.id, what, now, "", wrong=(part.problem,))
    fields = fields_of(checked.release, source.track, part.chain.target, spec.id)
    ending = extension(part.chain.target.container)
    remarks = _remarks(spec, fields, part.name, ending)
    cut = any(remark.startswith("shortened") for remark in remarks)
    wrong = () if cut else read_wrong(spec.name_template, fields, part.name, ending)
    return FileName(spec.id, what, now, part.name, (*remarks, *wrong_claims([source])), wrong)


def _side(checked: Delivery, spec: Spec, image: Image) -> FileName:
    fields = fields_of_part(checked.release, image.programme, image.target, spec.id)
    return FileName(spec.id, image.programme.name, "", image.name, _remarks(spec, fields, image.name, ".wav"))


def _remarks(spec: Spec, fields: Mapping[str, object], name: str, ending: str) -> tuple[str, ...]:
    most_bytes, ascii_only = spec.limit("name_max_bytes") or MAX_BYTES, bool(spec.limit("name_ascii"))
    return name_changes(spec.name_template, fields, name, ending, max_bytes=most_bytes, ascii_only=ascii_only)
