"""Checks by programs that are not ours."""

from __future__ import annotations

import shutil

import pytest


def needs(*programs: str) -> pytest.MarkDecorator:
    """Skip, loudly, when an outside program is not on this machine."""
    absent = [program for program in programs if shutil.which(program) is None]
    return pytest.mark.skipif(bool(absent), reason=f"outside judge not installed: {', '.join(absent)}")
