"""A real server in its own process, with a stand-in for the reader: ``python fake_server.py RECORD PHOTOS READER``."""

from __future__ import annotations

import sys
from pathlib import Path

from dock import fake_readers
from dock.conftest import TOKEN

from screener.dock.serve import serve
from screener.dock.settings import DockSettings
from screener.records.record import Record

if __name__ == "__main__":
    target, photos, reader = sys.argv[1:]
    settings = DockSettings(
        state_folder=Path(photos).parent,
        port=0,
        api_token=TOKEN,
        workers=2,
        queue_limit=5,
        reader=getattr(fake_readers, reader),
        prepare_readers=False,
    )
    with Record.open(target, photos=Path(photos)) as record:
        serve(settings, record, lambda line: print(line, flush=True))  # noqa: T201
