"""The file's form: container, coding, rate, bit depth, channels, header, size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG, count, some
from delivery.rules.rule import Facts, rule
from delivery.rules.words import BITS, BYTES, always, at_most, counted, kilohertz, listed, one_of

names = one_of()
rates = one_of(kilohertz)
bit_depths = one_of(BITS)
SMALLEST_FILE_BYTES, LARGEST_FILE_BYTES = 1_000, 2**50
"""Limits outside of these are mistakes: no sound file with a header is smaller, and no disk holds a larger one."""
size_ceiling = at_most(BYTES)
adm_wanted = always("an audio definition model that describes every channel")


def header_form(extensible: bool) -> str:
    """The form of the header, in words."""
    return "the extensible form of the WAV header" if extensible else "the plain form of the WAV header"


def other_than_wav(facts: Facts) -> str:
    """Id of the container if it is not WAV; else empty."""
    container = facts.get("container")
    return container.value if container and container.value not in (None, "wav") else ""


def channel_counts(limit: Sequence[int]) -> str:
    """Permitted numbers of channels, in words."""
    named = {1: "mono", 2: "stereo"}
    return listed((named.get(channels, f"{channels} channels") for channels in limit), "or")


def channel_count_words(channels: int) -> str:
    """One number of channels, in words."""
    return channel_counts([channels])


@rule(
    id="container",
    limit=some({"$ref": "#/$defs/container_id"}, "container ids, the preferred one first"),
    needs=("container",),
    weight=Weight.FACT,
    source="read from the file's content, never from its name; the limit is the spec's own",
    sentence="the container is {limit}",
    value_text=str,
    limit_text=names,
)
def container(container: str, limit: Sequence[str]) -> Iterator[NotMet]:
    """The file is in one of the containers that the recipient accepts."""
    if container not in limit:
        yield NotMet(container, names(limit), f"the same samples as {limit[0]}")


@rule(
    id="coding",
    limit=some({"$ref": "#/$defs/coding_id"}, "codings, the preferred one first"),
    needs=("coding",),
    weight=Weight.FACT,
    source="read from the file's header; the limit is the spec's own",
    sentence="the samples are coded as {limit}",
    value_text=str,
    limit_text=names,
)
def coding(coding: str, limit: Sequence[str]) -> Iterator[NotMet]:
    """The samples are in a coding that the recipient accepts; a lossy copy never becomes a master again."""
    if coding not in limit:
        yield NotMet(coding, names(limit), f"a master coded as {limit[0]}, made from an uncoded source")


@rule(
    id="rate_hz",
    limit=some({"type": "integer", "minimum": 8000, "maximum": 768_000, "description": "Hz"}, "sample rates in Hz"),
    needs=("rate_hz",),
    weight=Weight.FACT,
    source="read from the file's header; the limit is the spec's own",
    sentence="the sample rate is {limit}",
    value_text=kilohertz,
    limit_text=rates,
)
def sample_rate(rate_hz: int, limit: Sequence[int]) -> Iterator[NotMet]:
    """The file has a sample rate that the recipient accepts."""
    if rate_hz in limit:
        return
    cure = (
        "the session's own render if its rate was higher (raising the rate adds no detail)"
        if rate_hz < min(limit)
        else f"a master at {rates(limit)}, a spec that permits the conversion (convert: rate)"
    )
    yield NotMet(kilohertz(rate_hz), rates(limit), f"{cure}")


@rule(
    id="bits",
    limit=some({"type": "integer", "minimum": 8, "maximum": 64, "description": "bit"}, "bit depths"),
    needs=("bits",),
    weight=Weight.FACT,
    source="read from the file's header; the limit is the spec's own",
    sentence="the bit depth is {limit}",
    value_text=BITS,
    limit_text=bit_depths,
)
def bit_depth(bits: int, limit: Sequence[int]) -> Iterator[NotMet]:
    """The samples have a bit depth that the recipient accepts; lossy codings have none."""
    if bits in limit:
        return
    cure = "a spec that permits dither and rounding (convert: depth)" if bits > max(limit) else "a longer render"
    yield NotMet(BITS(bits), bit_depths(limit), f"{cure}")


@rule(
    id="channels",
    limit=some({"type": "integer", "minimum": 1, "maximum": 64, "description": "channels"}, "numbers of channels"),
    needs=("channels",),
    weight=Weight.FACT,
    source="read from the file's header; the limit is the spec's own",
    sentence="the file is {limit}",
    value_text=channel_count_words,
    limit_text=channel_counts,
)
def channel_count(channels: int, limit: Sequence[int]) -> Iterator[NotMet]:
    """The file has a channel count that the recipient accepts; nothing is folded down or doubled unless required."""
    if channels not in limit:
        yield NotMet(
            channel_counts([channels]),
            channel_counts(limit),
            f"a {channel_counts(limit)} render"
            + (", mono_as: both_channels in the release file" if channels == 1 and 2 in limit else ""),
        )


@rule(
    id="extensible_header",
    limit={"type": "boolean", "description": "true: the extensible WAV header; false: the plain one"},
    needs=("extensible",),
    weight=Weight.FACT,
    source="Microsoft WAVEFORMATEXTENSIBLE, format tag 0xFFFE; the limit is the spec's own",
    sentence="a WAV file has {limit}",
    limit_text=header_form,
    aside=other_than_wav,
)
def header(extensible: bool, limit: bool) -> Iterator[NotMet]:
    """The WAV header has the form that the recipient's readers support; other containers have only one form."""
    if extensible != limit:
        yield NotMet(header_form(extensible), header_form(limit), "the same samples written again")


@rule(
    id="riff_form",
    limit=some({"enum": ["RIFF", "RF64", "BW64"]}, "forms of WAV, the preferred one first"),
    needs=("riff_form",),
    weight=Weight.FACT,
    source="RIFF of 1991, EBU Tech 3306 (RF64), ITU-R BS.2088 (BW64); the limit is the spec's own",
    sentence="a WAV file is in the form {limit}",
    value_text=str,
    limit_text=names,
    aside=other_than_wav,
)
def riff_form(riff_form: str, limit: Sequence[str]) -> Iterator[NotMet]:
    """The WAV file has the form that the recipient's readers support; RF64 and BW64 are for files over 4 GiB."""
    if riff_form not in limit:
        cure = "a file under 4 GiB" if limit == ("RIFF",) else "the same samples written again"
        yield NotMet(riff_form, names(limit), f"{cure}, a spec that permits it (convert: container)")


@rule(
    id="adm_structure",
    limit=FLAG,
    needs=("adm_chunks",),
    aided=("adm_faults",),
    weight=Weight.FACT,
    source="ITU-R BS.2076-2 (audio definition model) and BS.2088-1 (chna and axml chunks), read second-hand",
    sentence="the file has {limit}",
    limit_text=adm_wanted,
)
def adm_structure(adm_chunks: bool, adm_faults: Sequence[str] | None, limit: bool) -> Iterator[NotMet]:
    """Every channel of an immersive master is described, and every reference in its model resolves."""
    for fault in adm_faults or (() if adm_chunks else ("there is no chna chunk",)):
        yield NotMet(fault, adm_wanted(limit), "an export from the session with its model whole")


@rule(
    id="size_max_bytes",
    limit=count(BYTES, minimum=SMALLEST_FILE_BYTES, maximum=LARGEST_FILE_BYTES),
    needs=("size_bytes",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the file has {limit}",
    value_text=BYTES,
    limit_text=size_ceiling,
)
def file_size(size_bytes: int, limit: int) -> Iterator[NotMet]:
    """The file is no larger than the recipient accepts."""
    if size_bytes > limit:
        yield NotMet(BYTES(size_bytes), size_ceiling(limit), f"a file {counted(size_bytes - limit, 'byte')} smaller")
