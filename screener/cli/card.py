"""``screener card``: the scale card to print."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from screener.cli.output import print_plain


def card_command(
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="Where to write the PDF.")] = Path("card.pdf"),
) -> None:
    """Write the scale card. Print it at 100 %, check its ruler line, and lay it beside the part in every photo."""
    from screener.reports.whole_file import need_folder
    from screener.vision.card_print import write_card

    need_folder(out)
    write_card(out)
    print_plain(f"{out}: print at 100 % (no scaling), then measure the ruler line on the print: it must be 50 mm.")
