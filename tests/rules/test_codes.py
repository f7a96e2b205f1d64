"""Remarks on odd codes without a requirement: they are passed on unchanged, and reported once."""

from __future__ import annotations

import pytest

from delivery.rules.codes import catalogue_remarks, doubtful, unrequired_remarks
from tests.rules.case_files import release_of

ODD = {
    "identities": [{"name": "Ilse Merrow", "isni": "0000000122819551"}],
    "tracks": [
        {"title": "a", "isrc": "ZZOSL2600001", "iswc": "T0345246801"},
        {"title": "b", "isrc": "ZZOSL26", "iswc": "T0345246802", "writers": [{"name": "A B", "ipi": "00014107339"}]},
        {"title": "c", "writers": [{"name": "C D"}, {"name": "E F", "ipi": "00014107338"}]},
    ],
    "lines": {
        "isni/0/code": 3,
        "tracks/0/iswc": 8,
        "tracks/1/isrc": 11,
        "tracks/1/iswc": 12,
        "tracks/1/writers/0/ipi": 13,
    },
}
"""One code of each kind that is wrong, and one of each that is right. T-034.524.680-1 is the example of ISO 15707."""
ISNI = "release.yaml:3: ISNI 0000 0001 2281 9551 of Ilse Merrow is passed on unchanged; the check digit would be X."
ISWC = "release.yaml:12: ISWC T-034.524.680-2 of track 2 is passed on unchanged; the check digit would be 1."
IPI = (
    "release.yaml:13: IPI name number 00014107339 of A B on track 2 is passed on unchanged; "
    "the check digit would be 38."
)
ISRC = (
    "release.yaml:11: ISRC ZZOSL26 of track 2 is passed on unchanged; "
    "it has 7 characters, where the code has 2 letters, 3 letters or digits, 7 digits."
)


@pytest.mark.parametrize(
    ("required", "remarks"),
    [
        ((), (ISNI, ISWC, IPI, ISRC)),
        (("check_digits",), (ISRC,)),
        (("isrc_form",), (ISNI, ISWC, IPI)),
        (("isrc_form", "check_digits"), ()),
    ],
)
def test_a_requirement_takes_its_own_codes_out_of_the_remarks(
    required: tuple[str, ...], remarks: tuple[str, ...]
) -> None:
    assert unrequired_remarks(release_of(ODD), required) == remarks


def test_a_release_without_odd_codes_has_no_remarks() -> None:
    right = release_of({"tracks": [{"title": "a", "isrc": "ZZOSL2600001", "iswc": "T0345246801"}, {"title": "b"}]})
    assert list(doubtful(right)) == []
    assert unrequired_remarks(right, ()) == ()


@pytest.mark.parametrize(
    ("number", "patterns", "usual"),
    [
        ("OSL-14", ("OSL-###",), "OSL-###: 6 characters, not 7"),
        ("OSL-O14", ("OSL-###",), "OSL-###: character 5 is 'O', not a digit"),
        ("OSL-14", ("OSL-###", "OSLCD ##"), "OSL-### or OSLCD ##"),
        ("OSL-014", ("OSL-###",), ""),
        ("OSL-014", ("OSLCD ##", "OSL-###"), ""),
        ("", ("OSL-###",), ""),
        ("OSL-14", (), ""),
    ],
)
def test_a_catalogue_number_unlike_the_labels_others(number: str, patterns: tuple[str, ...], usual: str) -> None:
    """The difference is named where there is one pattern to compare with."""
    release = release_of({"catalogue_number": number, "label": "Ostrelune Records", "lines": {"catalogue_number": 5}})
    expected = f"release.yaml:5: catalogue number {number} does not match the pattern of Ostrelune Records ({usual})."
    assert catalogue_remarks(release, patterns) == ((expected,) if usual else ())
