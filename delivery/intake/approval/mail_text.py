"""An answer in plain words: '1 ok, 3: more bass in the second verse'. Read strictly: nothing is guessed. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from email.utils import parsedate_to_datetime
from itertools import pairwise, takewhile

from delivery.errors import Faulty, Unusable
from delivery.intake.approval.answer import Answer, Request
from delivery.intake.yaml.quoting import one_line
from delivery.intake.yaml.schema_formats import is_play_time, seconds_of

_NUMBER = r"(?:(?:tracks?|songs?|no\.?|nr\.?|#)\s*)?(?:\d{1,3}\.)?\d{1,3}"
_NUMBERS = rf"{_NUMBER}(?:\s*(?:,|&|\+|and|to|-|–)\s*{_NUMBER})*"
_FINE = (
    r"(?:(?:is|are)\s+)?(?:all\s+)?"
    r"(?:ok|okay|o\.k\.|fine|good|great|perfect|approved|(?:sounds?|looks?)\s+(?:good|great|fine|ok|perfect))"
)
_END = rf"(?=\s*[.!]*\s*(?:$|[,;])|[.!]+\s+{_NUMBER}\b)[.!]*"
_ALL = (
    r"(?:all(?:\s+(?:tracks|songs|of\s+(?:them|it)))?|everything(?:['’]s)?|the\s+(?:album|release)"
    r"|(?:the\s+)?(?:rest|others))"
)
_AND = r"(?:[:=)-]|\.(?=\s))?"
"""Between a number and 'ok'."""
FINE = re.compile(rf"(?P<numbers>{_NUMBERS})\s*{_AND}\s*{_FINE}{_END}", re.IGNORECASE)
ALL_FINE = re.compile(
    rf"(?:yes[,.!]?\s+)?(?:{_ALL}\s*[:=-]?\s*)?{_FINE}(?P<but>\s*,?\s*(?:except|but|apart\s+from)(?:\s+for)?\s+|{_END})",
    re.IGNORECASE,
)
CHANGE = re.compile(rf"(?P<numbers>{_NUMBERS})\s*(?::(?!\d)|\)|\.(?=\s)|\s[-–])\s*(?P<what>\S.*)", re.IGNORECASE)
WHOLE = re.compile(r"(?:all|album|release|everything|in general)\s*:\s*(?P<what>\S.*)", re.IGNORECASE)
NEXT = re.compile(rf"\s*[,;]\s*(?:and\s+)?(?={_NUMBERS}\s*(?:{_AND}\s*{_FINE}{_END}|:(?!\d)\s*\S))", re.IGNORECASE)
"""Where another track begins on the same line; a time ('1:23') or a level ('2 dB') begins none."""
TIME = re.compile(r"(?<![\d:.])(?:\d{1,2}:)?\d{1,3}:\d{2}(?:\.\d{1,3})?(?![\d:])")
COURTESY = re.compile(
    r"(?:hi|hello|hey|dear|good\s+(?:morning|afternoon|evening))\b[^\d:]{0,40}"
    r"|(?:many\s+)?(?:thanks|thank\s+you)(?:\s+(?:so\s+much|very\s+much|a\s+lot))?(?:,?\s+[\w.]{1,20})?[,.! ]*"
    r"|(?:all\s+the\s+best|best(?:\s+(?:wishes|regards))?|(?:kind|warm)\s+regards|regards|cheers|yours(?:\s+\w+)?)"
    r"(?:,?\s+[\w.]{1,20})?[,.! ]*",
    re.IGNORECASE,
)
THANKS = re.compile(
    r"\s*[,;.!]\s*(?:many\s+)?(?:thanks|thank\s+you|cheers)(?:,\s*[^\W\d_]{1,20})?[!. ]*$", re.IGNORECASE
)
SMILES = re.compile(r"(?:\s*(?:[👍✅✔👌🙏🎉❤😊🙂😀🙌\U0001f3fb-\U0001f3ff\ufe0f]|[:;]-?\)))+\s*$")
"""At the end of a line: they add nothing to its words. Alone they are no answer."""
REST = re.compile(r"(?:the\s+)?(?:rest|others)\b", re.IGNORECASE)
CLOSING = re.compile(r"(?:many\s+)?thank|all\s+the\s+best|best\b|kind|warm|regards|cheers|yours", re.IGNORECASE)
QUOTE_HEAD = re.compile(
    r".*(?:wrote|schrieb|a écrit|escribió)\s?.*:\s*$|-{2,}\s*(?:original message|forwarded)", re.IGNORECASE
)
SENT_FROM = re.compile(r"sent from my\b|get outlook\b", re.IGNORECASE)
STATED = re.compile(r"(?P<key>by|date|audio|label copy)\s*:\s*(?P<value>\S.*)", re.IGNORECASE)
HEAD = re.compile(r"answer to .*, revision (?P<revision>\d{1,4})", re.IGNORECASE)
OF_REVISION = re.compile(
    r"(?:for\s+)?(?:revision|rev\.?)\s+(?P<revision>\d{1,4})"
    r"(?:(?:\s*[:,]\s*|\s+(?=all\b|everything\b))(?P<rest>\S.*)|[.:,]?)",
    re.IGNORECASE,
)
"""A line of its own, or before the answer: 'Revision 2: all ok'."""
REVISION = re.compile(r"(?:.*,\s*)?revision (\d{1,4})", re.IGNORECASE)
"""The end of the first line of the mail that is answered."""
SUBJECT = re.compile(r"subject\s*:.*\brevision\s+(?P<revision>\d{1,4})\b.*", re.IGNORECASE)
MAIL_HEADER = re.compile(r"(?:subject|from|to|cc|sent|betreff|objet|asunto)\s*:\s*\S.*", re.IGNORECASE)
"""Copied with the text of a mail; it answers nothing."""
SENDER = re.compile(r"from\s*:\s*\"?(?P<name>[^\"<>@]*[^\"<>@\s])\"?\s*(?:<[^<>]*>)?", re.IGNORECASE)
SENT_ON = re.compile(r"date\s*:\s*(?P<day>\S.*)", re.IGNORECASE)
HASHED = re.compile(r"(?P<number>(?:\d{1,3}\.)?\d{1,3}) (?P<hash>[0-9a-f]{8,64})")
NAME_MAX = 40
MOST_HEADERS = 12
"""Lines at the head of a mail in which its subject is looked for."""
MAX_LINE = 1000
"""Characters of one line; a longer one is no sentence of a person."""
REMEDY = "Write '3 ok', '3: what to change' or 'all ok' in that line, or delete it."


@dataclass(frozen=True, slots=True)
class _Line:
    place: str
    text: str
    joined: bool
    """Directly below another line that was kept."""


def from_text(text: str, name: str) -> Answer:
    """The answer in *text*, the client's own lines of a mail; quoted lines and signatures are left out.

    Raises
    ------
    Faulty : lines that state nothing this program can read, and contradictions, all of them
    """
    answer, faults, open_request, plain_all = Answer(), [], False, ""
    lines = list(_own_lines(text, name))
    made = any(HEAD.fullmatch(line.text) for line in lines)
    for at, line in enumerate(lines):
        if _is_courtesy(line.text) or _is_name_below(lines, at):
            open_request = False
            continue
        read = _read(line, by_line=made)
        if read is None and open_request and line.joined and not re.match(rf"{_NUMBER}\b|{_ALL}\b", line.text, re.I):
            answer = _continued(answer, line.text)
        elif read is None:
            faults.append(Unusable(line.place, repr(line.text[:80]), "an answer to one or more tracks", REMEDY))
            open_request = False
        else:
            answer = _together(answer, read)
            open_request = bool(read.requests)
            if read.everything and not read.requests and not REST.match(line.text):
                plain_all = line.place
    if answer.revision is None:
        answer = replace(answer, revision=_quoted_revision(text))
    by, dated = _sender(text)
    answer = replace(answer, by=answer.by or by, dated=answer.dated or dated)
    faults += _contradictions(answer, name, plain_all)
    if not faults and not (answer.approved or answer.requests or answer.everything):
        faults.append(
            Unusable(name, "no answer", "'all ok', '3 ok' or '3: what to change'", "Quoted lines do not count.")
        )
    if faults:
        raise Faulty(tuple(faults))
    return answer


def _quoted_revision(text: str) -> int | None:
    """The revision that the mail's subject names or else, quoted, the head of the mail that is answered."""
    lines = [one_line(line).strip()[:MAX_LINE] for line in text.splitlines()]
    subjects = (SUBJECT.fullmatch(line) for line in lines[:MOST_HEADERS])
    quoted = [line.lstrip("> ") if line.startswith(">") else "" for line in lines]
    heads = (
        REVISION.fullmatch(each)
        for line, below in pairwise([*quoted, ""])
        for each in (line, f"{line} {below}".rstrip())  # a long title breaks the line
        if line
    )
    return next((int(found["revision"]) for found in subjects if found), None) or next(
        (int(found[1]) for found in heads if found), None
    )


def _sender(text: str) -> tuple[str, date | None]:
    """Who sent the mail and on which day, as its header states where that was saved with the text."""
    head = list(takewhile(str.strip, text.splitlines()[:MOST_HEADERS]))
    lines = [one_line(line).strip()[:MAX_LINE] for line in head]
    names = (SENDER.fullmatch(line) for line in lines)
    days = (_sent_day(line) for line in lines)
    return next((found["name"] for found in names if found), ""), next(filter(None, days), None)


def _sent_day(line: str) -> date | None:
    """The day of a mail's 'Date:' line (RFC 5322), as the sender's clock had it; None: it is no such line."""
    found = SENT_ON.fullmatch(line)
    try:
        return parsedate_to_datetime(found["day"]).date() if found and not _day(found["day"]) else None
    except ValueError:
        return None


def _own_lines(text: str, name: str) -> Iterator[_Line]:
    before = False
    for number, raw in enumerate(text.splitlines(), start=1):
        line = one_line(raw).strip()
        if raw.rstrip("\r\n") in ("-- ", "--") or re.match(r"-{2,}\s*(?:original message|forwarded)", line, re.I):
            return
        header = number <= MOST_HEADERS and (MAIL_HEADER.fullmatch(line[:MAX_LINE]) or _sent_day(line[:MAX_LINE]))
        if not line or header or line.startswith(">") or SENT_FROM.match(line) or QUOTE_HEAD.match(line):
            before = False
            continue
        yield _Line(f"{name}:{number}", line, before)
        before = True


def _is_courtesy(text: str) -> bool:
    return len(text) <= MAX_LINE and bool(COURTESY.fullmatch(text))


def _is_name_below(lines: Sequence[_Line], at: int) -> bool:
    """A name below 'Best,' as the last line."""
    is_last = at == len(lines) - 1 and at > 0
    above = lines[at - 1].text if is_last else ""
    named = re.fullmatch(rf"[^\W\d_][^\d:;,]{{0,{NAME_MAX}}}", lines[at].text)
    return bool(above and named and _is_courtesy(above) and CLOSING.match(above))


def _read(line: _Line, *, by_line: bool) -> Answer | None:
    """What one line states; None if any piece of it cannot be read."""
    if len(line.text) > MAX_LINE:
        return None
    text = THANKS.sub("", SMILES.sub("", line.text).lstrip("-*• ").strip())
    stated = _stated(text)
    if stated is not None:
        return stated
    of_revision = OF_REVISION.fullmatch(text)
    if of_revision:
        rest = of_revision["rest"]
        read = _read(replace(line, text=rest), by_line=by_line) if rest else Answer()
        return read and replace(read, revision=int(of_revision["revision"]))
    answer = Answer()
    rest = text
    everything = ALL_FINE.match(text)
    if everything:
        answer = Answer(everything=True)
        rest = text[everything.end() :].lstrip(" ,;.!")
        exceptions = everything["but"].strip(" ,;.!")
        if not rest:
            return answer if not exceptions else None
        if not exceptions:
            return None
    for piece in [rest] if by_line else _pieces(rest):
        read = _piece(piece, line.place)
        if read is None or (everything and not read.requests):
            return None
        if not by_line and any(FINE.fullmatch(request.what) for request in read.requests):
            return None  # '1. 2 ok': a request in the form of an approval
        answer = _together(answer, read)
    return answer


def _pieces(text: str) -> Iterator[str]:
    """'1, 2 ok, 3: more bass, 4 ok' -> '1, 2 ok', '3: more bass', '4 ok'."""
    while text:
        whole = FINE.match(text)
        head = CHANGE.match(text)
        following = None if whole else NEXT.search(text, head.start("what") if head else 0)
        end = whole.end() if whole else following.start() if following else len(text)
        yield text[:end].strip()
        text = re.sub(r"^[\s,;.!]+(?:and\s+)?", "", text[end:])


def _piece(text: str, place: str) -> Answer | None:
    if found := FINE.fullmatch(text):
        numbers = _expanded(found["numbers"])
        return Answer(approved=numbers) if numbers else None
    if found := WHOLE.fullmatch(text):
        return Answer(requests=(Request(found["what"], "", _time(found["what"]), place),))
    if found := CHANGE.fullmatch(text):
        numbers = _expanded(found["numbers"])
        what = found["what"]
        return (
            Answer(requests=tuple(Request(what, number, _time(what), place) for number in numbers)) if numbers else None
        )
    return None


def _stated(text: str) -> Answer | None:
    """Lines that the sheet's form adds: who, when, and what was heard."""
    if head := HEAD.fullmatch(text):
        return Answer(revision=int(head["revision"]))
    found = STATED.fullmatch(text)
    if not found:
        return None
    key, value = found["key"].lower(), found["value"].strip()
    if key == "by":
        return Answer(by=value)
    if key == "date":
        return Answer(dated=_day(value)) if _day(value) else None
    if key == "label copy":
        return Answer(label_copy=value) if re.fullmatch(r"[0-9a-f]{12}", value) else None
    pairs = [HASHED.fullmatch(one.strip()) for one in value.split(",")]
    return None if None in pairs else Answer(audio_hashes={one["number"]: one["hash"] for one in pairs if one})


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text) else None
    except ValueError:
        return None


def _expanded(text: str) -> tuple[str, ...]:
    """'1, 3 to 5' -> 1, 3, 4, 5; empty for a range that runs backwards or across discs."""
    found: list[str] = []
    pieces = re.findall(r"((?:\d{1,3}\.)?\d{1,3})|(to\b|[-–])", text, re.IGNORECASE)
    upto = False
    for number, dash in pieces:
        if dash:
            upto = True
            continue
        if upto:
            first, last = found[-1], number
            disc = first.rpartition(".")[0]
            low, high = int(first.rpartition(".")[2]), int(last.rpartition(".")[2])
            if disc != last.rpartition(".")[0] or high <= low:
                return ()
            found += [f"{disc}.{each}" if disc else str(each) for each in range(low + 1, high + 1)]
        else:
            found.append(".".join(str(int(piece)) for piece in number.split(".")))
        upto = False
    return tuple(dict.fromkeys(found))


def _time(text: str) -> float | None:
    """The first time in a request; the words keep it too."""
    found = TIME.search(text)
    return seconds_of(found[0]) if found and is_play_time(found[0]) else None


def _together(one: Answer, other: Answer) -> Answer:
    return Answer(
        approved=tuple(dict.fromkeys((*one.approved, *other.approved))),
        requests=(*one.requests, *other.requests),
        everything=one.everything or other.everything,
        by=other.by or one.by,
        dated=other.dated or one.dated,
        audio_hashes={**one.audio_hashes, **other.audio_hashes},
        label_copy=other.label_copy or one.label_copy,
        revision=one.revision if other.revision is None else other.revision,
    )


def _continued(answer: Answer, text: str) -> Answer:
    """A request that a mail program broke into two lines."""
    last = answer.requests[-1]
    what = f"{last.what} {text}"
    return replace(answer, requests=(*answer.requests[:-1], replace(last, what=what, at_s=_time(what))))


def _contradictions(answer: Answer, name: str, plain_all: str) -> Iterator[Unusable]:
    asked = [request.track for request in answer.requests if request.track]
    if plain_all and asked:
        found = f"everything approved, and a change requested for track {asked[0]}"
        yield Unusable(plain_all, found, "one of the two", "Write 'the rest ok' if the other tracks are approved.")
    for number in dict.fromkeys(request.track for request in answer.requests):
        if number and number in answer.approved:
            found = f"track {number} approved, and a change requested"
            yield Unusable(name, found, "one of the two", "Ask the client which, and delete the other line.")
