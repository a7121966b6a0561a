"""A progress bar for long work, on stderr so that results can be piped."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

if TYPE_CHECKING:
    from rich.console import Console


class ProgressBar:
    """Draws what `screener.receiving.progress.Progress` tells; plain lines where the terminal cannot redraw."""

    def __init__(self, console: Console) -> None:
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        self._bar = Progress(*columns, console=console, transient=False)
        self._photos: TaskID | None = None
        self._items: TaskID | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._bar.stop()

    def begin(self, photos: int, items: int) -> None:
        """See `screener.receiving.progress.Progress`."""
        self._bar.start()
        self._photos = self._bar.add_task("Reading photos", total=photos)
        # Some work only reads photos.
        self._items = self._bar.add_task("Judging items", total=items) if items else None

    def photo_read(self, name: str, *, remembered: bool) -> None:
        """See `screener.receiving.progress.Progress`."""
        del name, remembered
        if self._photos is not None:
            self._bar.advance(self._photos)

    def item_done(self, key: str, disposition: str) -> None:
        """See `screener.receiving.progress.Progress`."""
        del key, disposition
        if self._items is not None:
            self._bar.advance(self._items)
