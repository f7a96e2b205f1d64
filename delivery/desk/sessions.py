"""Who may ask: a single-use secret is exchanged for a cookie and a token, each of 256 random bits."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

SECRET_LASTS_S = 300.0
COOKIE = "delivery-desk"
TOKEN_HEADER = "x-desk-token"


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that was let in."""

    cookie: str
    token: str
    """Sent as a header with every post: a page of another service on this machine cannot know it."""


class Sessions:
    """Secrets given out and sessions begun. Every method may be called from any thread."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.path = f"/{secrets.token_urlsafe(16)}/"
        """Path of all pages. The cookie is limited to it, because browsers send a cookie to every port of a host."""
        self.key = secrets.token_urlsafe(32)
        """For a second start of the program, which reads it from a file that only the user can read."""
        self._clock = clock
        self._secrets: dict[str, float] = {}
        self._sessions: dict[str, Session] = {}
        self._lock = threading.Lock()

    def new_secret(self) -> str:
        """A secret that admits one browser, once and for a short time."""
        secret = secrets.token_urlsafe(32)
        with self._lock:
            self._secrets[secret] = self._clock() + SECRET_LASTS_S
        return secret

    def enter(self, secret: str) -> Session | None:
        """Exchange *secret* for a session, once; None if it is unknown, used or too old."""
        with self._lock:
            known = next((one for one in self._secrets if same(one, secret)), "")
            until = self._secrets.pop(known, 0.0)
            if not known or self._clock() > until:
                return None
            session = Session(secrets.token_urlsafe(32), secrets.token_urlsafe(32))
            self._sessions[session.cookie] = session
            return session

    def session_of(self, cookie: str) -> Session | None:
        """The session of that cookie; None if there is none."""
        with self._lock:
            return next((one for known, one in self._sessions.items() if same(known, cookie)), None)


def same(one: str, other: str) -> bool:
    """Compare in a time that does not depend on where they differ."""
    return hmac.compare_digest(one.encode("utf-8"), other.encode("utf-8"))
