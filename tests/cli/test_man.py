"""The manual page that is shipped is the one that the help texts make, and groff sets it without a complaint."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from delivery.cli._man import PAGE, manual


def test_the_page_is_made_of_the_help_texts() -> None:
    assert PAGE.read_text(encoding="utf-8") == manual(), "run: python -m delivery.cli._man"


def test_every_command_and_option_is_listed() -> None:
    page = manual()
    for words in (".SS check", ".SS spec explain", "\\-\\-reference", "\\-\\-waive", "delivery guide"):
        assert words in page


@pytest.mark.skipif(shutil.which("groff") is None, reason="no groff installed")
def test_groff_sets_it_without_a_warning() -> None:
    done = subprocess.run(["groff", "-man", "-Tutf8", "-ww", str(PAGE)], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert "DELIVERY(1)" in done.stdout
