"""Who may talk to the server: paired stations by a signed cookie, other programs by a token.

The cookie holds an identity and a moment, signed with a key that lies beside the record; nothing is kept in memory, so
a tablet stays paired when the server is started again. Deleting the key file sends every tablet back to pairing.
"""

from __future__ import annotations

import base64
import binascii
import contextlib
import hashlib
import hmac
import json
import os
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkstemp
from typing import Literal

from screener.errors import ScreenerError
from screener.records.place import make_folder

COOKIE = "screener_session"
KEY_FILE = "dock-sessions.key"
KEY_BYTES = 32
VALID_SECONDS = 30 * 24 * 3600
PAIRING_SECONDS = 10 * 60
PAIRING_TRIES = 5
"""Wrong codes before a new code is made; with eight digits nobody guesses one in that many."""
PAIRING_TRIES_A_MINUTE = 10


@dataclass(frozen=True, slots=True)
class Session:
    """A paired station (a browser) or another program."""

    id: str
    kind: Literal["station", "program"]
    csrf_token: str = ""
    """What a page has to send along with every change."""


class Sessions:
    """Makes and checks the cookies of one server."""

    def __init__(self, key: bytes, *, clock: Callable[[], float] = time.time) -> None:
        self._key = key
        self._clock = clock

    @classmethod
    def kept_in(cls, folder: Path) -> Sessions:
        """Use the key in ``folder``, making it where there is none."""
        make_folder(folder)
        path = folder / KEY_FILE
        # Written aside and linked: two servers that start at once find one whole key. Private from the first moment.
        descriptor, aside = mkstemp(dir=folder, prefix=".key-")
        with os.fdopen(descriptor, "wb") as file:
            file.write(secrets.token_bytes(KEY_BYTES))
        with contextlib.suppress(FileExistsError):
            os.link(aside, path)
        Path(aside).unlink()
        key = path.read_bytes()
        if len(key) != KEY_BYTES:
            raise ScreenerError(
                "this is no key of ours.",
                where=str(path),
                next_step="Remove the file; tablets then have to be paired again.",
                code="key_file",
            )
        return cls(key)

    def new_cookie(self) -> str:
        """Return the value of a new station's cookie."""
        body = json.dumps([secrets.token_urlsafe(16), int(self._now())]).encode()
        text = base64.urlsafe_b64encode(body).decode().rstrip("=")
        return f"{text}.{self._sign('session', text)}"

    def session_of(self, cookie: str) -> Session | None:
        """Return the session that a cookie stands for; None if it was not made here or is too old."""
        text, _, signature = cookie.partition(".")
        if not hmac.compare_digest(signature.encode(), self._sign("session", text).encode()):
            return None
        try:
            identity, made = json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
        except (ValueError, binascii.Error):
            return None
        if self._now() - made > VALID_SECONDS:
            return None
        return Session(identity, "station", self._sign("csrf", identity))

    def _sign(self, what: str, text: str) -> str:
        return hmac.new(self._key, f"{what}:{text}".encode("utf-8", "replace"), hashlib.sha256).hexdigest()

    def _now(self) -> float:
        return self._clock()


class Pairing:
    """The code that lets a tablet in: eight digits, for ten minutes, a few tries.

    Parameters
    ----------
    tell
        Called with each new code as people read it out, so that it stands on the server's screen.
    """

    def __init__(self, tell: Callable[[str], None], *, clock: Callable[[], float] = time.monotonic) -> None:
        self._tell = tell
        self._clock = clock
        self._tries: deque[float] = deque()
        self._renew()

    def refresh(self) -> None:
        """Make a new code if the last one is too old."""
        if self._now() - self._made > PAIRING_SECONDS:
            self._renew()

    def admits(self, given: str) -> Literal["yes", "no", "wait"]:
        """Check a code that somebody typed. A right one is used up; after too many wrong ones a new code is made."""
        now = self._now()
        while self._tries and now - self._tries[0] > 60:
            self._tries.popleft()
        if len(self._tries) >= PAIRING_TRIES_A_MINUTE:
            return "wait"
        self._tries.append(now)
        self.refresh()
        digits = "".join(letter for letter in given if letter.isdigit())
        if hmac.compare_digest(digits.encode(), self._code.encode()):
            self._renew()
            return "yes"
        self._wrong += 1
        if self._wrong >= PAIRING_TRIES:
            self._renew()
        return "no"

    def _renew(self) -> None:
        self._code = f"{secrets.randbelow(10**8):08d}"
        self._made, self._wrong = self._now(), 0
        self._tell(f"{self._code[:4]} {self._code[4:]}")

    def _now(self) -> float:
        return self._clock()
