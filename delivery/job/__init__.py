"""The walk, and the only room that knows every other. Read walk.py first.

intent        what is asked: release, specs, studio, artwork
sources       masters in, measurements out, through the cache
deliverable   one part: plan, forecast, render, tag, read back, judge
walk          check and build, top to bottom
package       papers, sheet, bag and archive of a build
recheck       verify a package that came back
"""

from delivery.job.intent import Intent, intend
from delivery.job.walk import Built, Options, build, check

__all__ = ["Built", "Intent", "Options", "build", "check", "intend"]
