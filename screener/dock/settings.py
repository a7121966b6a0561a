"""How one dock server is set up."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from screener.looking.look import look
from screener.looking.reading import PhotoReading

PORT = 8377


@dataclass(frozen=True, slots=True)
class DockSettings:
    """What the person who starts the server decides, and the limits that keep it standing."""

    state_folder: Path
    """Where the key that signs the tablets' sessions is kept, readable by its owner only."""
    port: int = PORT
    open_to_network: bool = False
    """Whether other machines of the shop may connect; they have to be paired."""
    tls: bool = False
    host_names: tuple[str, ...] = ()
    """Names, besides addresses and this machine's own, that people may type to reach the server."""
    api_token: str | None = None
    """Secret of other programs; None lets none in."""
    workers: int = field(default_factory=lambda: os.cpu_count() or 1)
    """Processes that read photos."""
    queue_limit: int = 64
    """Photos waiting to be read; more are asked to come again."""
    max_photo_bytes: int = 40_000_000
    max_order_bytes: int = 10_000_000
    max_uploads_at_once: int = 8
    upload_seconds: float = 120.0
    read_seconds: float = 90.0
    """A photo that takes longer is given up."""
    reader_memory_bytes: int = 4_000_000_000
    reader: Callable[[Path], PhotoReading] = look
    """Reads one photo, in another process."""
    prepare_readers: bool = True
    """Whether the reading processes load their models when they start, not with the first photo."""
