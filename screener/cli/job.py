"""``screener job``: a job card walked part by part, and its sheet printed.

JSON, schema ``screener.job_result/1``::

    {"schema", "title", "outcome": "fits" | "review" | "do_not", "says",
     "parts": [{"name", "kind", "designation", "size", "from_mm", "to_mm",
                "fit": null | screener.fit/1, "by_photo": null | {"word", "says", "next_step"}}],
     "check_list": [{"part", "id", "says", "done", "often_forgotten"}], "defer"}

The card's own form stands in `screener.metrology.fits.job_card`; ``screener job --example`` prints one to start from.
Exit codes: 0 fits and used, 10 to be looked at again, 20 do not press or do not use, 2 wrong usage, 3 the card, a
photo or a designation cannot be read or understood.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener import __version__
from screener.cli.fit import EXIT_OF
from screener.cli.output import messages, print_json, print_plain
from screener.cli.receive import RecordOption
from screener.errors import InputUnreadable, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from screener.metrology.fits.job import JobWalked
    from screener.metrology.fits.job_card import CardPart, JobCard
    from screener.metrology.fits.seat_fit import Outcome
    from screener.records.record import Record
    from screener.reports.job_sheet import PhotoVerdict
    from screener.specs.fit_tables import Seat

_Texts = list[str] | None
_OUTCOME_OF: dict[str, Outcome] = {"accept": "fits", "hold": "review", "reject": "do_not"}


def job_command(
    card: Annotated[Path | None, typer.Argument(metavar="CARD", help="The job card, a TOML file.")] = None,
    *,
    reading: Annotated[
        _Texts,
        typer.Option(
            "--reading",
            metavar="PART.SEAT=MM",
            help="PART.shaft=25.009,25.011 adds one cross section; PART.housing=… too.",
        ),
    ] = None,
    photo: Annotated[
        _Texts, typer.Option("--photo", metavar="PART=FILE", help="PART=FILE: a photo that shows this part.")
    ] = None,
    tick: Annotated[
        _Texts, typer.Option("--tick", metavar="LINE", help="PART=ID or ID: this line of the check list is there.")
    ] = None,
    ask: Annotated[
        bool | None, typer.Option("--ask/--no-ask", help="Ask for missing readings; by default on a terminal.")
    ] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="Write the sheet here: .html, or .pdf.")
    ] = None,
    example: Annotated[bool, typer.Option("--example", help="Print an example card and stop.")] = False,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.job_result/1.")] = False,
) -> None:
    """Walk a job card: judge every seat, verify parts by photo, tick what belongs to it, print the sheet."""
    from screener.metrology.fits.example_card import EXAMPLE
    from screener.metrology.fits.job import walk
    from screener.reports.job_sheet import whole_outcome

    if example:
        sys.stdout.write(EXAMPLE)
        return
    if card is None:
        raise WrongUsage(
            "No card was named.", next_step="screener job CARD.toml; --example prints one.", code="job_card"
        )
    told = load_card(card)
    for text in reading or ():
        told = _with_reading(told, text)
    for text in photo or ():
        told = _with_photo(told, text)
    for text in tick or ():
        told = _with_tick(told, text)
    if ask if ask is not None else sys.stdin.isatty() and not as_json:
        told = _asked(told)
    job = walk(told)
    _check_ticks(tick or (), job)
    verdicts = verify_parts(told, card.parent, record)
    if sheet is not None:
        write_sheet(sheet, job, verdicts)
    if as_json:
        print_json(_as_json(job, verdicts))
    else:
        _print_job(job, verdicts)
    raise typer.Exit(EXIT_OF[whole_outcome(job, verdicts)])


def load_card(path: Path) -> JobCard:
    """Return the card in a file.

    Raises
    ------
    InputUnreadable
        No such file, no TOML, or a field that does not belong.
    """
    from screener.metrology.fits.job_card import card_of_text

    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise InputUnreadable(
            f"The card cannot be read ({getattr(fault, 'strerror', None) or fault}).",
            where=str(path),
            next_step="Name a TOML file; `screener job --example` prints one.",
            code="job_card",
        ) from None
    return card_of_text(text, path.name)


def _split(text: str, where: str, form: str) -> tuple[str, str]:
    left, sign, right = text.partition("=")
    if not sign or not left.strip() or not right.strip():
        raise WrongUsage(f"“{text}” is not understood.", where=where, next_step=f"Write {form}.")
    return left.strip(), right.strip()


def _with_reading(card: JobCard, text: str) -> JobCard:
    from screener.metrology.fits.job_card import with_reading
    from screener.metrology.length_text import lengths_mm

    left, values = _split(text, "--reading", "PART.shaft=25.009,25.011")
    name, _, word = left.rpartition(".")
    return with_reading(card, name, _seat(word), lengths_mm(values, "--reading"))


def _seat(word: str) -> Seat:
    if word == "shaft":
        return "shaft"
    if word == "housing":
        return "housing"
    raise WrongUsage(f"“{word}” is no seat.", where="--reading", next_step="Write PART.shaft=… or PART.housing=….")


def _with_photo(card: JobCard, text: str) -> JobCard:
    from screener.metrology.fits.job_card import find_part, with_part

    name, file = _split(text, "--photo", "PART=FILE")
    part = find_part(card, name)
    # A file named here lies where the person stands, not beside the card.
    return with_part(card, replace(part, photos=(*part.photos, str(Path(file).absolute()))))


def _with_tick(card: JobCard, text: str) -> JobCard:
    from screener.metrology.fits.job_card import find_part, with_part

    if "=" not in text:
        return _with_card_tick(card, text.strip())
    name, line = _split(text, "--tick", "PART=ID")
    part = find_part(card, name)
    return with_part(card, replace(part, done=(*part.done, line)))


def _check_ticks(texts: Iterable[str], job: JobWalked) -> None:
    """Refuse a tick for a line that the part's check list does not have; a tick that goes nowhere misleads."""
    for name, _, line in (text.partition("=") for text in texts if "=" in text):
        known = [each.id for each in job.ticks if each.part.lower() == name.strip().lower()]
        if line.strip() not in known:
            raise WrongUsage(
                f"“{name.strip()}” has no line “{line.strip()}”.",
                where="--tick",
                next_step=f"Its lines: {', '.join(known) or 'none'}.",
            )


def _with_card_tick(card: JobCard, line: str) -> JobCard:
    known = [f"card-{n}" for n in range(1, len(card.companion) + 1)]
    if line not in known:
        raise WrongUsage(
            f"The card has no line “{line}”.",
            where="--tick",
            next_step=f"Its own lines: {', '.join(known) or 'none'}; a part's: PART=ID.",
        )
    lines = tuple(
        replace(each, done=each.done or name == line) for name, each in zip(known, card.companion, strict=True)
    )
    return replace(card, companion=lines)


def _asked(card: JobCard) -> JobCard:
    """Ask for what is missing; an empty answer goes on."""
    from screener.metrology.fits.job_card import missing_readings, with_reading
    from screener.metrology.length_text import lengths_mm

    for each in missing_readings(card):
        answer = typer.prompt(f"{each.says} (several with blanks, empty to go on)", default="", show_default=False)
        if answer.strip():
            card = with_reading(card, each.part, each.seat, lengths_mm(answer, each.says))
    return card


def verify_parts(card: JobCard, folder: Path, record: str | None) -> dict[str, PhotoVerdict]:
    """Verify every part that has photos, as ``screener verify`` does; the record opens only if one has.

    Raises
    ------
    InputUnreadable
        A photo does not exist.
    """
    if not any(part.photos for part in card.part):
        return {}
    from screener.records.record import Record

    verdicts = {}
    with Record.open(record) as opened:
        for part in card.part:
            if part.photos:
                verdicts[part.name] = _verify(part, folder, opened)
    return verdicts


def _verify(part: CardPart, folder: Path, record: Record) -> PhotoVerdict:
    from screener.receiving.verify import PartInHand, verify
    from screener.reports.job_sheet import PhotoVerdict
    from screener.reports.wording import verdict_of

    if not part.designation:
        raise WrongUsage(
            "A part without a designation cannot be verified by photo.", where=f"part “{part.name}”", code="part"
        )
    hand = PartInHand(need=part.designation, photos=tuple(folder / name for name in part.photos))
    answer = verify(hand, record).item.disposition
    verdict = verdict_of(answer)
    word = f"{verdict.word}, {verdict.detail}" if verdict.detail else verdict.word
    return PhotoVerdict(word, answer.reason, answer.next_step, _OUTCOME_OF[answer.word])


def write_sheet(path: Path, job: JobWalked, verdicts: Mapping[str, PhotoVerdict]) -> None:
    """Write the sheet: PDF where the name ends so, else HTML.

    Raises
    ------
    ScreenerError
        It cannot be written there.
    """
    from screener.reports.job_sheet import JobSheet, job_sheet_html
    from screener.reports.job_sheet_pdf import job_sheet_pdf
    from screener.reports.page_date import today_says
    from screener.reports.whole_file import write_whole

    whole = JobSheet(job, today_says(), __version__, verdicts)
    content = job_sheet_pdf(whole) if path.suffix.lower() == ".pdf" else job_sheet_html(whole).encode()
    write_whole(path, content)
    messages.print(f"Sheet: {path.resolve()}", markup=False, soft_wrap=True)


def _as_json(job: JobWalked, verdicts: Mapping[str, PhotoVerdict]) -> dict[str, object]:
    from screener.metrology.fits.job import job_as_json
    from screener.reports.job_sheet import whole_outcome, whole_says

    document = job_as_json(job)
    document["outcome"], document["says"] = whole_outcome(job, verdicts), whole_says(job, verdicts)
    for part in document["parts"]:
        seen = verdicts.get(part["name"])
        part["by_photo"] = None
        if seen is not None:
            part["by_photo"] = {"word": seen.word, "says": seen.says, "next_step": seen.next_step}
    return document


def _print_job(job: JobWalked, verdicts: Mapping[str, PhotoVerdict]) -> None:
    from screener.metrology.fits.sequence import DEFER
    from screener.reports.job_sheet import whole_says

    print_plain(f"{job.card.title}: {whole_says(job, verdicts)}", style="bold")
    for each in job.parts:
        print_plain(f"{each.piece.number}  {each.card.name}  {each.card.designation or each.piece.size}")
        if each.fit is not None:
            print_plain(f"     {each.fit.says}")
        if each.card.name in verdicts:
            seen = verdicts[each.card.name]
            print_plain(f"     by photo: {seen.word}. {seen.says} {seen.next_step}")
    print_plain("Belongs to the job:")
    for tick in job.ticks:
        part = f"{tick.part}: " if tick.part else ""
        print_plain(f"  [{'x' if tick.done else ' '}] {part}{tick.says}")
    print_plain(DEFER)
