"""A month's deliveries by client: songs, parts, minutes, revisions, re-deliveries, open approvals. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from delivery.ledger.past import PastDelivery
from delivery.model.release import Studio
from delivery.report.view import words
from delivery.report.view.headings import Words
from delivery.report.view.history import approved, release

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
NO_CLIENT = "no client stated"
WORDS = Words(sheet="Deliveries")
CAUTION = "Counted from your own ledger: compare it with what was agreed before it becomes an invoice."


class Kind(Enum):
    """What a delivery is in the life of its release."""

    NEW = "new"
    """The first package of a release."""
    REVISION = "revision"
    """The first package of a later revision."""
    AGAIN = "re-delivery"
    """Another package of a revision that had been delivered."""


@dataclass(frozen=True, slots=True)
class Counted:
    """A delivery of the month, with the entries of the ledger around it."""

    delivery: PastDelivery
    kind: Kind
    open: bool
    """The last delivery of its release is not approved."""


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """One delivery of the month."""

    day: str
    release: str
    revision: int
    kind: str
    songs: int
    parts: int
    minutes: float
    approved: str
    """By whom and when; empty: not approved."""


@dataclass(frozen=True, slots=True)
class ClientMonth:
    """The counts of one client, or the sums of all."""

    client: str
    songs: int
    """Different songs, a track of a release counted once however often it was delivered."""
    parts: int
    """Sound files in all deliveries."""
    minutes: float
    """Playing time of these songs, as delivered last."""
    revisions: int
    redeliveries: int
    open_approvals: int
    """Releases whose last delivery is not approved."""
    deliveries: tuple[DeliveryRow, ...] = ()

    @property
    def counts(self) -> tuple[str, ...]:
        """Under `COLUMNS`, after the client."""
        minutes = f"{self.minutes:.1f}"
        whole = (self.songs, self.parts, minutes, self.revisions, self.redeliveries, self.open_approvals)
        return tuple(str(each) for each in whole)


COLUMNS = ("Client", "Songs", "Parts", "Minutes", "Revisions", "Re-deliveries", "Open approvals")
DELIVERY_COLUMNS = ("Date", "Release", "Rev", "Kind", "Songs", "Parts", "Minutes", "Approved")
NUMBERS = frozenset({*COLUMNS[1:], "Rev"})


@dataclass(frozen=True, slots=True)
class MonthView:
    """Everything that a report of a month prints."""

    month: str
    """'2026-11'."""
    title: str
    """'November 2026'."""
    clients: tuple[ClientMonth, ...]
    """By name; those without a name last."""
    total: ClientMonth
    notes: tuple[str, ...]
    studio: tuple[str, ...]
    running: str = ""
    """For the head of each page: the studio."""
    revision: str = ""
    """For the head of each page: the month."""
    lang: str = "en"
    words: Words = WORDS


def month_view(month: str, counted: Sequence[Counted], undated: int, studio: Studio) -> MonthView:
    """The report of *month* ('2026-11').

    Parameters
    ----------
    undated : packages in the ledger that belong to no month
    """
    title = f"{MONTHS[int(month[5:]) - 1]} {month[:4]}"
    went_out = [each for each in counted if not each.delivery.replaced]
    by_client: dict[str, list[Counted]] = {}
    for each in went_out:
        by_client.setdefault(_key(client_of(each.delivery)), []).append(each)
    clients = [_client(client_of(some[0].delivery), some) for some in by_client.values()]
    signed = tuple(filter(None, (studio.name, studio.engineer, *studio.contact.splitlines())))
    return MonthView(
        month,
        title,
        tuple(sorted(clients, key=lambda each: (each.client == NO_CLIENT, each.client.casefold()))),
        _sum(clients),
        tuple(_notes(len(counted) - len(went_out), undated)),
        tuple(words.plain(text) for text in signed),
        running=words.plain(studio.name or studio.engineer) or WORDS.sheet,
        revision=title,
    )


def client_of(delivery: PastDelivery) -> str:
    """The client that the release file states, else its label."""
    label = words.plain(delivery.label)
    return words.plain(delivery.client) or (f"{label} (label)" if label else NO_CLIENT)


def row(delivery: DeliveryRow) -> tuple[str, ...]:
    """A delivery under `DELIVERY_COLUMNS`."""
    return (
        delivery.day, delivery.release, str(delivery.revision), delivery.kind, str(delivery.songs), str(delivery.parts),
        f"{delivery.minutes:.1f}", delivery.approved or "no",
    )  # fmt: skip


def _client(client: str, counted: Sequence[Counted]) -> ClientMonth:
    in_order = sorted(counted, key=lambda each: each.delivery.id)
    lengths_s = {
        (each.delivery.release_key, one.position): one.duration_s
        for each in in_order
        for one in each.delivery.recordings
    }
    return ClientMonth(
        client,
        len(lengths_s),
        sum(len(each.delivery.files) for each in counted),
        _minutes(lengths_s.values()),
        sum(each.kind is Kind.REVISION for each in counted),
        sum(each.kind is Kind.AGAIN for each in counted),
        len({each.delivery.release_key for each in counted if each.open}),
        tuple(sorted((_row(each) for each in counted), key=lambda row: (row.day, row.release, row.revision))),
    )


def _sum(clients: Sequence[ClientMonth]) -> ClientMonth:
    """Of the counts as they are printed, so that every column adds up."""
    return ClientMonth(
        "All",
        sum(each.songs for each in clients),
        sum(each.parts for each in clients),
        round(sum(each.minutes for each in clients), 1),
        sum(each.revisions for each in clients),
        sum(each.redeliveries for each in clients),
        sum(each.open_approvals for each in clients),
    )


def _row(counted: Counted) -> DeliveryRow:
    delivery = counted.delivery
    return DeliveryRow(
        delivery.dated or min(each.day for each in delivery.handovers),
        release(delivery),
        delivery.revision,
        counted.kind.value,
        len(delivery.recordings),
        len(delivery.files),
        _minutes(one.duration_s for one in delivery.recordings),
        approved(delivery),
    )


def _minutes(lengths_s: Iterable[float]) -> float:
    return round(sum(lengths_s) / 60, 1)


def _key(client: str) -> str:
    return " ".join(client.casefold().split())


def _notes(replaced: int, undated: int) -> Iterator[str]:
    if replaced:
        count = words.counted(replaced, "build is", "builds are")
        yield f"{count} left out: a later one took its place in the same folder, and no hand-over of it is noted."
    if undated:
        count = words.counted(undated, "package of the ledger belongs", "packages of the ledger belong")
        yield f"{count} to no month: state 'dated' in the release file, or note the hand-over."
    yield CAUTION
