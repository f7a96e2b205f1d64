"""The audio definition model: structure after ITU-R BS.2076 and BS.2088, loudness after BS.1770-5, Annex 3.

Files are written here byte by byte; identifiers of common loudspeakers are those of ITU-R BS.2094 (M+030 is 1, M-030 2,
M+000 3, LFE 4, M+110 5, M-110 6, M+090 a, M-090 b, U+110 10), read second-hand.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure
from delivery.meters.adm_model import entries_of, faults_of, weights_of

RATE_HZ = 48_000
BED = ("00010003", "00010001", "00010002", "00010004", "00010005", "00010006", "0001000a", "00010010")
"""Centre first, as no usual order has it; one loudspeaker above."""


def chna(formats: Sequence[str] = BED, pack: str = "AP_00011001") -> bytes:
    """BS.2088: two counts of 16 bits, then 40 bytes a row."""
    rows = (
        struct.pack("<H12s14s11sx", at, b"ATU_%08x" % at, f"AT_{form}_01".encode(), pack.encode())
        for at, form in enumerate(formats, start=1)
    )
    return struct.pack("<HH", len(formats), len(formats)) + b"".join(rows)


def axml(formats: Sequence[str] = BED, extra: str = "", pack: str = "AP_00011001") -> str:
    uids = [f"ATU_{at:08x}" for at in range(1, len(formats) + 1)]
    tracks = "".join(
        f'<audioTrackUID UID="{uid}" sampleRate="{RATE_HZ}" bitDepth="24"><audioTrackFormatIDRef>AT_{form}_01'
        f"</audioTrackFormatIDRef><audioPackFormatIDRef>{pack}</audioPackFormatIDRef></audioTrackUID>"
        for uid, form in zip(uids, formats, strict=True)
    )
    held = "".join(f"<audioTrackUIDRef>{uid}</audioTrackUIDRef>" for uid in uids)
    channels = "".join(f"<audioChannelFormatIDRef>AC_{form}</audioChannelFormatIDRef>" for form in formats)
    return (
        '<?xml version="1.0"?><ebuCoreMain xmlns="urn:ebu:metadata-schema:ebucore"><coreMetadata><format>'
        '<audioFormatExtended version="ITU-R_BS.2076-2">'
        '<audioProgramme audioProgrammeID="APR_1001"><audioContentIDRef>ACO_1001</audioContentIDRef></audioProgramme>'
        '<audioContent audioContentID="ACO_1001"><audioObjectIDRef>AO_1001</audioObjectIDRef></audioContent>'
        f'<audioObject audioObjectID="AO_1001"><audioPackFormatIDRef>{pack}</audioPackFormatIDRef>{held}</audioObject>'
        f'<audioPackFormat audioPackFormatID="{pack}" typeLabel="{pack[3:7]}">{channels}</audioPackFormat>'
        f"{tracks}{extra}</audioFormatExtended></format></coreMetadata></ebuCoreMain>"
    )


def master(path: Path, sound: NDArray[np.float64], chunks: Sequence[tuple[bytes, bytes]]) -> Path:
    """BW64 (BS.2088): a ds64 chunk in front of all others, sizes of 32 bits where they fit."""
    soundfile.write(path.with_suffix(".raw.wav"), sound, RATE_HZ, "PCM_24")
    plain = path.with_suffix(".raw.wav").read_bytes()[12:]
    extra = b"".join(name + struct.pack("<I", len(body)) + body + bytes(len(body) % 2) for name, body in chunks)
    size = 4 + 36 + len(plain) + len(extra)
    ds64 = b"ds64" + struct.pack("<IQQQI", 28, size, len(sound) * sound.shape[1] * 3, len(sound), 0)
    path.write_bytes(b"BW64" + b"\xff" * 4 + b"WAVE" + ds64 + plain + extra)
    return path


def tone_in(channel: int, channels: int = len(BED)) -> NDArray[np.float64]:
    sound = np.zeros((5 * RATE_HZ, channels))
    sound[:, channel] = np.sin(2 * np.pi * 997 * np.arange(len(sound)) / RATE_HZ)
    return sound * (1 - 2**-23)


@pytest.mark.parametrize(
    ("channel", "lufs"),
    [(0, -3.01), (1, -3.01), (4, -3.01 + 1.49), (5, -3.01 + 1.49), (6, -3.01 + 1.49), (7, -3.01)],
)
def test_a_tone_counts_by_the_loudspeaker_its_model_states(channel: int, lufs: float, tmp_path: Path) -> None:
    """BS.1770-5: 997 Hz at full scale in one front channel reads -3.01 LKFS, and 10 lg 1.41 = 1.49 more where it
    is 60 to 120 degrees to the side at ear height; U+110 is above and counts 1."""
    file = master(tmp_path / "a.wav", tone_in(channel), [(b"chna", chna()), (b"axml", axml().encode())])
    found = measure(file)
    assert found.value("integrated_lufs") == pytest.approx(lufs, abs=0.01)
    assert found.value("riff_form") == "BW64"
    assert (found.value("adm_chunks"), found.value("adm_faults")) == (True, ())


def test_low_frequency_effects_count_nothing(tmp_path: Path) -> None:
    file = master(tmp_path / "a.wav", tone_in(3), [(b"chna", chna()), (b"axml", axml().encode())])
    assert measure(file)["integrated_lufs"].why_missing == "silent: nothing louder than -70 LUFS"
    assert measure(file).value("true_peak_dbtp") == pytest.approx(0.0, abs=0.01)


def test_objects_have_no_loudness_before_they_are_rendered(tmp_path: Path) -> None:
    """Type 0003 is Objects; the sum of their channels would be a number that means nothing."""
    forms = ["00031001", "00031002", "00031003"]
    files = [(b"chna", chna(forms, "AP_00031001")), (b"axml", axml(forms, pack="AP_00031001").encode())]
    found = measure(master(tmp_path / "a.wav", tone_in(0, 3), files))
    assert "objects need a renderer" in found["integrated_lufs"].why_missing
    assert found["short_term_max_lufs"].why_missing == found["integrated_lufs"].why_missing
    assert found.value("true_peak_dbtp") is not None


CUSTOM = """
<audioTrackFormat audioTrackFormatID="AT_0001100{n}_01"><audioStreamFormatIDRef>AS_0001100{n}</audioStreamFormatIDRef>
</audioTrackFormat><audioStreamFormat audioStreamFormatID="AS_0001100{n}">
<audioChannelFormatIDRef>AC_0001100{n}</audioChannelFormatIDRef></audioStreamFormat>
<audioChannelFormat audioChannelFormatID="AC_0001100{n}"><audioBlockFormat audioBlockFormatID="AB_0001100{n}_00000001">
{position}</audioBlockFormat></audioChannelFormat>"""
POSITIONS = (
    '<position coordinate="azimuth">-90</position><position coordinate="elevation">0</position>',
    '<position coordinate="azimuth">110</position><position coordinate="elevation">30</position>',
    '<position coordinate="X">-1</position><position coordinate="Y">0</position><position coordinate="Z">0</position>',
    '<position coordinate="X">1</position><position coordinate="Y">1</position><position coordinate="Z">0</position>',
    '<speakerLabel>RC_LFE</speakerLabel><position coordinate="azimuth">90</position>',
)


def test_loudspeakers_of_the_files_own() -> None:
    """Polar and Cartesian (BS.2076: X to the right, Y to the front); 45 degrees to the right is not at the side."""
    forms = [f"0001100{n}" for n in range(1, 6)]
    extra = "".join(CUSTOM.format(n=n, position=position) for n, position in enumerate(POSITIONS, start=1))
    document = axml(forms, extra).encode()
    assert weights_of(chna(forms), document, 5) == (1.41, 1.0, 1.41, 1.0, 0.0)
    assert list(faults_of(chna(forms), document, 5, RATE_HZ)) == []


FAULTS = {
    "no axml": (chna(), b"", "there is no axml chunk"),
    "no chna": (b"", axml().encode(), "there is no chna chunk"),
    "no XML": (chna(), b"<audioFormatExtended>", "the axml chunk is not well-formed XML"),
    "other XML": (chna(), b"<a/>", "the axml chunk has no audioFormatExtended element"),
    "entities": (chna(), b'<!DOCTYPE a [<!ENTITY b "c">]><a/>', "the axml chunk declares a document type"),
    "a channel nobody describes": (chna(BED[:-1]), axml().encode(), "channel 8 has no track UID in chna"),
    "a channel too many": (
        chna((*BED, "00010001")),
        axml((*BED, "00010001")).encode(),
        "chna names channel 9 of a file of 8",
    ),
    "a UID that is not there": (
        chna(),
        axml().replace('UID="ATU_00000002"', 'UID="ATU_0000000f"').encode(),
        "track UID ATU_00000002 of channel 2 is not described in axml",
    ),
    "another pack": (
        chna(pack="AP_00011002"),
        axml().encode(),
        "track UID ATU_00000001: chna refers to AP_00011002, axml",
    ),
    "another rate": (
        chna(),
        axml().replace("48000", "96000").encode(),
        "is described as 96000 Hz, the file at 48000 Hz",
    ),
    "an object that is not there": (
        chna(),
        axml().replace('ID="AO_1001"', 'ID="AO_1002"').encode(),
        "ACO_1001 refers to AO_1001, which does not exist",
    ),
    "no programme": (chna(), axml().replace("audioProgramme", "audioProgram").encode(), "there is no audioProgramme"),
    "a programme of nothing": (
        chna(),
        axml().replace("<audioContentIDRef>ACO_1001</audioContentIDRef>", "").encode(),
        "APR_1001 refers to no audioContent",
    ),
    "one identifier twice": (
        chna(),
        axml(extra='<audioObject audioObjectID="AO_1001"/>').encode(),
        "two elements have the identifier AO_1001",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_what_is_wrong_is_reported(fault: str) -> None:
    rows, document, text = FAULTS[fault]
    assert any(text in reported for reported in faults_of(rows, document, len(BED), RATE_HZ))
    assert list(faults_of(chna(), axml().encode(), len(BED), RATE_HZ)) == []


def test_rows_that_a_writer_reserved_are_left_out() -> None:
    assert len(entries_of(chna() + bytes(400))) == len(BED)
    assert entries_of(b"\1\0\1\0") == ()


def test_a_file_without_a_model_is_weighted_by_its_channel_mask(tmp_path: Path) -> None:
    """BS.1770-5, Table 3 for 5.1: the fifth channel is a surround; libsndfile writes the mask 0x3F for six."""
    file = tmp_path / "a.wav"
    soundfile.write(file, tone_in(4, 6), RATE_HZ, "PCM_24", format="WAVEX")
    found = measure(file)
    assert found.value("integrated_lufs") == pytest.approx(-3.01 + 1.49, abs=0.01)
    assert found.value("adm_chunks") is False
