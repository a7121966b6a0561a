"""``screener look``: what can be seen in photos, without judging it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import UNREADABLE
from screener.cli.output import print_json, print_plain
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.looking.look import Want
    from screener.looking.reading import PhotoReading
    from screener.vision.model import PartSeen


def look_command(
    photos: Annotated[list[Path], typer.Argument(metavar="PHOTO", help="Photos to look at.")],
    *,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line, schema screener.look/1.")] = False,
    only: Annotated[
        str | None, typer.Option("--only", metavar="codes|parts|label", help="Do just this part of the work.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="Processes; by default one a core.", min=1)
    ] = None,
) -> None:
    """Read codes, parts and labels in photos and print what was seen. Decides nothing."""
    from screener.looking.many import look_at_all
    from screener.looking.reading import as_json as reading_json

    unreadable = False
    for reading in look_at_all(photos, _wanted(only), workers=workers):
        unreadable = unreadable or not reading.readable
        if as_json:
            print_json(reading_json(reading))
        else:
            _print_reading(reading)
    if unreadable:
        raise typer.Exit(UNREADABLE)


def _wanted(only: str | None) -> frozenset[Want]:
    from screener.looking.look import ALL

    if only is None:
        return ALL
    wanted = frozenset(w for w in ALL if w == only)
    if not wanted:
        raise WrongUsage(f"“{only}” is not one of codes, parts, label.", where="--only")
    return wanted


def _print_reading(reading: PhotoReading) -> None:
    print_plain(f"{reading.photo}  ({reading.width_px} × {reading.height_px})", style="bold")
    for problem in reading.problems:
        print_plain(f"  ! {problem.says}")
    for code in reading.codes:
        confirmed = f", confirmed by {', '.join(code.confirmed_by)}" if code.confirmed_by else ", not confirmed"
        print_plain(f"  code   {code.symbology}: {code.text}{confirmed}")
    for part in reading.parts:
        print_plain(f"  part   {_part_in_words(part)}")
    if reading.label is not None:
        for line in reading.label.lines:
            print_plain(f"  label  {line.text}")


def _part_in_words(part: PartSeen) -> str:
    words = [part.kind.replace("_", " ")]
    if part.closure is not None:
        words.append(f"{part.closure.value.replace('_', ' ')} ({part.closure.p:.0%})")
    if part.lip_face is not None:
        words.append(f"{part.lip_face.value.replace('_', ' ')} ({part.lip_face.p:.0%})")
    if part.snap_ring_groove is not None and part.snap_ring_groove.value != "not_seen":
        words.append(f"snap-ring groove {part.snap_ring_groove.value} ({part.snap_ring_groove.p:.0%})")
    if part.od_mm is not None:
        words.append(f"outside {part.od_mm.value:.1f} ± {2 * part.od_mm.u:.1f} mm")
    if part.bore_to_od is not None:
        words.append(f"bore/outside {part.bore_to_od.value:.3f} ± {2 * part.bore_to_od.u:.3f}")
    if part.designation is not None:
        words.append(f"marked {part.designation.text} ({part.designation.p:.0%})")
    if part.sizes:
        words.append("size " + " or ".join(f"{s.name} ({s.p:.0%})" for s in part.sizes[:3]))
    return ", ".join(words)
