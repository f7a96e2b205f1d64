"""Release files for tests, from the invented label."""

from __future__ import annotations

from pathlib import Path

WHOLE = """\
# Harbour Arithmetic, as ordered
title: Harbour Arithmetic
artist: Merrow & the Glass Tide
label: Ostrelune Records
catalogue_number: OSL-014
upc: "2000000140019"
release_date: 2026-11-27
p_line: 2026 Ostrelune Records
c_line: 2026 Ostrelune Records
genre: Chamber pop
language: en
artwork: cover.jpg
client: Ostrelune Records, production office
revision: 2
dated: 2026-10-05
approved_by: I. Merrow
notes: |
  Tracks 1 and 2 run into each other.
  The hiss is meant.
deliver_to: [cd-rate-16, specs/own.yaml]
tracks:
  - file: 01 Low Water.wav
    title: Low Water
    isrc: ZZ-OSL-26-00001
    explicit: no
    composers: [Ilse Merrow]
    artists:
      - Merrow & the Glass Tide
      - {name: Tam Varrick, role: Featured}
  - file: 02 Lamps.wav
    title: Tally of Lamps
    version: Radio Edit
    isrc: zzosl2600002
    explicit: clean
    lyricists: [Ilse Merrow, Tam Varrick]
    language: pt-BR
    gap_before_s: 0
  - file: cd2/01.wav
    title: 潮の計算
    disc: 2
    instrumental: true
waivers:
  - {rule: true_peak_max_dbtp, track: 3, spec: cd-rate-16, by: I. Merrow, why: The distortion is the arrangement.}
"""


def release_file(folder: Path, text: str) -> Path:
    path = folder / "release.yaml"
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


def with_tracks(*tracks: str) -> str:
    """A release whose tracks have these further lines of keys."""
    lines = ["title: Harbour Arithmetic", "tracks:"]
    for number, more in enumerate(tracks, start=1):
        lines += [f"  - file: {number:02}.wav", f"    title: Song {number}"]
        lines += [f"    {line}" for line in more.splitlines()]
    return "\n".join(lines) + "\n"
