"""Names before anything is built: what each master is called now, and what its files will be called."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.compare.names_said import names_said
from delivery.formats import extension
from delivery.model.named import Named
from delivery.model.part import Delivery, Image, Part, Source
from delivery.model.spec import Spec
from delivery.pack.names import MAX_BYTES, fields_of, fields_of_part
from delivery.pack.names_told import on_the_way, read_wrong


def names_of(checked: Delivery) -> tuple[Named, ...]:
    """Every name that a build of *checked* will give, in the order of specs and tracks."""
    return tuple(named for spec in checked.specs for named in _of_spec(checked, spec))


def _of_spec(checked: Delivery, spec: Spec) -> Iterator[Named]:
    if spec.carrier:
        yield from (_side(checked, spec, image) for image in checked.images_of(spec.id))
        return
    own = checked.for_spec(spec.id)
    yield from (_track(own, spec, part, own.source(part.track)) for part in own.of_spec(spec.id))


def _track(checked: Delivery, spec: Spec, part: Part, source: Source) -> Named:
    what, now = str(part.track), source.track.file.name
    if part.chain is None:
        return Named(spec.id, what, now, "", wrong=(part.problem,))
    fields = fields_of(checked.release, source.track, part.chain.target, spec.id)
    ending = extension(part.chain.target.container)
    remarks = _remarks(spec, fields, part.name, ending)
    cut = any(remark.startswith("shortened") for remark in remarks)
    wrong = () if cut else read_wrong(spec.name_template, fields, part.name, ending)
    return Named(spec.id, what, now, part.name, (*remarks, *names_said([source])), wrong)


def _side(checked: Delivery, spec: Spec, image: Image) -> Named:
    fields = fields_of_part(checked.release, image.programme, image.target, spec.id)
    return Named(spec.id, image.programme.name, "", image.name, _remarks(spec, fields, image.name, ".wav"))


def _remarks(spec: Spec, fields: Mapping[str, object], name: str, ending: str) -> tuple[str, ...]:
    most_bytes, ascii_only = spec.limit("name_max_bytes") or MAX_BYTES, bool(spec.limit("name_ascii"))
    return on_the_way(spec.name_template, fields, name, ending, max_bytes=most_bytes, ascii_only=ascii_only)
