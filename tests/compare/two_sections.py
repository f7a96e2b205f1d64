"""A release file for a mix whose second half is a louder section, from 20 s on."""

RELEASE = """
title: Low Water
artist: Ada Fenn
tracks:
  - file: Mix.wav
    title: Low Water
    sections:
      - {name: verse, from: 0}
      - {name: chorus, from: 20}
"""
