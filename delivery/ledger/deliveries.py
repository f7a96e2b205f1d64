"""What was delivered: every package with its recordings, its files and its data document.

A notebook of one's own: it holds no audio and no clock times, only what the packages say and the days that a person
states. A package of the first revision does not depend on it; the papers of a later one state what changed.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Mapping, Sequence

from delivery.ledger import rows
from delivery.ledger.access import LedgerAccess
from delivery.ledger.past import DeliveredRecording, PastDelivery, Standing
from delivery.ledger.same_release import ReleaseIdentity, keys_of
from delivery.model.recording import Recording

NEWEST = "ORDER BY turn DESC"
OF_RECORDING = "SELECT delivery FROM recording WHERE"
OF_PART = "SELECT delivery FROM part WHERE"


class DeliveryLedger(LedgerAccess):
    """The deliveries of the ledger, each by the fingerprint of its package."""

    def record(self, delivery: PastDelivery, *, built: bool = True) -> bool:
        """Store *delivery*; a package with the same fingerprint is the same delivery, and takes the new values.

        Parameters
        ----------
        built : it was built now, and is the last one; False: read back, it keeps its place in the order

        Returns
        -------
        True if it is recorded; if not, a remark states why
        """
        return self.write(lambda store: rows.write(store, delivery, built=built))

    def keys_of(self, identity: ReleaseIdentity) -> tuple[str, ...]:
        """The keys under which deliveries of that release are recorded, the last one first; mostly one, or none."""
        nothing: tuple[str, ...] = ()
        return self.read(lambda store: keys_of(store, identity), nothing)

    def last_of(
        self,
        identity: ReleaseIdentity,
        below: int | None = None,
        *,
        specs: Collection[str] = (),
        document: bool = True,
    ) -> PastDelivery | None:
        """The last delivery of a release: of the highest revision, the one with most of *specs*, recorded last.

        So a package made for a new recipient from an archived one does not take the place of the delivery itself.

        Parameters
        ----------
        below : only revisions lower than this one; None: any
        specs : ids, of the delivery that is to be compared with it
        document : with its data document
        """
        keys = self.keys_of(identity)
        marks = ", ".join("?" for _ in keys)
        of_release = f"release_key IN ({marks}) AND fingerprint <> '' AND (? IS NULL OR revision < ?)"
        query = (
            f"SELECT id FROM delivery WHERE {of_release} "
            f"AND revision = (SELECT max(revision) FROM delivery WHERE {of_release}) {NEWEST}"
        )
        found = self._ids(query, *keys, below, below, *keys, below, below) if keys else []
        if len(found) > 1 and specs:
            common = {each.id: sum(spec["id"] in specs for spec in each.specs) for each in self.of_numbers(found)}
            found = sorted(common, key=lambda number: -common[number])  # the order of equals stays
        return self.get(found[0], document=document) if found else None

    def of_revision(self, identity: ReleaseIdentity, revision: int) -> tuple[PastDelivery, ...]:
        """The deliveries of a release in that revision, the last one first."""
        keys = self.keys_of(identity)
        marks = ", ".join("?" for _ in keys)
        query = (
            f"SELECT id FROM delivery WHERE release_key IN ({marks}) AND revision = ? AND fingerprint <> '' {NEWEST}"
        )
        return self._all(query, *keys, revision) if keys else ()

    def last_approved(self, identity: ReleaseIdentity) -> PastDelivery | None:
        """The approved delivery of a release with the highest revision, with its data document; None: there is none."""
        keys = self.keys_of(identity)
        query = (
            f"SELECT id FROM delivery WHERE release_key IN ({', '.join('?' for _ in keys)}) AND fingerprint <> '' "
            "AND id IN (SELECT delivery FROM approval) ORDER BY revision DESC, turn DESC LIMIT 1"
        )
        found = self._ids(query, *keys) if keys else []
        return self.get(found[0], document=True) if found else None

    def get(self, id: int, *, document: bool = False) -> PastDelivery | None:
        """The delivery of that number, or None; *document*: with its data document."""
        return self.read(lambda store: rows.read(store, id, document=document), None)

    def named(self, text: str) -> list[int]:
        """Numbers of the deliveries with every word of *text* in a title, name or code, the last one first.

        Upper and lower case and accents do not matter.
        """
        words = rows.normalised(text).split()
        every = " AND ".join("instr(words, ?)" for _ in words) or "TRUE"
        return self._ids(f"SELECT id FROM delivery WHERE {every} {NEWEST}", *words)

    def of_numbers(self, numbers: Iterable[int]) -> tuple[PastDelivery, ...]:
        """The deliveries of these numbers, in their order."""

        def look(store: sqlite3.Connection) -> tuple[PastDelivery, ...]:
            return tuple(each for number in numbers if (each := rows.read(store, number)))

        nothing: tuple[PastDelivery, ...] = ()
        return self.read(look, nothing)

    def with_isrc(self, isrc: str) -> tuple[PastDelivery, ...]:
        """Deliveries of a recording under that code (12 characters, no hyphens), the last one first."""
        return self._all(f"SELECT id FROM delivery WHERE id IN ({OF_RECORDING} isrc = ? AND isrc <> '') {NEWEST}", isrc)

    def with_bytes(self, sha256: str) -> tuple[PastDelivery, ...]:
        """Deliveries with a file of exactly these bytes, the last one first."""
        return self._all(f"SELECT id FROM delivery WHERE id IN ({OF_PART} sha256 = ?) {NEWEST}", sha256)

    def with_sound(self, audio_hash: str) -> tuple[PastDelivery, ...]:
        """Deliveries with a file, or of a master, that has exactly these samples, the last one first."""
        among = (
            f"{OF_PART} audio_hash = ? AND audio_hash <> '' UNION {OF_RECORDING} audio_hash = ? AND audio_hash <> ''"
        )
        return self._all(f"SELECT id FROM delivery WHERE id IN ({among}) {NEWEST}", audio_hash, audio_hash)

    def in_month(self, month: str) -> tuple[PastDelivery, ...]:
        """Deliveries dated in *month* ('2026-11') or, where a package states no date, first handed over in it."""
        handed = "SELECT delivery FROM handover GROUP BY delivery HAVING substr(min(day), 1, 7) = ?"
        return self._all(
            "SELECT id FROM delivery WHERE dated >= ? AND dated < ? "
            f"UNION SELECT id FROM delivery WHERE dated = '' AND id IN ({handed}) ORDER BY id",
            f"{month}-",
            f"{month}.",
            month,
        )

    def undated(self) -> int:
        """How many packages belong to no month: they state no date, and no hand-over is noted."""
        query = "SELECT count(*) FROM delivery WHERE dated = '' AND id NOT IN (SELECT delivery FROM handover)"
        return (self._ids(query) or [0])[0]

    def standings(self, deliveries: Iterable[PastDelivery]) -> dict[int, Standing]:
        """By number: the state of each of *deliveries* among those of its release."""

        def look(store: sqlite3.Connection) -> dict[int, Standing]:
            return {each.id: rows.standing(store, each.id) for each in deliveries}

        nothing: dict[int, Standing] = {}
        return self.read(look, nothing)

    def approve(self, identity: ReleaseIdentity, approver: str, day: str, audio_hashes: Sequence[str]) -> int:
        """Note an approval for every delivery of the release whose masters are these, by position; how many.

        Parameters
        ----------
        audio_hashes : of the masters in release order; each at least its first eight digits
        """
        heard = dict(enumerate(audio_hashes, start=1))
        query = "SELECT id FROM delivery WHERE release_key = ? AND fingerprint <> ''"
        numbers = [number for key in self.keys_of(identity) for number in self._ids(query, key)]
        covered = [
            number
            for number in numbers
            if (found := self.get(number))
            and found.recordings
            and all(_is_among(one, heard) for one in found.recordings)
        ]
        values = [(number, approver, day) for number in covered]
        query = "INSERT OR IGNORE INTO approval (delivery, approver, day) VALUES (?, ?, ?)"

        def note(store: sqlite3.Connection) -> None:
            store.executemany(query, values)

        return len(covered) if covered and self.write(note) else 0

    def by_fingerprint(self, fingerprint: str) -> PastDelivery | None:
        """The delivery of the package with that fingerprint, or None."""
        query = "SELECT id FROM delivery WHERE fingerprint = ? AND fingerprint <> ''"
        found = self._ids(query, fingerprint)
        return self.get(found[0]) if found else None

    def sent_before(
        self,
        *,
        isrc: Iterable[str] = (),
        audio_hash: Iterable[str] = (),
        upc: Iterable[str] = (),
        catalogue_number: Iterable[str] = (),
    ) -> tuple[Recording, ...]:
        """Every recording delivered under one of these codes or with one of these sounds, oldest delivery first."""
        columns = {
            "recording.isrc": isrc,
            "recording.audio_hash": audio_hash,
            "delivery.upc": upc,
            "delivery.catalogue_number": catalogue_number,
        }
        wanted = {column: sorted({value for value in some if value}) for column, some in columns.items()}
        if not any(wanted.values()):
            return ()

        def look(store: sqlite3.Connection) -> dict[int, Recording]:
            return {number: sent for column, some in wanted.items() for number, sent in rows.sent(store, column, some)}

        nothing: dict[int, Recording] = {}
        found = self.read(look, nothing)
        return tuple(found[number] for number in sorted(found))

    def _all(self, query: str, *values: object) -> tuple[PastDelivery, ...]:
        """The deliveries whose numbers *query* gives, in its order."""
        return self.of_numbers(self._ids(query, *values))

    def _ids(self, query: str, *values: object) -> list[int]:
        nothing: list[int] = []
        return self.read(lambda store: rows.ids(store, query, values), nothing)


def _is_among(one: DeliveredRecording, heard: Mapping[int, str]) -> bool:
    return one.position in heard and one.audio_hash.startswith(heard[one.position])
