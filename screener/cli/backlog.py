"""``screener backlog``: many photos into the record, without judging them."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated

import typer

from screener.cli.output import messages, print_json, print_plain
from screener.cli.receive import RecordOption


def backlog_command(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of photos, with all folders in it.")],
    *,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="Processes; by default one a core.", min=1)
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="tcp://HOST:PORT", help="Read on the workers of this scheduler.")
    ] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.backlog/1.")] = False,
) -> None:
    """Read a backlog of photos into the record, each content once; started again, it goes on where it stopped."""
    from screener.cli.progress_bar import ProgressBar
    from screener.receiving.backlog import on_cores, read_backlog
    from screener.receiving.backlog_cluster import on_cluster
    from screener.records.record import Record

    reader = on_cores(workers) if cluster is None else on_cluster(cluster)
    started = time.perf_counter()
    with Record.open(record) as opened, ProgressBar(messages) as bar:
        done = read_backlog(folder, opened, reader=reader, progress=bar)
    seconds = time.perf_counter() - started
    if as_json:
        print_json(
            {
                "schema": "screener.backlog/1",
                "photos": done.photos,
                "read": done.read,
                "remembered": done.remembered,
                "same_content": done.same_content,
                "unreadable": [{"photo": name, "says": says} for name, says in done.unreadable],
                "seconds": round(seconds, 2),
            }
        )
        return
    print_plain(
        f"{done.photos} photos: {done.read} read now, {done.remembered} read before, "
        f"{done.same_content} the same picture as another; {seconds:.0f} s."
    )
    for name, says in done.unreadable:
        print_plain(f"Could not be read: {name} – {says}")
