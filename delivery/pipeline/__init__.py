"""Check, build and verify: the only package that imports all others. Read run.py first.

request       a resolved request: release, specs, studio, artwork
sources       masters in, measurements out, through the cache
predict_parts plan every part of a spec and judge what is predicted
make_part     render, tag, read back and judge one part (read_back, judge_part)
run           check and build: refuse, measure
from_masters  the steps that follow: judge, plan, make
package       papers, sheet, bag and archive of a build
verify        check a delivered package
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.pipeline.request import Request as Request
    from delivery.pipeline.request import resolve_request as resolve_request
    from delivery.pipeline.run import Built as Built
    from delivery.pipeline.run import Options as Options
    from delivery.pipeline.run import build as build
    from delivery.pipeline.run import check as check

_MODULE_OF = {
    "Built": "run",
    "Options": "run",
    "Request": "request",
    "build": "run",
    "check": "run",
    "resolve_request": "request",
}
__all__ = ["Built", "Options", "Request", "build", "check", "resolve_request"]


def __getattr__(name: str) -> Any:
    """Imported when first used: who only measures files does not wait for reports and encoders."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
