"""Answers to a delivery: the file of the sheet's form, or a mail in plain text. ``answer_of`` reads both."""

from delivery.intake.approval.answer import Answer as Answer
from delivery.intake.approval.answer import Request as Request
from delivery.intake.approval.read import answer_of as answer_of
