"""Check, build and verify: the only package that imports all others. Read run.py first.

request       a resolved request: release, specs, studio, artwork
sources       masters in, measurements out, through the cache
predict_parts plan every part of a spec and judge what is predicted
make_part     render, tag, read back and judge one part (read_back, judge_part)
run           check and build, step by step
package       papers, sheet, bag and archive of a build
verify        check a delivered package
"""

from delivery.pipeline.request import Request, resolve_request
from delivery.pipeline.run import Built, Options, build, check

__all__ = ["Built", "Options", "Request", "build", "check", "resolve_request"]
