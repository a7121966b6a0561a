"""``screener reference``: photos of known-good packages and markings, and comparison with them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, cast

import typer
from rich.table import Table

from screener.cli.exit_codes import FINE, ON_HOLD
from screener.cli.lengths import number
from screener.cli.log import existing_record
from screener.cli.output import messages, print_json, print_plain, results
from screener.cli.plain_usage import PlainGroup
from screener.cli.receive import RecordOption
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.receiving.compare_references import ReferenceComparison
    from screener.records.references import ReferencePhoto

app = typer.Typer(
    cls=PlainGroup,
    help="Keep photos of known-good packages and markings, and compare new photos with them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
MakerOption = Annotated[str, typer.Option("--maker", metavar="NAME", help="The maker's word.")]
ProductOption = Annotated[str, typer.Option("--product", metavar="TEXT", help="The product, as ordered: 6205-2RS C3.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable form.")]


@app.command("add")
def add_command(
    photo: Annotated[Path, typer.Argument(metavar="FILE", help="A sharp, straight photo of what is known to be good.")],
    *,
    maker: MakerOption,
    product: ProductOption,
    who: Annotated[str, typer.Option("--by", metavar="NAME", help="Who says that it is good.")],
    kind: Annotated[str, typer.Option("--kind", metavar="package|marking", help="What the photo shows.")] = "package",
    date: Annotated[str, typer.Option("--date", metavar="DATE", help="Made or received, YYYY-MM-DD.")] = "",
    source: Annotated[str, typer.Option("--source", metavar="TEXT", help="Where the piece came from.")] = "",
    width: Annotated[
        float | None,
        typer.Option("--width-mm", parser=number, metavar="MM", help="Width of the panel; then sizes are in mm."),
    ] = None,
    corners: Annotated[
        str, typer.Option("--corners", metavar="x,y x,y x,y x,y", help="Corners of the panel, if it is not found.")
    ] = "",
    record: RecordOption = None,
    as_json: JsonOption = False,
) -> None:
    """Add a photo of a known-good package or marking."""
    from screener.records.record import Record
    from screener.records.references import NewReference, References
    from screener.vision.photo import open_photo

    open_photo(photo)  # a file that is no photo is refused before anything is kept
    new = NewReference(
        maker=maker,
        product=product,
        kind=_kind(kind),
        dated=date or dt.datetime.now(dt.UTC).astimezone().date().isoformat(),
        who=who,
        source=source,
        width_mm=width,
        corners_px=_corners(corners),
    )
    with Record.open(record) as opened, References(opened) as references:
        added = references.add(photo, new)
    if as_json:
        print_json(_as_json(added))
    else:
        print_plain(f"Added {added.says}.")


@app.command("list")
def list_command(
    *,
    maker: MakerOption = "",
    product: ProductOption = "",
    retired: Annotated[bool, typer.Option("--retired", help="Also those retired.")] = False,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
) -> None:
    """List the references."""
    from screener.records.references import References

    with existing_record(record) as opened, References(opened) as references:
        found = references.all(maker=maker, product=product, retired=retired)
    if as_json:
        for each in found:
            print_json(_as_json(each))
        return
    table = Table("no.", "maker", "product", "kind", "dated", "by", "photo", "retired", box=None, pad_edge=False)
    for each in found:
        gone = f"{each.retired_at[:10]} by {each.retired_by}: {each.retired_why}" if each.retired_at else ""
        table.add_row(str(each.id), each.maker, each.product, each.kind, each.dated, each.who, each.photo_name, gone)
    results.print(table if found else "No reference is kept yet: screener reference add PHOTO …")


@app.command("retire")
def retire_command(
    reference: Annotated[int, typer.Argument(metavar="N", help="Number of the reference.")],
    *,
    who: Annotated[str, typer.Option("--by", metavar="NAME", help="Who says so.")],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why it is no longer compared with.")],
    record: RecordOption = None,
) -> None:
    """Take a reference out of use. It stays in the record, with who said so and why."""
    from screener.records.references import References

    with existing_record(record) as opened, References(opened) as references:
        retired = references.retire(reference, who=who, why=why)
    print_plain(f"Retired {retired.says}.")


@app.command("compare")
def compare_command(
    photo: Annotated[Path, typer.Argument(metavar="FILE", help="The new photo.")],
    *,
    maker: MakerOption = "",
    product: ProductOption = "",
    kind: Annotated[str, typer.Option("--kind", metavar="package|marking", help="What the photo shows.")] = "package",
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Picture side by side: .html, .png.")
    ] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.reference/1.")] = False,
) -> None:
    """Compare a photo with the references of its product. Exit code 0: no difference; 10: differs or cannot be told."""
    from screener.receiving.compare_references import ReferenceComparison, compare_photo, comparison_as_json
    from screener.receiving.reference_names import BoxNames, held_says, none_held, of_names, read_names
    from screener.records.references import References
    from screener.vision.photo import open_photo

    sha256 = open_photo(photo).sha256  # a photo that is not there is told before what is not kept
    with existing_record(record) as opened:
        with References(opened) as references:
            held = references.all(kind=_kind(kind))
            kept = references.all(maker=maker, product=product, kind=kind)
        unknown, names = not kept, BoxNames(maker, product)
        # Only a box names itself; whoever names both knows what to lay beside it.
        if kept and kind == "package" and not names.whole:
            read = read_names(photo)
            names = BoxNames(maker or read.maker, product or read.product)
        mine = of_names(names, kept) if names.whole else kept
        # A reference may have been kept under other words than the box bears: laid on the photo, it tells.
        comparison = compare_photo(photo, mine or kept, opened.archive) if kept else None
        if comparison is None or (comparison.problem and not mine):
            comparison = ReferenceComparison(photo.name, sha256, None, (), none_held(names, kind, held))
        elif comparison.problem and not names.whole:
            comparison = replace(comparison, more=f"Name it with --maker and --product. {held_says(held)}")
        elif not mine:
            comparison = replace(comparison, more=f"The box names {names.says}, of which no reference is held.")
        if out is not None:
            from screener.reports.reference_report import write_side_by_side

            write_side_by_side(comparison, photo, opened.archive, out)
            messages.print(f"Side by side: {out.resolve()}", markup=False, soft_wrap=True)
    if unknown:
        raise WrongUsage(comparison.problem, next_step="See: screener reference list.", code="no_reference")
    if as_json:
        print_json(comparison_as_json(comparison))
    else:
        _print_comparison(comparison)
    raise typer.Exit(ON_HOLD if comparison.problem or _differences(comparison) else FINE)


def _differences(comparison: ReferenceComparison) -> int:
    return len(comparison.best.compared.differences) if comparison.best else 0


def _print_comparison(comparison: ReferenceComparison) -> None:
    best = comparison.best
    if comparison.problem or best is None:
        print_plain(f"Nothing is concluded: {comparison.problem}", style="bold")
        return
    count = len(best.compared.differences)
    says = "no difference found in what could be compared" if not count else f"{count} to look at"
    print_plain(f"Beside {best.reference.says}: {says}.", style="bold")
    if comparison.more:
        print_plain(f"  {comparison.more}")
    for place, difference in enumerate(best.compared.differences, 1):
        print_plain(f"  {place}. {difference.says} ({difference.significance:g} times what is just reported)")
    for each in best.compared.explained:
        print_plain(f"  explained: {each.says}")
    for gap in best.compared.not_judged:
        print_plain(f"  not judged, {gap.aspect}: {gap.says}")
    if count:
        print_plain(
            "  Ordinary causes: a redesign, another plant or printer, a bad photo. Compare the dates and a third box."
        )


def _kind(word: str) -> Literal["package", "marking"]:
    if word not in {"package", "marking"}:
        raise WrongUsage("a reference shows a package or a marking.", where=f"--kind {word}")
    return cast("Literal['package', 'marking']", word)


def _corners(text: str) -> tuple[tuple[float, float], ...]:
    try:
        pairs = [tuple(float(v) for v in pair.split(",")) for pair in text.split()]
        return tuple((x, y) for x, y in pairs)
    except ValueError as error:
        raise WrongUsage(
            "corners are four pairs of pixels.", where=text, next_step='Write "10,20 900,25 890,600 15,590".'
        ) from error


def _as_json(reference: ReferencePhoto) -> dict[str, object]:
    return {name: getattr(reference, name) for name in reference.__slots__}
