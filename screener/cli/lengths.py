"""Numbers as a person types them at the bench, and the options of readings that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer


def number(text: str) -> float:
    """Read a number with a decimal point or comma.

    Raises
    ------
    typer.BadParameter
        It is no number.
    """
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise typer.BadParameter(f"\u201c{text}\u201d is no number; write 51.99 or 51,99.") from None


def length(text: str) -> float:
    """Read a length in millimetres, or in inches where it says so (``2.047in``).

    Raises
    ------
    typer.BadParameter
        It is no number.
    """
    from screener.errors import WrongUsage
    from screener.metrology.length_text import length_mm

    try:
        return length_mm(text, "")
    except WrongUsage:
        raise typer.BadParameter(f"“{text}” is no number; write 51.99 or 51,99, inches as 2.047in.") from None


Sizes = list[float] | None
BoreReadings = Annotated[
    Sizes, typer.Option("--bore", metavar="MM", parser=length, help="Bore, mm; repeat for several readings.")
]
OdReadings = Annotated[
    Sizes, typer.Option("--od", metavar="MM", parser=length, help="Outside diameter, mm; may be repeated.")
]
WidthReadings = Annotated[
    Sizes, typer.Option("--width", metavar="MM", parser=length, help="Width, mm; may be repeated.")
]
PartTemperature = Annotated[
    float | None, typer.Option("--temperature", metavar="DEGREES", parser=number, help="Of the part, °C.")
]
