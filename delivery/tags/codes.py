"""Find recording codes (ISRC, ISO 3901:2019) within other texts. Pure."""

from __future__ import annotations

import re

_CODE = re.compile(r"(?<![A-Z0-9])[A-Z]{2}-?[A-Z0-9]{3}-?[0-9]{2}-?[0-9]{5}(?![A-Z0-9])")


def codes_in(text: str) -> set[str]:
    """Every recording code in *text*, in storage form."""
    return {found.replace("-", "") for found in _CODE.findall(text.upper())}
