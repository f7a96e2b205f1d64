"""Label copy for machines: the release and its tracks as the data document has them, with lengths and printed codes."""

from __future__ import annotations

import json

from delivery.model.codes import CODES
from delivery.report.data import document as data_json
from delivery.report.view.model import View
from delivery.report.view.report import Report

FORM = 1
ABOUT_AUDIO = ("waivers", "accepted", "qc_log", "approval")
"""Left out: label copy is read without the masters being measured."""


def render(view: View) -> bytes:
    """UTF-8, keys sorted, LF."""
    delivery = view.delivery
    whole = data_json.document(delivery)
    release = {key: value for key, value in whole["release"].items() if key not in ABOUT_AUDIO}
    release["isni"] = [{**one, "printed": CODES["isni"].printed(one["code"])} for one in release["isni"]]
    tracks = [
        {
            **{key: value for key, value in entry.items() if key not in ("sha256", "problem", "measured")},
            "duration_s": source.measurement.value("duration_s") if source.measurement else None,
            "isrc_printed": CODES["isrc"].printed(source.track.isrc),
            "iswc_printed": CODES["iswc"].printed(source.track.iswc),
        }
        for entry, source in zip(whole["sources"], delivery.sources, strict=True)
    ]
    document = {"form": FORM, "release": release, "tracks": tracks}
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True)
    return (text + "\n").encode("utf-8", errors="replace")


REPORT = Report(
    "label_copy_json", "label-copy.json", "for programs, with lengths and printed codes", render, on_request=True
)
