"""``screener measure``: what readings say about a part, with or without knowing which part it is."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from screener.cli.exit_codes import FINE, ON_HOLD, REJECTED
from screener.cli.lengths import BoreReadings, OdReadings, PartTemperature, Sizes, WidthReadings, length, number
from screener.cli.output import print_json, print_plain
from screener.cli.rests_on import rests_on_says
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.metrology.characteristic import Decision
    from screener.metrology.fitting_sizes import FittingSeal, FittingSize
    from screener.metrology.reading import Reading

SCHEMA = "screener.measure/1"


def measure_command(
    designation: Annotated[
        list[str] | None, typer.Argument(help="What it should be, quotes are not needed; left out: which sizes fit.")
    ] = None,
    *,
    bore: BoreReadings = None,
    od: OdReadings = None,
    width: WidthReadings = None,
    shaft: Annotated[
        Sizes,
        typer.Option("--shaft", metavar="MM", parser=length, help="Without a name: which seals serve this shaft?"),
    ] = None,
    housing: Annotated[
        Sizes,
        typer.Option("--housing", metavar="MM", parser=length, help="… and this housing bore; --width narrows it."),
    ] = None,
    mass: Annotated[
        list[float] | None, typer.Option("--mass", metavar="GRAMS", parser=number, help="Mass, g; may be repeated.")
    ] = None,
    instrument: Annotated[
        str, typer.Option("--instrument", metavar="NAME", help="caliper, micrometer, bore gauge …")
    ] = "caliper",
    scale: Annotated[str, typer.Option("--scale", metavar="NAME", help="scale (1 g) or fine scale (0.1 g).")] = "scale",
    temperature: PartTemperature = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.measure/1.")] = False,
) -> None:
    """Decide readings against the standard: conforms, does not conform, or this instrument can't tell.

    Exit code 20 when something does not conform or is another size, 10 when the instrument cannot tell or the mass is
    unusual, 0 when everything measured conforms.
    """
    from screener.metrology.reading import Reading

    def readings(values: Sizes) -> tuple[Reading, ...]:
        return tuple(Reading(v, instrument, temperature) for v in values or ())

    lengths = {"bore": readings(bore), "od": readings(od), "width": readings(width)}
    if shaft or housing:
        _only_seals(designation, bore, od, mass)
        _rank_seals({"shaft": shaft, "housing": housing, "width": width}, as_json=as_json)
        return
    if not any(lengths.values()) and not mass:
        raise WrongUsage("there is no reading.", next_step="Give at least one of --bore, --od, --width, --mass.")
    if not designation:
        _rank(lengths, as_json=as_json)
        return
    document = _decided(" ".join(designation), lengths, [m / 1000 for m in mass or ()], scale)
    if as_json:
        print_json(document)
    else:
        _print_decided(document)
    raise typer.Exit(_exit_code(document))


def _only_seals(*others: object) -> None:
    if any(others):
        raise WrongUsage(
            "--shaft and --housing ask which seal sizes serve them; nothing else goes with them but --width.",
            where="--shaft, --housing",
            next_step="For a bearing's or seal's seats use `screener fit DESIGNATION --shaft … --housing …`.",
        )


def _decided(text: str, lengths: dict[str, tuple[Reading, ...]], masses_kg: list[float], scale: str) -> dict[str, Any]:
    from screener.metrology.bearing import measure_bearing
    from screener.metrology.reading import MassReading
    from screener.metrology.seal import measure_seal
    from screener.metrology.slips import refuse_kilograms, refuse_slips
    from screener.parts import explain
    from screener.specs.boundary import boundary
    from screener.specs.seals import SealSizeRow

    told = explain(text)
    row = boundary(told.basic or "") if told.understood else None
    if told.kind == "shaft_seal" and told.bore_mm and told.od_mm and told.width_mm:
        if lengths["bore"]:
            raise WrongUsage(
                "a seal's lip opening is smaller than its shaft by design and is not decided.",
                where="--bore",
                next_step="Give --od and --width.",
            )
        size = SealSizeRow(told.bore_mm, told.od_mm, told.width_mm, "as given")
        seal = measure_seal(size, od=lengths["od"], width=lengths["width"])
        return _document(text, [_decision_json(d) for d in seal.decisions], None, seal.not_checked, ())
    if row is None:
        hint = f"Did you mean {', '.join(told.suggestions)}?" if told.suggestions else "See `screener explain`."
        raise WrongUsage(f"no table has the dimensions of “{text}”.", where="designation", next_step=hint)
    closure_kind = told.closure.kind if told.closure else None
    nominal = {"bore": row.bore_mm, "od": row.od_mm, "width": row.width_for(closed=closure_kind not in {None, "open"})}
    refuse_slips({name: ([each.value_mm for each in lengths[name]], size_mm) for name, size_mm in nominal.items()})
    refuse_kilograms(row.designation, [1000 * kg for kg in masses_kg], closure_kind)
    found = measure_bearing(
        row,
        bore=lengths["bore"],
        od=lengths["od"],
        width=lengths["width"],
        mass=[MassReading(m, scale) for m in masses_kg],
        accuracy=told.accuracy or "Normal",
        closure_kind=closure_kind,
        tapered_bore=told.tapered_bore is not None,
    )
    weighed = None
    if found.mass is not None:
        weighed = {"verdict": found.mass.verdict, "says": found.mass.says, "rests_on": found.mass.rests_on}
    return _document(text, [_decision_json(d) for d in found.decisions], weighed, found.not_checked, found.notes)


def _decision_json(decision: Decision) -> dict[str, Any]:
    estimate = decision.estimate
    return {
        "characteristic": decision.characteristic,
        "nominal_mm": decision.nominal_mm,
        "mean_mm": estimate.mean_mm,
        "out_of_round_mm": estimate.out_of_round_mm,
        "below_mm": estimate.below_mm,
        "above_mm": estimate.above_mm,
        "budget": [asdict(c) for c in estimate.budget.components],
        "verdict": decision.verdict,
        "size": decision.size,
        "says": decision.says,
        "rests_on": decision.rests_on,
    }


def _document(
    text: str,
    decisions: list[dict[str, Any]],
    mass: dict[str, Any] | None,
    not_checked: tuple[str, ...],
    notes: tuple[str, ...],
) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "designation": text,
        "decisions": decisions,
        "mass": mass,
        "not_checked": list(not_checked),
        "notes": list(notes),
    }


def _print_decided(document: dict[str, Any]) -> None:
    for decision in document["decisions"]:
        print_plain(f"{decision['verdict'].replace('_', ' ').upper()}  {decision['says']}")
        print_plain(f"    rests on {rests_on_says(decision['rests_on'])}")
    if document["mass"]:
        print_plain(f"MASS  {document['mass']['says']}")
    for note in document["notes"]:
        print_plain(f"    {note}")
    print_plain(f"Not checked: {', '.join(document['not_checked'])}")


def _exit_code(document: dict[str, Any]) -> int:
    decisions = document["decisions"]
    if any(d["verdict"] == "does_not_conform" or d["size"] == "differs" for d in decisions):
        return REJECTED
    settled = all(d["verdict"] == "conforms" for d in decisions)
    weighed = document["mass"] is None or document["mass"]["verdict"] == "agrees"
    return FINE if settled and weighed else ON_HOLD


def _rank(lengths: dict[str, tuple[Reading, ...]], *, as_json: bool) -> None:
    from screener.metrology.estimate import estimate
    from screener.metrology.fitting_sizes import fitting_sizes

    use = {"bore": "inside", "od": "outside", "width": "outside"}
    found = {k: estimate(v, use[k], what=k) for k, v in lengths.items() if v}  # type: ignore[arg-type]
    sizes = fitting_sizes(found)
    if as_json:
        print_json({"schema": SCHEMA, "designation": None, "sizes": [asdict(s) for s in sizes]})
    else:
        for size in sizes:
            print_plain(_size_in_words(size))
    raise typer.Exit(FINE if any(s.fits for s in sizes) else ON_HOLD)


def _size_in_words(size: FittingSize) -> str:
    row = size.row
    nearest = "" if size.fits else "  (does not fit; nearest)"
    return f"{row.designation:<12} {row.bore_mm:g} × {row.od_mm:g} × {row.width_mm:g} mm  {row.family}{nearest}"


_SHOWN = 20
"""Seal sizes printed; a shaft alone leaves dozens open."""


def _rank_seals(told: dict[str, Sizes], *, as_json: bool) -> None:
    from screener.metrology.fitting_sizes import fitting_seals

    means = {name: sum(values) / len(values) if values else None for name, values in told.items()}
    seals = fitting_seals(means["shaft"], means["housing"], means["width"])
    if as_json:
        print_json({"schema": SCHEMA, "designation": None, "seals": [asdict(s) for s in seals]})
    else:
        _print_seals(seals)
    raise typer.Exit(FINE if any(s.fits for s in seals) else ON_HOLD)


def _print_seals(seals: tuple[FittingSeal, ...]) -> None:
    for seal in seals[:_SHOWN]:
        nearest = "" if seal.fits else "  (does not fit; nearest)"
        print_plain(f"{seal.row.size:<12} readings within {seal.distance_mm:.2f} mm of its sizes{nearest}")
    if len(seals) > _SHOWN:
        print_plain(f"… and {len(seals) - _SHOWN} more: give the housing bore and the width too.")
    if any(seal.fits for seal in seals):
        print_plain(f"Whether the seats suit it: screener fit {seals[0].row.size} --shaft … --housing …")
    else:
        print_plain("No size of the table fits: measure again, and look for a size on the old seal.")
