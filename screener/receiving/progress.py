"""What long work tells whoever watches: the command line draws a bar, a page streams it, a test counts."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Receives what happens. All methods return at once and never raise."""

    def begin(self, photos: int, items: int) -> None:
        """So many photos are to be read and items to be judged."""

    def photo_read(self, name: str, *, remembered: bool) -> None:
        """One photo is read; ``remembered`` when the reading was in the record."""

    def item_done(self, key: str, disposition: str) -> None:
        """One item is judged and recorded."""


class Silent:
    """Watches nothing."""

    def begin(self, photos: int, items: int) -> None:
        """See `Progress`."""

    def photo_read(self, name: str, *, remembered: bool) -> None:
        """See `Progress`."""

    def item_done(self, key: str, disposition: str) -> None:
        """See `Progress`."""
