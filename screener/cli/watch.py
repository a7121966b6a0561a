"""``screener watch``: for cameras that only save files."""

from __future__ import annotations

import time
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import of_dispositions
from screener.cli.output import messages, print_json, print_plain
from screener.cli.receive import RecordOption
from screener.errors import InputUnreadable, WrongUsage

if TYPE_CHECKING:
    from screener.receiving.bench import Bench
    from screener.receiving.bench_watch import Taken


def watch_command(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder that the camera saves into.")],
    *,
    order: Annotated[
        Path | None,
        typer.Option(
            "--order", metavar="FILE", help="The order; without it, the newest delivery that is not finished."
        ),
    ] = None,
    record: RecordOption = None,
    every: Annotated[
        float, typer.Option("--every", metavar="SECONDS", help="Seconds between two looks.", min=0.2, max=60)
    ] = 2.0,
    once: Annotated[bool, typer.Option("--once", help="Take what is there and stop.")] = False,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="Processes; by default one a core.", min=1)
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line per photo.")] = False,
) -> None:
    """Take each photo that appears in a folder to its line, and answer the line anew.

    Photos are assigned as for receive: by folder, by name, or by what is read on them. Stopped and started again, it
    goes on: what was taken is in the record. With --once the exit code is that of receive.
    """
    from screener.receiving.bench import Bench
    from screener.receiving.bench_watch import Watcher
    from screener.records.record import Record

    if not folder.is_dir():
        raise InputUnreadable("there is no such folder.", where=str(folder), next_step="Make it, or name another.")
    with Record.open(record) as opened:
        bench = Bench(opened)
        run_id = _delivery(bench, order)
        watcher = Watcher(bench, run_id, folder, workers=workers)
        messages.print(f"Watching {folder} for delivery {run_id}.", markup=False, soft_wrap=True)
        for number in range(2) if once else _for_ever():
            if number:
                time.sleep(every)
            for taken in watcher.round():
                _tell(taken, as_json=as_json)
        words = [line.answer.word for line in bench.delivery(run_id).lines if line.answer is not None]
    raise typer.Exit(of_dispositions(words))


def _delivery(bench: Bench, order: Path | None) -> int:
    if order is not None:
        try:
            return bench.open_delivery(order.name, order.read_bytes())
        except OSError as error:
            raise InputUnreadable("this order cannot be opened.", where=str(order)) from error
    unfinished = [each for each in bench.deliveries() if each.kind == "receive" and each.finished_at is None]
    if not unfinished:
        raise WrongUsage("no delivery is open.", where="--order", next_step="Name the order of the delivery.")
    return unfinished[0].run_id


def _for_ever() -> range:
    # Longer than any machine runs.
    return range(10**12)


def _tell(taken: Taken, *, as_json: bool) -> None:
    if as_json:
        print_json(asdict(taken))
    elif taken.line is not None:
        print_plain(f"{taken.photo}: line {taken.line}, {taken.disposition or taken.state}. {taken.says}".rstrip())
    elif taken.state != "known":
        print_plain(f"{taken.photo}: {taken.state}. {taken.says}")
