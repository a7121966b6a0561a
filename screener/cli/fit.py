"""``screener fit``: before it is pressed.

JSON, schema ``screener.fit/1`` (fields may be added, never renamed). Every number is a range ``{"low", "high"}`` at
about 95 %, or null where it does not apply. Both kinds have::

    {"schema": "screener.fit/1", "designation", "kind": "bearing" | "shaft_seal", "basic",
     "outcome": "fits" | "review" | "do_not", "says",
     "seats": [shaft, housing],
     "steps": [{"says", "rests_on"}], "cautions": [{"says", "rests_on"}],
     "companions": [{"id", "says", "often_forgotten", "rests_on"}], "not_checked": ["…"], "defer": "…"}

A bearing's seat::

    {"seat": "shaft" | "housing", "nominal_mm", "wants": "tight" | "loose" | null, "material",
     "measured": null | {"size_mm", "readings", "sections", "instrument", "out_of_round_um", "taper_um", "notes"},
     "ring_mm", "ring_measured",
     "recommended": [{"zone": "k5", "lower_mm", "upper_mm", "when", "moves",
                      "verdict": "conforms" | "does_not_conform" | "cannot_tell" | null, "rests_on"}],
     "fit": "press" | "transition" | "slide" | "loose" | null,
     "interference": null | {"widest_um", "probable_um", "effective_um", "smoothing_um", "rests_on"},
     "pressing": null | {"pressure_mpa", "hoop_stress_mpa", "force_n", "pull_off_n", "warnings", "rests_on"},
     "loose": null | {"diametral_gap_mm", "compounds", "says", "cautions", "rests_on"},
     "form": ["…"], "outcome", "says"}

A bearing further has ``load``, ``clearance_says``, and::

    "clearance": null | {"group": "CN", "answer": "CN enough" | "C3 needed" | "preloaded: do not" | "no group is wide
                         enough", "outcome": "enough" | "enough_as_a_rule" | "wider_group_needed" | "preloaded",
                         "needed": "CN" | null, "cold": [group], "running": [group], "says", "usual_warm_says"}
    group: {"group", "initial_um", "left_probable_um", "left_widest_um", "fit_loss_um", "heat_loss_um", "outcome",
            "rests_on"}
    "running": [{"seat", "interference_um", "lost", "says"}]
    "heating": null | {"needed_c", "ceiling_c", "drops_on": "yes" | "perhaps" | "no", "cool_shaft_to_c", "says",
                       "rests_on"}
    "creep": null | {"needed_um", "says", "rests_on"}

Interference below zero is a gap, clearance below zero is preload. A seal's seat has ``seat, nominal_mm, measured,
recommended, outcome, says``; a seal further has ``surface_speed_m_per_s`` and
``"advice": [{"about": "surface" | "hardness" | "speed" | "lip", "outcome", "says", "rests_on"}]``.

Exit codes: 0 fits, 10 to be looked at again, 20 do not press as it is, 2 wrong usage.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, cast

import typer

from screener.cli.exit_codes import FINE, ON_HOLD, REJECTED
from screener.cli.output import print_json, print_plain
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.metrology.fits.bearing_fit import BearingFit
    from screener.metrology.fits.case import Turning
    from screener.metrology.fits.seal_fit import SealFit
    from screener.metrology.fits.seat_fit import SeatFit
    from screener.metrology.reading import Reading
    from screener.specs.fit_tables import Load

EXIT_OF = {"fits": FINE, "review": ON_HOLD, "do_not": REJECTED}
_Texts = list[str] | None
_Numbers = list[float] | None
_Temperature = float | None


def fit_command(
    designation: Annotated[str, typer.Argument(help="A bearing (6205-2RS C3) or the size of a seal (35x52x7).")],
    *,
    shaft: Annotated[
        _Texts,
        typer.Option("--shaft", help="Shaft reading, mm; repeat. 2:25.004 is one in the second cross section."),
    ] = None,
    housing: Annotated[_Texts, typer.Option("--housing", help="Housing reading, mm; the same.")] = None,
    bore: Annotated[_Numbers, typer.Option("--bore", help="The bearing's own bore, mm; may be repeated.")] = None,
    od: Annotated[_Numbers, typer.Option("--od", help="The bearing's own outside diameter, mm.")] = None,
    shaft_instrument: Annotated[str, typer.Option(help="What the shaft was measured with.")] = "micrometer",
    housing_instrument: Annotated[str, typer.Option(help="What the housing was measured with.")] = "bore gauge",
    rotating: Annotated[
        str | None,
        typer.Option("--rotating", help="Ring that turns relative to the load: inner, outer, undefined, axial."),
    ] = None,
    load: Annotated[str | None, typer.Option("--load", help="light, normal, heavy or shock.")] = None,
    load_share: Annotated[float | None, typer.Option("--load-share", help="P/C instead of --load.")] = None,
    radial_load: Annotated[float | None, typer.Option("--radial-load", help="N; for creep.")] = None,
    shaft_material: Annotated[str, typer.Option(help="As in fit_materials.csv.")] = "steel",
    housing_material: Annotated[str, typer.Option(help="As in fit_materials.csv.")] = "steel",
    shaft_bore: Annotated[float | None, typer.Option("--shaft-bore", help="Bore of a hollow shaft, mm.")] = None,
    housing_od: Annotated[float | None, typer.Option("--housing-od", help="Outside of a thin housing, mm.")] = None,
    shaft_zone: Annotated[str | None, typer.Option(help="The drawing's class for the shaft (k6).")] = None,
    housing_zone: Annotated[str | None, typer.Option(help="The drawing's class for the housing (H7).")] = None,
    surface: Annotated[str, typer.Option(help="Of the seats: ground or turned.")] = "ground",
    friction: Annotated[str, typer.Option(help="oiled or dry.")] = "oiled",
    temperature: Annotated[_Temperature, typer.Option("--temperature", help="Of the seats as measured, °C.")] = None,
    room: Annotated[float, typer.Option("--room", help="Of the parts while they are fitted, °C.")] = 20.0,
    inner_temp: Annotated[_Temperature, typer.Option("--inner-temp", help="Inner ring running, °C.")] = None,
    outer_temp: Annotated[_Temperature, typer.Option("--outer-temp", help="Outer ring running, °C.")] = None,
    shaft_temp: Annotated[_Temperature, typer.Option("--shaft-temp", help="Shaft running, °C.")] = None,
    housing_temp: Annotated[_Temperature, typer.Option("--housing-temp", help="Housing running, °C.")] = None,
    rpm: Annotated[float | None, typer.Option("--rpm", help="Speed; for seals.")] = None,
    keep: Annotated[str | None, typer.Option("--keep", help="Seal: keep the medium in, or dirt out.")] = None,
    lip: Annotated[str | None, typer.Option("--lip-material", help="Seal: NBR, FKM …")] = None,
    hardness: Annotated[float | None, typer.Option("--hardness", help="Seal: shaft track, HRC.")] = None,
    roughness: Annotated[float | None, typer.Option("--ra", help="Seal: shaft track, Ra in µm.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.fit/1.")] = False,
) -> None:
    """Say before pressing: how it will fit, what clearance is left, what force or heat it takes, and in what order."""
    from screener.metrology.fits.as_json import fit_as_json
    from screener.metrology.fits.bearing_fit import fit_bearing
    from screener.metrology.fits.case import TURNING, BearingCase, SealCaseGiven, SeatGiven, Temperatures
    from screener.metrology.fits.seal_fit import fit_seal
    from screener.parts.explaining import explain
    from screener.specs.fit_tables import LOADS

    seats = (
        SeatGiven(
            sections(shaft or [], shaft_instrument, temperature, "--shaft"),
            shaft_material,
            surface,
            shaft_bore,
            shaft_zone,
        ),
        SeatGiven(
            sections(housing or [], housing_instrument, temperature, "--housing"),
            housing_material,
            surface,
            housing_od,
            housing_zone,
        ),
    )
    fit: BearingFit | SealFit
    if explain(designation).kind == "shaft_seal":
        keeping = cast("Literal['in', 'out'] | None", one_of(keep, ("in", "out"), "--keep"))
        fit = fit_seal(SealCaseGiven(designation, *seats, rpm, keeping, lip, hardness, roughness))
    else:
        fit = fit_bearing(
            BearingCase(
                designation,
                *seats,
                bore=_ring_readings(bore, "bore gauge", temperature),
                od=_ring_readings(od, "micrometer", temperature),
                turning=cast("Turning | None", one_of(rotating, TURNING, "--rotating")),
                load=cast("Load | None", one_of(load, LOADS, "--load")),
                load_share=load_share,
                running=Temperatures(inner_temp, outer_temp, shaft_temp, housing_temp),
                room_c=room,
                friction=friction,
                radial_load_n=radial_load,
                rpm=rpm,
            )
        )
    if as_json:
        print_json(fit_as_json(fit))
    else:
        print_fit(fit)
    raise typer.Exit(EXIT_OF[fit.outcome])


def one_of(word: str | None, allowed: tuple[str, ...], where: str) -> str | None:
    """Return the word in lower case, or None.

    Raises
    ------
    WrongUsage
        It is none of the allowed ones.
    """
    if word is None:
        return None
    found = word.strip().lower()
    if found not in allowed:
        raise WrongUsage(f"“{word}” is not one of the words here.", where=where, next_step=f"Use {', '.join(allowed)}.")
    return found


def sections(
    texts: list[str], instrument: str, temperature_c: float | None, where: str
) -> tuple[tuple[Reading, ...], ...]:
    """Return readings by cross section from texts like ``25.009`` (the first one) and ``2:25.004``.

    Raises
    ------
    WrongUsage
        A text that is no reading.
    """
    from screener.metrology.reading import Reading

    found: dict[str, list[Reading]] = {}
    for text in texts:
        section, _, value = text.rpartition(":")
        found.setdefault(section.strip() or "1", []).append(Reading(_number(value, where), instrument, temperature_c))
    return tuple(tuple(found[name]) for name in sorted(found))


def _number(text: str, where: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise WrongUsage(
            f"“{text}” is no reading.", where=where, next_step="Write millimetres: 25.009, or 2:25.004."
        ) from None


def _ring_readings(values: list[float] | None, instrument: str, temperature_c: float | None) -> tuple[Reading, ...]:
    from screener.metrology.reading import Reading

    return tuple(Reading(value, instrument, temperature_c) for value in values or ())


def print_fit(fit: BearingFit | SealFit) -> None:
    """Print an answer: the word first, then the seats, the numbers, the order of work, what was not checked."""
    from screener.metrology.fits.bearing_fit import BearingFit
    from screener.metrology.fits.sequence import DEFER

    print_plain(fit.says, style="bold")
    if isinstance(fit, BearingFit):
        _print_bearing(fit)
    else:
        for text in (fit.shaft.says, fit.housing.says, *(each.says for each in fit.advice)):
            print_plain(f"  {text}")
    _print_list("Belongs to the job:", [each.says for each in fit.companions], "[ ] ")
    _print_list("Order of work:", [each.says for each in fit.steps], "")
    _print_list("Cautions:", [each.says for each in fit.cautions], "! ")
    _print_list("Not checked:", list(fit.not_checked), "")
    print_plain(DEFER)


def _print_list(head: str, lines: list[str], sign: str) -> None:
    print_plain(head)
    for line in lines:
        print_plain(f"  {sign}{line}")


def _print_bearing(fit: BearingFit) -> None:
    print_plain(f"  {fit.load_says[0].upper()}{fit.load_says[1:]}.")
    for seat in (fit.shaft, fit.housing):
        _print_seat(seat)
    print_plain(f"  {fit.clearance_says}")
    if fit.clearance is not None and fit.clearance.usual_warm_says:
        print_plain(f"  {fit.clearance.usual_warm_says}")
    for warm in fit.running:
        print_plain(f"  {warm.says}")
    if fit.heating is not None:
        print_plain(f"  {fit.heating.says}")
    if fit.creep is not None:
        print_plain(f"  {fit.creep.says}")


def _print_seat(seat: SeatFit) -> None:
    print_plain(f"  {seat.says}")
    if seat.pressing is not None:
        force = seat.pressing.force_n
        print_plain(f"    press force {force.low / 1000:.1f} to {force.high / 1000:.1f} kN at the end of the stroke")
    texts = [
        *seat.form,
        *(seat.pressing.warnings if seat.pressing else ()),
        *(seat.measured.notes if seat.measured else ()),
    ]
    if seat.loose is not None:
        texts += [seat.loose.says, *seat.loose.cautions]
    for text in texts:
        print_plain(f"    {text}")
