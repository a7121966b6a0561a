"""``screener fit``: before it is pressed.

JSON, schema ``screener.fit/1`` (fields may be added, never renamed). Every number is a range ``{"low", "high"}`` at
about 95 %, or null where it does not apply. Both kinds have::

    {"schema": "screener.fit/1", "designation", "kind": "bearing" | "shaft_seal", "basic",
     "outcome": "fits" | "review" | "do_not", "says",
     "against": ["what speaks against pressing, in a few words"],
     "steps_hold": "now" | "once_settled" | "not",
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
     "form": ["…"], "bent": ["out of round" | "tapered"], "outcome", "says"}

A bearing further has ``load``, ``clearance_says``, ``look_again`` (what is to be measured or settled first), and::

    "clearance": null | {"group": "CN", "answer": "CN enough" | "C3 needed" | "preloaded: do not" | "seats first"
                         | "no group is wide enough",
                         "outcome": "enough" | "enough_as_a_rule" | "wider_group_needed" | "preloaded",
                         "needed": "CN" | null, "cold": [group], "running": [group], "says", "others_says",
                         "usual_warm_says"}
    group: {"group", "standing": "fits" | "fits_as_a_rule" | "too_tight" | "looser_than_needed" | null,
            "initial_um", "left_probable_um", "left_widest_um", "fit_loss_um", "heat_loss_um", "outcome", "rests_on"}
    "running": [{"seat", "interference_um", "lost", "says"}]
    "heating": null | {"needed_c", "ceiling_c", "drops_on": "yes" | "perhaps" | "no", "cool_shaft_to_c", "says",
                       "rests_on"}
    "creep": null | {"needed_um", "says", "rests_on"}

Interference below zero is a gap, clearance below zero is preload. A seal's seat has ``seat, nominal_mm, measured,
recommended, outcome, says``; a seal further has ``surface_speed_m_per_s`` and
``"advice": [{"about": "surface" | "hardness" | "speed" | "lip", "outcome", "says", "rests_on"}]``.

A clearance group is recommended (``needed``) only where both seats are as recommended; ``seats first`` where not.

Exit codes: 0 fits, 10 to be looked at again, 20 do not press as it is, 2 wrong usage, 3 designation not understood.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer

from screener.cli.exit_codes import FINE, ON_HOLD, REJECTED
from screener.cli.lengths import length, number
from screener.cli.output import print_json, print_plain
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from collections.abc import Callable

    from screener.metrology.fits.bearing_fit import BearingFit
    from screener.metrology.fits.case import SeatGiven, Turning
    from screener.metrology.fits.seal_fit import SealFit
    from screener.metrology.fits.seat_fit import SeatFit
    from screener.metrology.reading import Reading
    from screener.specs.fit_tables import Load as LoadWord

_CN = re.compile(r"\bCN\b")
EXIT_OF = {"fits": FINE, "review": ON_HOLD, "do_not": REJECTED}


def _option(name: str, value: str, says: str, parser: Callable[[str], float] | None = None) -> Any:
    return typer.Option(name, metavar=value, help=says, parser=parser)


_Text = str | None
_Number = float | None
_MANY = "mm, or with in for inches; repeat. 2:25.004 is a reading in the second cross section."
Rotating = Annotated[
    _Text, _option("--rotating", "RING", "Ring that turns relative to the load: inner, outer, undefined, axial.")
]
Load = Annotated[_Text, _option("--load", "WORD", "light, normal, heavy or shock.")]
Shaft = Annotated[list[str] | None, _option("--shaft", "MM", f"Shaft reading, {_MANY}")]
Housing = Annotated[list[str] | None, _option("--housing", "MM", f"Housing reading, {_MANY}")]
Bore = Annotated[
    list[float] | None, _option("--bore", "MM", "The bearing's own bore, mm; may be repeated.", parser=length)
]
Od = Annotated[
    list[float] | None, _option("--od", "MM", "The bearing's own outside diameter, mm; may be repeated.", parser=length)
]
ShaftInstrument = Annotated[str, _option("--shaft-instrument", "NAME", "What shaft and --od were measured with.")]
HousingInstrument = Annotated[
    str, _option("--housing-instrument", "NAME", "What housing and --bore were measured with.")
]
LoadShare = Annotated[_Number, _option("--load-share", "SHARE", "P/C instead of --load.", parser=number)]
RadialLoad = Annotated[_Number, _option("--radial-load", "NEWTONS", "N; says whether the ring creeps.", parser=number)]
ShaftMaterial = Annotated[
    str, _option("--shaft-material", "NAME", "steel, aluminium, grey cast iron … (fit_materials.csv).")
]
HousingMaterial = Annotated[
    str, _option("--housing-material", "NAME", "steel, aluminium, grey cast iron … (fit_materials.csv).")
]
ShaftBore = Annotated[_Number, _option("--shaft-bore", "MM", "Bore of a hollow shaft, mm.", parser=length)]
HousingOd = Annotated[_Number, _option("--housing-od", "MM", "Outside of a thin housing, mm.", parser=length)]
ShaftZone = Annotated[_Text, _option("--shaft-zone", "CLASS", "The drawing's class for the shaft (k6).")]
HousingZone = Annotated[_Text, _option("--housing-zone", "CLASS", "The drawing's class for the housing (H7).")]
Surface = Annotated[str, _option("--surface", "WORD", "Of the seats: ground or turned.")]
Friction = Annotated[str, _option("--friction", "WORD", "Of the seats when pressing: oiled or dry.")]
Measured = Annotated[_Number, _option("--temperature", "DEGREES", "Of the parts as measured, °C.", parser=number)]
Room = Annotated[
    _Number, _option("--room", "DEGREES", "Of the parts while they are fitted, °C; else 20.", parser=number)
]
InnerTemp = Annotated[_Number, _option("--inner-temp", "DEGREES", "Inner ring running, °C.", parser=number)]
OuterTemp = Annotated[_Number, _option("--outer-temp", "DEGREES", "Outer ring running, °C.", parser=number)]
ShaftTemp = Annotated[
    _Number, _option("--shaft-temp", "DEGREES", "Shaft running, °C; else that of the inner ring.", parser=number)
]
HousingTemp = Annotated[
    _Number, _option("--housing-temp", "DEGREES", "Housing running, °C; else that of the outer ring.", parser=number)
]
Rpm = Annotated[_Number, _option("--rpm", "RPM", "Speed; for seals.", parser=number)]
Keep = Annotated[_Text, _option("--keep", "in|out", "Seal: keep the medium in, or dirt out.")]
Lip = Annotated[_Text, _option("--lip-material", "NAME", "Seal: NBR, FKM …")]
Hardness = Annotated[_Number, _option("--hardness", "HRC", "Seal: shaft track, HRC.", parser=number)]
Roughness = Annotated[_Number, _option("--ra", "MICRONS", "Seal: shaft track, Ra in µm.", parser=number)]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.fit/1.")]


def fit_command(
    designation: Annotated[
        list[str],
        typer.Argument(help="A bearing (6205-2RS C3) or the size of a seal (35x52x7); quotes are not needed."),
    ],
    *,
    shaft: Shaft = None,
    housing: Housing = None,
    bore: Bore = None,
    od: Od = None,
    shaft_instrument: ShaftInstrument = "micrometer",
    housing_instrument: HousingInstrument = "bore gauge",
    rotating: Rotating = None,
    load: Load = None,
    load_share: LoadShare = None,
    radial_load: RadialLoad = None,
    shaft_material: ShaftMaterial = "steel",
    housing_material: HousingMaterial = "steel",
    shaft_bore: ShaftBore = None,
    housing_od: HousingOd = None,
    shaft_zone: ShaftZone = None,
    housing_zone: HousingZone = None,
    surface: Surface = "ground",
    friction: Friction = "oiled",
    temperature: Measured = None,
    room: Room = None,
    inner_temp: InnerTemp = None,
    outer_temp: OuterTemp = None,
    shaft_temp: ShaftTemp = None,
    housing_temp: HousingTemp = None,
    rpm: Rpm = None,
    keep: Keep = None,
    lip_material: Lip = None,
    hardness: Hardness = None,
    ra: Roughness = None,
    as_json: AsJson = False,
) -> None:
    """Say before pressing: how it will fit, what clearance is left, what force or heat it takes, and in what order."""
    from screener.metrology.fits.case import SeatGiven

    on = sections(shaft or [], shaft_instrument, temperature, "--shaft")
    into = sections(housing or [], housing_instrument, temperature, "--housing")
    given = (
        SeatGiven(on, shaft_material, surface, shaft_bore, shaft_zone),
        SeatGiven(into, housing_material, surface, housing_od, housing_zone),
    )
    rings = (_ring_readings(bore, housing_instrument, temperature), _ring_readings(od, shaft_instrument, temperature))
    warm = (inner_temp, outer_temp, shaft_temp, housing_temp)
    part = " ".join(designation)
    if _is_seal(part):
        fit = _seal(part, given, rpm, keep, lip_material, hardness, ra)
    else:
        told = (rotating, load, load_share, radial_load)
        fit = _bearing(part, given, rings, told, warm, 20.0 if room is None else room, friction, rpm)
    _answer(fit, as_json=as_json)


def _is_seal(designation: str) -> bool:
    from screener.parts.explaining import explain

    return explain(designation).kind == "shaft_seal"


def _answer(fit: BearingFit | SealFit, *, as_json: bool) -> None:
    from screener.metrology.fits.as_json import fit_as_json

    if as_json:
        print_json(fit_as_json(fit))
    else:
        print_fit(fit)
    raise typer.Exit(EXIT_OF[fit.outcome])


def _seal(
    designation: str,
    given: tuple[SeatGiven, SeatGiven],
    rpm: _Number,
    keep: _Text,
    material: _Text,
    hardness_hrc: _Number,
    roughness_ra_um: _Number,
) -> BearingFit | SealFit:
    from screener.metrology.fits.case import SealCaseGiven
    from screener.metrology.fits.seal_fit import fit_seal

    keeping = cast("Literal['in', 'out'] | None", one_of(keep, ("in", "out"), "--keep"))
    return fit_seal(SealCaseGiven(designation, *given, rpm, keeping, material, hardness_hrc, roughness_ra_um))


def _bearing(
    designation: str,
    given: tuple[SeatGiven, SeatGiven],
    rings: tuple[tuple[Reading, ...], tuple[Reading, ...]],
    told: tuple[_Text, _Text, _Number, _Number],
    warm: tuple[_Number, _Number, _Number, _Number],
    room_c: float,
    friction: str,
    rpm: _Number,
) -> BearingFit | SealFit:
    """``told`` is the ring that turns, the load, P/C and the radial load; ``warm`` inner, outer, shaft, housing."""
    from screener.metrology.fits.bearing_fit import fit_bearing
    from screener.metrology.fits.case import TURNING, BearingCase, Temperatures
    from screener.specs.fit_tables import LOADS

    turning = cast("Turning | None", one_of(told[0], TURNING, "--rotating"))
    load = cast("LoadWord | None", one_of(told[1], LOADS, "--load"))
    return fit_bearing(
        BearingCase(
            designation,
            *given,
            *rings,
            turning=turning,
            load=load,
            load_share=told[2],
            radial_load_n=told[3],
            running=Temperatures(*warm),
            room_c=room_c,
            friction=friction,
            rpm=rpm,
        )
    )


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
    from screener.metrology.length_text import length_mm
    from screener.metrology.reading import Reading

    found: dict[str, list[Reading]] = {}
    for text in texts:
        section, _, value = text.rpartition(":")
        found.setdefault(section.strip() or "1", []).append(Reading(length_mm(value, where), instrument, temperature_c))
    return tuple(tuple(found[name]) for name in sorted(found))


def _ring_readings(values: list[float] | None, instrument: str, temperature_c: float | None) -> tuple[Reading, ...]:
    from screener.metrology.reading import Reading

    return tuple(Reading(value, instrument, temperature_c) for value in values or ())


def print_fit(fit: BearingFit | SealFit) -> None:
    """Print an answer: the word, why, and what next on the first screen; then the work, its cautions, the numbers."""
    from screener.metrology.fits.bearing_fit import BearingFit
    from screener.metrology.fits.seat_wording import readings_words
    from screener.metrology.fits.sequence import DEFER, ORDER_SAYS

    against = f": {'; '.join(fit.against)}" if fit.against else ""
    seats = [fit.shaft.says, fit.housing.says]
    why = [*fit.look_again, *fit.brief] if isinstance(fit, BearingFit) else seats
    read_with = readings_words(fit.shaft.measured, fit.housing.measured)
    why += [f"{read_with} Else say --shaft-instrument, --housing-instrument."] if read_with else []
    head, *why = _group_explained([f"{fit.headline}{against}.", *why])
    print_plain(head, style="bold")
    _print_list("", why, "")
    print_plain(f"Next: {_next_step(fit)}")
    steps = [] if fit.steps_hold == "not" else [f"{n}. {each.says}" for n, each in enumerate(fit.steps, start=1)]
    print_plain(f"Order of work: {ORDER_SAYS[fit.steps_hold]}".rstrip())
    _print_list("", steps, "")
    _print_list("Cautions:", [each.says for each in fit.cautions], "! ")
    _print_list("Belongs to the job:", [each.says for each in fit.companions], "[ ] ")
    if isinstance(fit, BearingFit):
        _print_bearing(fit)
    else:
        _print_list("Shaft track, speed and lip:", [each.says for each in fit.advice], "")
    _print_list("Not checked:", list(fit.not_checked), "")
    print_plain(DEFER)
    # On a screen the top has gone by now.
    print_plain(f"The answer, with its reasons at the top: {fit.headline}.", style="bold")


def _group_explained(lines: list[str]) -> list[str]:
    """Say what CN is where it is named first: it is the one group that no bearing is marked with."""
    first = next((n for n, line in enumerate(lines) if _CN.search(line)), None)
    explained = r"\g<0> (normal clearance, not marked)"
    return [_CN.sub(explained, line, count=1) if n == first else line for n, line in enumerate(lines)]


def _next_step(fit: BearingFit | SealFit) -> str:
    if fit.steps_hold == "now":
        return f"{_warm_first(fit)}the order of work below, with its cautions."
    if fit.steps_hold == "not":
        return "settle what stands above and ask again with the new readings; press nothing before."
    wanting = _not_given(fit)
    return f"give {', '.join(wanting)} and ask again." if wanting else "settle what stands above, then ask again."


def _warm_first(fit: BearingFit | SealFit) -> str:
    from screener.metrology.fits.bearing_fit import BearingFit

    if not isinstance(fit, BearingFit) or fit.clearance is None or not fit.clearance.usual_warm_short:
        return ""
    told = {"--inner-temp": fit.case.running.inner_c, "--outer-temp": fit.case.running.outer_c}
    wanting = " and ".join(option for option, value in told.items() if value is None)
    return f"if it runs warm, ask again with {wanting}; else "


def _not_given(fit: BearingFit | SealFit) -> list[str]:
    from screener.metrology.fits.case import BearingCase

    case = fit.case
    found = {"--shaft": bool(case.shaft.sections), "--housing": bool(case.housing.sections)}
    if isinstance(case, BearingCase):
        on_drawing = case.shaft.zone is not None and case.housing.zone is not None
        found["--rotating"] = on_drawing or case.turning is not None
        found["--load"] = on_drawing or case.load is not None or case.load_share is not None
    else:
        found["--keep"] = case.keep is not None
    return [option for option, given in found.items() if not given]


def _print_list(head: str, lines: list[str], sign: str) -> None:
    if head and lines:
        print_plain(head)
    for line in lines:
        print_plain(f"  {sign}{line}")


def _print_bearing(fit: BearingFit) -> None:
    for seat, head in ((fit.shaft, "On the shaft, in detail:"), (fit.housing, "In the housing, in detail:")):
        print_plain(head)
        _print_seat(seat)
    clearance = [] if fit.clearance is None else [fit.clearance.others_says, fit.clearance.usual_warm_says]
    warm = [each.says for each in fit.running if not each.lost]
    heat = [each.says for each in (fit.heating, fit.creep) if each is not None]
    told = [each for each in (*clearance, *warm, *heat) if each and each not in fit.look_again]
    _print_list("Clearance, heat, creep:", told, "")
    print_plain(f"{fit.load_says[0].upper()}{fit.load_says[1:]}.")


def _print_seat(seat: SeatFit) -> None:
    texts = [seat.says]
    if seat.pressing is not None:
        force = seat.pressing.force_n
        texts.append(f"Press force {force.low / 1000:.1f} to {force.high / 1000:.1f} kN at the end of the stroke.")
        texts += seat.pressing.warnings
    if seat.loose is not None:
        texts += [seat.loose.says, *seat.loose.cautions]
    texts += [*seat.form, *(seat.measured.notes if seat.measured else ())]
    _print_list("", texts, "")
