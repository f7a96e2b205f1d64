"""The recording code in broadcast wave: EBU Tech 3352 (2012) content in the ``axml`` chunk of Tech 3285 s5."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from delivery.tags.axml import isrc_of, storable, with_isrc

CORE = "{urn:ebu:metadata-schema:ebuCore_2012}"
DC = "{http://purl.org/dc/elements/1.1/}"


def test_the_structure_of_tech_3352() -> None:
    """Read by the standard library's parser: element path, attributes, and the literal ``ISRC:`` before the code."""
    body = with_isrc(b"", "ZZOSL2600003")
    assert body is not None
    assert len(body) % 2 == 0
    root = ElementTree.fromstring(body)
    assert root.tag == CORE + "ebuCoreMain"
    outer = root.find(f"{CORE}coreMetadata/{CORE}identifier")
    assert outer is not None
    assert outer.attrib == {
        "typeLabel": "GUID",
        "typeDefinition": "Globally Unique Identifier",
        "formatLabel": "ISRC",
        "formatDefinition": "International Standard Recording Code",
        "formatLink": "http://www.ebu.ch/metadata/cs/ebu_IdentifierTypeCodeCS.xml#3.7",
    }
    assert [element.text for element in outer] == ["ISRC:ZZOSL2600003"]
    assert outer[0].tag == DC + "identifier"


PLAIN = '<a:ebuCoreMain xmlns:a="urn:x"><a:coreMetadata>{}</a:coreMetadata></a:ebuCoreMain>'
# Forms seen in the wild (collected by reading independent writers' output; see the dialects named in each row)
FORMS = [
    '<identifier formatLabel="ISRC"><identifier>ISRC:ZZOSL2600003</identifier></identifier>',
    '<a:identifier formatLabel="ISRC"><b:identifier xmlns:b="urn:b">ZZ-OSL-26-00003</b:identifier></a:identifier>',
    '<a:identifier typeLabel="ISRC"><a:identifier> isrc:zzosl2600003\n</a:identifier></a:identifier>',
    "<a:identifier formatLabel='isrc'><a:x/><a:identifier>ISRC ZZ-OSL-26-00003</a:identifier></a:identifier>",
]


@pytest.mark.parametrize("inner", FORMS)
@pytest.mark.parametrize("head", ["", '<?xml version="1.0" encoding="UTF-8"?>\n', "\ufeff"])
@pytest.mark.parametrize("tail", ["", "\0", "\0" * 100, "\n\0"])
def test_every_dialect_is_read(inner: str, head: str, tail: str) -> None:
    body = (head + PLAIN.format(inner) + tail).encode()
    assert isrc_of(body) == "ZZOSL2600003"
    changed = with_isrc(body, "ZZOSL2600009")
    assert changed is not None
    assert isrc_of(changed) == "ZZOSL2600009"


def test_utf_16_is_read() -> None:
    body = ('<?xml version="1.0" encoding="UTF-16"?>' + PLAIN.format(FORMS[0])).encode("utf-16")
    assert isrc_of(body) == "ZZOSL2600003"


@pytest.mark.parametrize(
    "body",
    [
        PLAIN.format("<a:audioFormatExtended><a:audioObject/></a:audioFormatExtended>").encode(),  # ADM, BS.2088
        PLAIN.format('<a:identifier formatLabel="UMID"><a:identifier>060A2B34</a:identifier></a:identifier>').encode(),
        PLAIN.format('<a:identifier formatLabel="ISRC"><a:identifier>none</a:identifier></a:identifier>').encode(),
        b"not xml at all",
        b"<a><b></a>",
        b"\xff\xfe\x00",
    ],
)
def test_other_metadata_is_unchanged(body: bytes) -> None:
    """An axml chunk may hold anything; there can be only one, and theirs was there first."""
    assert isrc_of(body) == ""
    assert with_isrc(body, "ZZOSL2600003") is None


def test_a_code_among_other_metadata_is_exchanged_and_the_rest_stays() -> None:
    body = PLAIN.format("<a:audioFormatExtended/>" + FORMS[1]).encode()
    changed = with_isrc(body, "ZZOSL2600009")
    assert changed is not None
    assert changed.rstrip(b"\n") == body.replace(b"ZZ-OSL-26-00003", b"ISRC:ZZOSL2600009")


def test_entities_are_refused() -> None:
    """A few hundred bytes can declare gigabytes: nothing is read behind such a declaration."""
    assert isrc_of(("<!DOCTYPE a>" + PLAIN.format(FORMS[1])).encode()) == "ZZOSL2600003"
    assert isrc_of(('<!DOCTYPE a [<!ENTITY e "ha">]>' + PLAIN.format(FORMS[1])).encode()) == ""


@pytest.mark.parametrize(
    "isrc", ["", "ZZ-OSL-26-00003", "ZZOSL260000", "zzosl2600003", "ZZOSL26000034", "<b>OSL2600003"]
)
def test_only_the_storage_form_is_stored(isrc: str) -> None:
    """ISO 3901: 12 characters, no hyphens."""
    assert not storable(isrc)
    assert storable("ZZOSL2600003")
