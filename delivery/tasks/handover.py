"""Note hand-overs of packages, and what recipients answered; withdraw what was noted by mistake."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from delivery.errors import Unfinished, Unusable
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger, Out
from delivery.ledger.past import Handover, PastDelivery
from delivery.pack.bag_check import check_bag
from delivery.pipeline.deliveries import superseded
from delivery.pipeline.past_package import read_package
from delivery.report.view.history import handed
from delivery.report.view.words import counted, listed

UNCHANGED = "Nothing was noted."


def hand_over(
    package: Path, to: str, by: str, day: str, how: str, ledger: Path
) -> tuple[PastDelivery, Handover, tuple[str, ...]]:
    """Note that *package* left; a package that the ledger does not know is read into it first.

    Returns
    -------
    The delivery, the note, and remarks: it is not approved, or not the last revision

    Raises
    ------
    Unusable : no package, no name of a recipient or sender, a package with a file that is not as it was packed, or one
        that is not what was approved
    Unfinished : the ledger cannot be written
    """
    handover = Handover(to.strip(), by.strip(), day, how.strip())
    for option, text, wanted in (("--to", handover.recipient, "recipient"), ("--by", handover.sender, "sender")):
        if not text:
            raise Unusable(option, "no name", f"the {wanted}'s name", f"Write {option} NAME.")
    from delivery.tasks.approved_package import beside_approval, refusal  # loads all that reads releases

    delivered = DeliveryLedger(ledger)
    read = read_package(package)
    _refuse_damaged(package)
    known = _known(package, ledger)
    compared = beside_approval(package, replace(read, approvals=known.approvals), delivered)
    if compared.differences:
        raise refusal(package, compared)
    notes = HandoverLedger(ledger)
    if not notes.note(known.fingerprint, handover):
        raise _not_written(notes)
    return known, handover, tuple(filter(None, (superseded(known, delivered), compared.remark)))


def answer(package: Path, recipient: str, text: str, day: str, ledger: Path) -> tuple[PastDelivery, str]:
    """Note the answer of *recipient* about *package*; the delivery, and whose answer it is.

    Parameters
    ----------
    recipient : empty: the only one it was handed over to

    Raises
    ------
    Unusable : no package, or it was not handed over to them, or to several of whom none is named
    Unfinished : the ledger cannot be written
    """
    known = _known(package, ledger)
    recipients = list(dict.fromkeys(each.recipient for each in known.handovers))
    if not recipients:
        remedy = "Note the hand-over first: delivery handover PACKAGE --to NAME --by NAME."
        raise Unusable(package.name, "no hand-over noted", "one to answer", remedy)
    whose = recipient.strip() or (recipients[0] if len(recipients) == 1 else "")
    if whose not in recipients:
        found = repr(recipient) if recipient else f"{len(recipients)} recipients"
        raise Unusable("--to", found, f"one of {listed(recipients)}", "Name whose answer it is, as in the hand-over.")
    notes = HandoverLedger(ledger)
    if not notes.answer(known.fingerprint, whose, text, day):
        raise _not_written(notes)
    return known, whose


def withdraw(package: Path, to: str, by: str, day: str, how: str, ledger: Path) -> tuple[PastDelivery, Handover]:
    """Remove the note of a hand-over that did not happen, or was noted wrongly; the delivery, and what was removed.

    Parameters
    ----------
    to, by, day, how : what is stated of it; what is empty is not stated, or was empty where several are alike otherwise

    Raises
    ------
    Unusable : no package, or no hand-over is meant, or several are
    Unfinished : the ledger cannot be written
    """
    known = _known(package, ledger)
    stated = _note(Handover(to.strip(), by.strip(), day, how.strip()))
    likely = [each for each in known.handovers if all(a in ("", b) for a, b in zip(stated, _note(each), strict=True))]
    meant = [each for each in likely if _note(each) == stated] or likely
    if len(meant) != 1:
        noted = "; ".join(handed(each) for each in meant or known.handovers)
        found = f"{len(meant)} hand-overs" if meant else "no such hand-over"
        remedy = "Name it by --to, --by, --date and --how."
        raise Unusable(package.name, found, f"one of: {noted}" if noted else "one to withdraw", remedy)
    notes = HandoverLedger(ledger)
    if not notes.withdraw(known.fingerprint, meant[0]):
        raise _not_written(notes)
    return known, meant[0]


def handed_over(ledger: Path) -> tuple[tuple[Out, ...], tuple[str, ...]]:
    """What is out and waits for an approval or an answer, and remarks about the ledger."""
    notes = HandoverLedger(ledger)
    return notes.out(), tuple(notes.remarks)


def _note(handover: Handover) -> tuple[str, str, str, str]:
    """What a person noted, without the answer."""
    return handover.recipient, handover.sender, handover.day, handover.how


def _refuse_damaged(package: Path) -> None:
    """The ledger says which bits left, by the lists of the package: so each file is compared with them.

    Raises
    ------
    Unusable : a file is changed, missing, extra or renamed
    """
    differences = [each for each in check_bag(package) if not each.harmless]
    if differences:
        first, *rest = differences
        found = f"{first.path}: {first.kind}" + (
            f", and {counted(len(rest), 'more difference', 'more differences')}" if rest else ""
        )
        remedy = f"Look: delivery verify PACKAGE. {UNCHANGED}"
        raise Unusable(package.name, found, "every file as it was packed", remedy)


def _known(package: Path, path: Path) -> PastDelivery:
    ledger = DeliveryLedger(path)
    read = read_package(package)
    known = ledger.by_fingerprint(read.fingerprint)
    if known is None and ledger.record(read, built=False):
        known = ledger.by_fingerprint(read.fingerprint)
    if known is None:
        raise _not_written(ledger)
    return known


def _not_written(ledger: DeliveryLedger | HandoverLedger) -> Unfinished:
    reason = ledger.remarks[-1] if ledger.remarks else "no entry"
    return Unfinished(str(ledger.path), reason, "a ledger that can be written", UNCHANGED)
