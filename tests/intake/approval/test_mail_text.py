"""Answers as people write them: read exactly, or refused with their line."""

from __future__ import annotations

from datetime import date

import pytest

from delivery.errors import Faulty
from delivery.intake.approval import Answer, Request
from delivery.intake.approval.mail_text import from_text


def read(text: str) -> Answer:
    return from_text(text, "mail.txt")


def said(text: str) -> tuple[tuple[str, ...], bool, list[tuple[str, str, float | None]]]:
    """Tracks approved, whether all are, and what is to change where."""
    answer = read(text)
    return answer.approved, answer.everything, [(one.track, one.what, one.at_s) for one in answer.requests]


@pytest.mark.parametrize(
    ("text", "approved", "everything", "requests"),
    [
        ("1 ok, 3: more bass in the second verse", ("1",), False, [("3", "more bass in the second verse", None)]),
        ("3: more bass in the second verse, 1 ok", ("1",), False, [("3", "more bass in the second verse", None)]),
        ("all ok", (), True, []),
        ("OK", (), True, []),
        ("Everything sounds great!", (), True, []),
        ("All tracks approved. Thanks!", (), True, []),
        ("1, 2 and 4 ok", ("1", "2", "4"), False, []),
        ("Track 1 is ok.\nTracks 3-5 are fine", ("1", "3", "4", "5"), False, []),
        ("01 ok; 02: quieter", ("1",), False, [("2", "quieter", None)]),
        ("1.2 ok, 2.1: louder", ("1.2",), False, [("2.1", "louder", None)]),
        ("3: at 1:23.4 the breath, 2 dB less", (), False, [("3", "at 1:23.4 the breath, 2 dB less", 83.4)]),
        ("3: cut at 1:23, 2:10", (), False, [("3", "cut at 1:23, 2:10", 83.0)]),
        (
            "3: click at 1:23\n3: fade too short",
            (),
            False,
            [("3", "click at 1:23", 83.0), ("3", "fade too short", None)],
        ),
        ("all ok except 3: more bass", (), True, [("3", "more bass", None)]),
        ("3: more bass\nthe rest ok", (), True, [("3", "more bass", None)]),
        ("3) more bass", (), False, [("3", "more bass", None)]),
        ("3. more bass", (), False, [("3", "more bass", None)]),
        ("1. ok\n2) fine", ("1", "2"), False, []),
        ("1. OK. 2 okay! 3: more bass.", ("1", "2"), False, [("3", "more bass.", None)]),
        ("1 ok. 2: the bass is ok, the voice is not", ("1",), False, [("2", "the bass is ok, the voice is not", None)]),
        ("1 ok, 2 ok, 3 ok, thanks, Ada", ("1", "2", "3"), False, []),
        ("1 ok 👍🏽\n2: louder :-)", ("1",), False, [("2", "louder", None)]),
        ("Yes, all good! 🙏", (), True, []),
        ("Everything's fine", (), True, []),
        ("1 looks good", ("1",), False, []),
        ("1 ok, 3: mehr Bass bei 1:23", ("1",), False, [("3", "mehr Bass bei 1:23", 83.0)]),
        ("1 ok, 2 : plus de basse à 1:10", ("1",), False, [("2", "plus de basse à 1:10", 70.0)]),
        ("2, 3: louder", (), False, [("2", "louder", None), ("3", "louder", None)]),
        ("all: one more second between the songs", (), False, [("", "one more second between the songs", None)]),
        (
            "3: a mail program breaks\nlong lines in two",
            (),
            False,
            [("3", "a mail program breaks long lines in two", None)],
        ),
    ],
)
def test_what_is_read(
    text: str, approved: tuple[str, ...], everything: bool, requests: list[tuple[str, str, float | None]]
) -> None:
    assert said(text) == (approved, everything, requests)


def test_a_whole_mail() -> None:
    """Greeting, own lines, closing, name, quoted mail and signature, with the line ends of mail."""
    text = (
        "Hi Tom,\n\n1 ok\n3: more bass\n\nMany thanks,\nImke\n\nOn Tue, 12 May 2026 at 10:04, T. Mirefield wrote:\n"
        "> Merrow: Low Water, revision 2\n> 1 ok\n>> 2 ok\n-- \n2 ok\nImke Sandvoort\n"
    )
    for line_end in ("\n", "\r\n"):
        answer = read(text.replace("\n", line_end))
        assert answer == Answer(("1",), (Request("more bass", "3", None, "mail.txt:4"),), revision=2)


@pytest.mark.parametrize(
    "text",
    [
        "Revision 2\nall ok",
        "revision 2: all ok",
        "Rev 2 all ok 👍",
        "for rev. 2, all ok",
        "From: Imke <i@example.org>\nSubject: Re: Merrow: Low Water, revision 2\n\nall ok",
        "all ok\n\n> Merrow: Low Water, revision 2\n> Result: ready",
        "all ok\n\n> Merrow: A Title So Long That It Reaches The End Of Its Line,\n> revision 2",
        "all ok\n\n>> Merrow: A Title So Long That It Reaches The End Of Its Line, revision\n>> 2",
    ],
)
def test_the_revision_that_a_mail_answers_is_found(text: str) -> None:
    answer = read(text)
    assert (answer.revision, answer.everything) == (2, True)


def test_a_mail_that_names_no_revision_has_none() -> None:
    assert read("all ok\n> a song called revision 2 of it").revision is None
    assert read("3: as in revision 2").revision is None


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        ("1 ok\n2 not ok", 2, "2 not ok"),
        ("1 ok but louder", 1, "1 ok but louder"),
        ("the second one is too bright", 1, "too bright"),
        ("1 ok\nbut the fade is short", 2, "but the fade"),
        ("ok, 3: more bass", 1, "ok, 3"),
        ("5-2 ok", 1, "5-2 ok"),
        ("1-2.3 ok", 1, "1-2.3"),
        ("3: more bass\n2 okay I guess", 2, "2 okay I guess"),
        ("all ok?", 1, "all ok"),
        ("not all ok", 1, "not all ok"),
        ("1 ok 2: louder", 1, "1 ok 2"),
        ("1. 2 ok", 1, "1. 2 ok"),
        ("2 ok. 3 dB more bass would be nice", 1, "2 ok. 3 dB"),
        ("2: ok, just louder at the end", 1, "just louder"),
        ("yes", 1, "yes"),
        ("alles ok", 1, "alles ok"),
        ("tout est bon", 1, "tout est bon"),
        ("3: at 2:10 louder\nall good otherwise", 2, "all good otherwise"),
    ],
)
def test_what_is_unclear_is_refused_with_its_line(text: str, line: int, found: str) -> None:
    with pytest.raises(Faulty) as caught:
        read(text)
    assert f"mail.txt:{line}" in str(caught.value)
    assert found in str(caught.value)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("all ok\n3: more bass", "everything approved, and a change requested for track 3"),
        ("3 ok\n3: more bass", "track 3 approved, and a change requested"),
        ("> 1 ok\n> 2 ok\n", "no answer"),
        ("Hi Tom,\nthanks!", "no answer"),
        ("👍", "no answer"),
        ("", "no answer"),
    ],
)
def test_contradictions_and_empty_answers_are_refused(text: str, found: str) -> None:
    with pytest.raises(Faulty, match=found):
        read(text)


def test_the_text_of_the_form_states_who_when_and_what_was_played() -> None:
    text = (
        "Answer to Merrow: Low Water, revision 2\nBy: I. Merrow\nDate: 2026-05-12\n\n1 ok\n"
        "3: at 1:23.4, more bass, 4 ok\n\nAudio: 1 474943ba, 3 a472c0d1\nLabel copy: 0123456789ab\n"
    )
    answer = read(text)
    assert (answer.by, answer.dated, answer.revision) == ("I. Merrow", date(2026, 5, 12), 2)
    assert answer.audio_hashes == {"1": "474943ba", "3": "a472c0d1"}
    assert answer.label_copy == "0123456789ab"
    assert answer.approved == ("1",), "one track a line there: no comma begins another"
    assert [(one.track, one.at_s) for one in answer.requests] == [("3", 83.4)]


def test_a_line_of_any_length_is_read_in_time() -> None:
    for text in ("1, " * 40_000 + "x", "3:" + " " * 100_000 + "x", "1 and " * 20_000, "1, " * 300 + "x", " and " * 180):
        with pytest.raises(Faulty):
            read(text + "\n2 maybe")


HEADER = "From: {sender}\nTo: M\nSubject: Re: Low Water, revision 2\nDate: {day}\n\n1 ok\n"


@pytest.mark.parametrize(
    ("sender", "name"),
    [("Ada Fenn <ada@label.example>", "Ada Fenn"), ('"Fenn, Ada" <a@label.example>', "Fenn, Ada"), ("a@b.example", "")],
)
def test_the_header_of_a_saved_mail_states_sender_and_day(sender: str, name: str) -> None:
    """RFC 5322, 3.6: the day as the sender's clock had it."""
    answer = read(HEADER.format(sender=sender, day="Wed, 13 May 2026 00:10:00 +0200"))
    assert (answer.by, answer.dated, answer.revision) == (name, date(2026, 5, 13), 2)


def test_what_the_answer_states_counts_before_the_header() -> None:
    stated = HEADER.format(sender="Office <o@label.example>", day="Wed, 13 May 2026 00:10:00 +0200")
    answer = read(stated + "By: Ada Fenn\nDate: 2026-05-12\n")
    assert (answer.by, answer.dated) == ("Ada Fenn", date(2026, 5, 12))


def test_a_date_that_is_none_is_still_refused() -> None:
    with pytest.raises(Faulty, match="last Tuesday"):
        read(HEADER.format(sender="Ada", day="last Tuesday"))
