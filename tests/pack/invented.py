"""An invented release, and a package made from it, for the tests of this folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from delivery.model.chain import Target
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Part, Shipped, TagReport
from delivery.model.release import Credit, Release, Studio, Track
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pack.bag import bag_info, write_bag
from delivery.pack.checksums import checksums
from delivery.pack.names import fields_of, file_name

SPEC = Spec(id="cd-rate-16", title="CD rate, 16 bit", about="", checked=date(2026, 1, 2), requirements=())
STUDIO = Studio(engineer="Ode Marrable", name="Slack Water Mastering")
PCM = Target("wav", "pcm", 44_100, 2, 16)

TITLES = ("Slack Water", "Número de Ébano", "灯台", "50 % Neap")


def track(position: int, title: str, **more: object) -> Track:
    values = {"number": position, "isrc": f"ZZOSL26{position:05}", **more}
    return Track(position=position, file=Path(f"{position}.wav"), title=title, **values)  # type: ignore[arg-type]


RELEASE = Release(
    path=Path("release.yaml"),
    title="Harbour Arithmetic",
    artist="Merrow & the Glass Tide",
    tracks=tuple(track(n, title) for n, title in enumerate(TITLES, start=1)),
    label="Ostrelune Records",
    catalogue_number="OSL-014",
    upc="2000000140019",
)

GUEST = Credit("Ines Quarrel")


def shipped_part(position: int, file: Path, path: str, duration_s: float) -> Part:
    sums = checksums(file)
    measurement = Measurement({"duration_s": Reading(duration_s)})
    shipped = Shipped(path, sums.size_bytes, sums.sha256, sums.md5, measurement, TagReport({}))
    return Part(SPEC.id, position, None, (), file.name, shipped)


def fill(package: Path, salt: bytes = b"") -> tuple[Part, ...]:
    """Invented payload below data/: one file for each track, and a sheet."""
    parts = []
    for t in RELEASE.tracks:
        path = layout.part(SPEC.id, file_name("{disc_track} {title}", fields_of(RELEASE, t, PCM, SPEC.id), ".wav"))
        file = layout.on_disk(package, path)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(salt + t.title.encode("utf-8") * 1000 * t.position)
        parts.append(shipped_part(t.position, file, path, 61.4 * t.position))
    layout.on_disk(package, layout.SHEET_PDF).write_bytes(salt + b"a sheet")
    return tuple(parts)


def make_bag(package: Path, salt: bytes = b"") -> Path:
    package.mkdir(exist_ok=True)
    fill(package, salt)
    write_bag(package, bag_info(RELEASE, STUDIO, "0.1.0"))
    return package


def tree(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, to compare: path -> bytes."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
