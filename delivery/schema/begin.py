"""A new spec file with comments that explain its keys. It loads without changes."""

from __future__ import annotations

import json
import re
from datetime import date
from itertools import groupby

from delivery.errors import Unusable
from delivery.model.finding import Weight
from delivery.rules import Rule, rules
from delivery.schema.catalogue import limit_form

NAME_FORM = re.compile(r"[a-z0-9][a-z0-9._-]*")

TEXT = """\
# What one recipient requires, as data. Lines that begin with '#' are comments; take the '#' away to use one.
# 'delivery spec explain {name}.yaml' explains in plain sentences what this file requires.

title: {title}
about: Who requires this, and when it is used.
# edition: "1.2"                # of the recipient's document, as printed on it
checked: {today}             # the day this file was last compared with its sources
# good_for_months: 12           # after that it is called stale

based_on: {based_on}          # all its requirements hold here too, unless stated again below
# purpose: reference_only       # for listening copies: they are marked 'not for release'

# Source of every requirement below without one of its own: document and clause, or 'common practice, no source'.
source: common practice, no source

requires:
  # Each is a 'must' (not met: the file is not ready) or a 'should' (a remark); add its own source beside it:
  #   true_peak_max_dbtp: {{must: -1.0, source: "Delivery guide, page 3", checked: {today}}}
  # A key set to ~ lifts what {based_on} requires:
  #   title_unique: ~
  finite_samples: {{must: true}}
{requires}
# Steps permitted to meet the requirements. Where a step that is not listed would be needed, the file is not ready.
# convert:
#   rate: never                 # lower: only downwards; any: upwards too
#   depth: never                # lower: shorten, with the dither below
#   dither: tpdf
#   silence: zero               # dithered: digital silence at a song's ends gets dither like all else
#   gain: never                 # down_to_ceiling, or to_target (a loudness window with a target)
#   gain_scope: album           # one gain for all tracks, so that the balance between songs is kept
#   container: any              # the same samples in another container; never

# encode: {{bitrate_kbps: 320}}   # for mp3, aac, opus; or, for mp3, {{vbr_quality: 0}}
# name: "{{disc_track}} {{title}}"  # also {{track:02}} {{version}} {{artist}} {{release}} {{isrc}} {{rate}} {{bits}}
# embed_tags: true
# keep_tags: [bext]             # what of a master's own texts may stay: bext, comments, lyrics, pictures ...
# keep_chunks: []               # chunks carried along, positions scaled: cue_points, loops, ixml, adm, cart, unknown
# embed_artwork: false
# cover: {{side_px: 3000, kind: jpeg}}  # made from the original and laid beside the files
# id3_version: 2.4              # of MP3; 2.3 for old players
"""


def new_spec(name: str, based_on: str, today: date) -> str:
    """YAML text of a spec called *name* that inherits from *based_on*.

    Raises
    ------
    Unusable : the name cannot be a file and folder name on every system
    """
    if not NAME_FORM.fullmatch(name):
        wanted = "small letters, digits, hyphens"
        raise Unusable("name of the new spec", repr(name), wanted, "It becomes a file name and a folder name.")
    requires = "\n".join(_chapter(subject, group) for subject, group in _by_subject())
    title = json.dumps(name.replace("-", " ").capitalize())
    return TEXT.format(name=name, title=title, based_on=based_on, today=today.isoformat(), requires=requires)


def _by_subject() -> list[tuple[str, list[Rule]]]:
    ordered = sorted(rules().values(), key=lambda rule: (rule.subject, rule.id))
    return [(subject, list(group)) for subject, group in groupby(ordered, lambda rule: rule.subject)]


def _chapter(subject: str, members: list[Rule]) -> str:
    lines = [f"  # --- {subject.replace('_', ' ')} ---"]
    for rule in members:
        if rule.id == "finite_samples":  # is there already, as an example
            continue
        word = "must" if rule.weight is Weight.FACT else "should"
        lines.append(f"  # {rule.id}: {{{word}: }}   # {limit_form(rule.limit)}")
    return "\n".join([*lines, ""])
