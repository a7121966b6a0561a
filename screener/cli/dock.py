"""``screener dock``: the page for the bench."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from screener.cli.output import messages
from screener.cli.receive import RecordOption
from screener.errors import WrongUsage


def dock_command(
    *,
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, help="Port to listen on; 0 takes a free one.")
    ] = 8377,
    record: RecordOption = None,
    open_to_network: Annotated[
        bool, typer.Option("--open-to-network", help="Let other machines of the shop in, each after pairing.")
    ] = False,
    tls_cert: Annotated[
        Path | None, typer.Option("--tls-cert", metavar="FILE", help="Certificate (PEM), for https.")
    ] = None,
    tls_key: Annotated[Path | None, typer.Option("--tls-key", metavar="FILE", help="Its key (PEM).")] = None,
    token_file: Annotated[
        Path | None,
        typer.Option("--token-file", metavar="FILE", help="Secret of other programs; made if the file is not there."),
    ] = None,
    host_name: Annotated[
        list[str] | None,
        typer.Option("--host-name", metavar="NAME", help="A further name that people type for this machine."),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option("--workers", metavar="N", help="Processes that read photos; by default one a core.", min=1),
    ] = None,
) -> None:
    """Serve the bench page to the browser on this machine, or to the tablets of the shop.

    Without --open-to-network nothing but this machine is answered. A tablet is paired with the code that is shown.
    A live camera needs https (--tls-cert, --tls-key); taking photos and a scanner do not.
    """
    from screener.dock.serve import serve, token_in
    from screener.dock.settings import DockSettings
    from screener.records.record import Record

    tls = _tls(tls_cert, tls_key)
    with Record.open(record) as opened:
        settings = DockSettings(
            state_folder=opened.place.photos.parent,
            port=port,
            open_to_network=open_to_network,
            tls=tls is not None,
            host_names=tuple(host_name or ()),
            api_token=token_in(token_file) if token_file is not None else None,
            workers=workers or os.cpu_count() or 1,
        )
        _say(f"Record: {opened.place.says}")
        serve(settings, opened, _say, tls=tls)


def _tls(cert: Path | None, key: Path | None) -> tuple[Path, Path] | None:
    if cert is None and key is None:
        return None
    if cert is None or key is None:
        raise WrongUsage("https needs both.", where="--tls-cert, --tls-key", next_step="Name certificate and key.")
    for path in (cert, key):
        if not path.is_file():
            raise WrongUsage("there is no such file.", where=str(path))
    return cert, key


def _say(line: str) -> None:
    messages.print(line, markup=False, soft_wrap=True)
