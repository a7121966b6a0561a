"""``screener verify``: one part in hand, an answer in a glance."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.duty import duty_words
from screener.cli.exit_codes import of_dispositions
from screener.cli.lengths import BoreReadings, OdReadings, PartTemperature, WidthReadings, number
from screener.cli.output import messages, print_json, print_plain
from screener.cli.receive import RecordOption

if TYPE_CHECKING:
    from screener.receiving.verify import Verified
    from screener.screening.model import ScreenedItem


def verify_command(
    photos: Annotated[list[Path] | None, typer.Argument(metavar="PHOTO", help="Photos of box and part.")] = None,
    *,
    need: Annotated[
        str, typer.Option("--need", metavar="TEXT", help="What the job needs: order text or the old part's number.")
    ],
    duty: Annotated[
        list[str] | None,
        typer.Option("--duty", metavar="WORD", help="dry, dirty, wet, hot or fast; may be given more than once."),
    ] = None,
    maker: Annotated[
        str | None, typer.Option("--maker", metavar="NAME", help="The maker, if only one will do.")
    ] = None,
    bore: BoreReadings = None,
    od: OdReadings = None,
    width: WidthReadings = None,
    instrument: Annotated[str, typer.Option("--instrument", metavar="NAME", help="caliper or micrometer.")] = "caliper",
    temperature: PartTemperature = None,
    mass: Annotated[
        float | None, typer.Option("--mass", metavar="GRAMS", parser=number, help="Mass in grams (g).")
    ] = None,
    scan: Annotated[
        list[str] | None, typer.Option("--scan", metavar="CODE", help="A line from a handheld scanner.")
    ] = None,
    both_faces: Annotated[
        bool,
        typer.Option(
            "--both-faces", help="The first two photos of the part are its two faces; for names without face1, face2."
        ),
    ] = False,
    seen: Annotated[
        list[str] | None,
        typer.Option("--seen", metavar="SIGN", help="A sign seen by eye, as `screener indicators` lists it."),
    ] = None,
    looked: Annotated[
        list[str] | None, typer.Option("--looked", metavar="GROUP", help="A group of signs looked through by eye.")
    ] = None,
    report: Annotated[
        Path | None, typer.Option("--report", metavar="FILE", help="Also write an HTML report here.")
    ] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.result/1.")] = False,
) -> None:
    """Check one part before it is pressed in: is it what the job needs, and what now."""
    from screener.cli.what_now import what_now
    from screener.receiving.observe_readings import HandReadings
    from screener.receiving.observe_signs import PersonSigns
    from screener.receiving.verify import PartInHand, verify
    from screener.records.record import Record
    from screener.records.result_json import result_as_json
    from screener.reports.whole_file import need_folder

    if report is not None:
        need_folder(report)
    readings = HandReadings(
        bore_mm=tuple(bore or ()),
        od_mm=tuple(od or ()),
        width_mm=tuple(width or ()),
        instrument=instrument,
        temperature_c=temperature,
        mass_g=mass,
    )
    part = PartInHand(
        need=need,
        photos=tuple(photos or ()),
        duty=duty_words(duty or []),
        maker=maker,
        readings=readings,
        scans=tuple(scan or ()),
        both_faces=both_faces,
        signs=PersonSigns(tuple(seen or ()), tuple(looked or ())),
    )
    with Record.open(record) as opened:
        verified = verify(part, opened)
        commands = what_now(opened.item(verified.record_id), None, record)[1:]
        if report is not None:
            from screener.reports.delivery_report import write_single_report

            write_single_report(verified, report)
    if as_json:
        print_json(result_as_json([verified.item]))
    else:
        _print_answer(verified)
        for line in commands if verified.item.disposition.word != "accept" else ():
            print_plain(line)
    if report is not None:
        messages.print(f"Report: {report.resolve()}", markup=False, soft_wrap=True)
    raise typer.Exit(of_dispositions([verified.item.disposition.word]))


_WORDS = {"accept": "USE", "hold": "HOLD", "reject": "DO NOT USE – NOT WHAT THE JOB NEEDS"}


def _print_suspicion(answer: ScreenedItem) -> None:
    """The level with what it means and what explains it as well, then the steps that may settle it."""
    from screener.reports.wording import step_says, times_say
    from screener.screening.odds import odds_say

    suspicion = answer.suspicion
    if suspicion.level != "none":
        print_plain(
            f"Suspicion: {suspicion.level} ({times_say(suspicion)}). This can have an ordinary cause. "
            f"{odds_say(suspicion)}"
        )
        for sign in suspicion.indicators:
            print_plain(f"  {sign.says} Also explained by: {'; '.join(sign.ordinary_causes)}.")
    for step in answer.next_steps:
        print_plain(f"  may settle it: {step_says(step)}")


def _print_answer(verified: Verified) -> None:
    """The word first, then the reason and the next step, then what differs and what was not looked at."""
    answer = verified.item
    word = _WORDS[answer.disposition.word]
    # Two kinds of hold ask for opposite things: one for more photos, the other for leaving everything as it is.
    detail = f" – {answer.disposition.exit}" if answer.disposition.word == "hold" else ""
    print_plain(f"{word}{detail}", style="bold reverse")
    print_plain(answer.disposition.reason)
    print_plain(f"Next: {answer.disposition.next_step}")
    _print_suspicion(answer)
    for finding in answer.findings:
        if finding.says != answer.disposition.reason:
            print_plain(f"  {finding.weight}: {finding.says}")
    for line in answer.agreed:
        print_plain(f"  agrees: {line}")
    for entry in verified.unreadable:
        print_plain(f"  could not be read: {entry.photo} – {entry.says}")
    if answer.not_checked:
        print_plain("Not checked:")
    for gap in answer.not_checked:
        print_plain(f"  {gap.says}")
    print_plain("The machine's manual, the shop's rules and local law come first.")
    messages.print(f"Recorded as item {verified.record_id} of the record.", markup=False)
