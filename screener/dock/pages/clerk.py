"""The clerk's pages: choose a delivery, find the line of a code, work the line."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from screener.dock.asked import number_of
from screener.dock.pages import words
from screener.dock.pages.desk import answered_anew, bench_of, go, routes, show, text_of
from screener.dock.pages.done import done_says
from screener.dock.pages.refused import NOTHING, Refused
from screener.dock.pages.words import State
from screener.errors import ScreenerError, WrongUsage
from screener.receiving.bench import file_name, order_of_bytes
from screener.records.decisions import decisions_open
from screener.specs.instruments import instrument_names

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from screener.receiving.bench import Bench
    from screener.receiving.bench_model import BenchDelivery, BenchLine, BenchPhoto, FoundLine, Wanted

HOLD_REASONS = (
    "Ask the supplier",
    "Ask the machine's maker",
    "Packaging is damaged",
    "A second person looks",
)
RELEASE_REASONS = ("Looked at both faces by eye", "Measured again", "The maker or supplier has answered", "Ordered so")
CLOSURES = words.CLASS_WORDS["closure"]


async def deliveries(request: Request, problem: ScreenerError | None = None) -> Response:
    """Show all deliveries, and a form to begin one."""
    known = await run_in_threadpool(bench_of(request).deliveries)
    received = [each for each in known if each.kind == "receive"]
    return await show(
        request,
        "deliveries.html.j2",
        status=422 if problem else 200,
        here="clerk",
        scans=True,
        problem=problem,
        open=[each for each in received if each.finished_at is None],
        done=[each for each in received if each.finished_at is not None][:50],
    )


async def begin(request: Request) -> Response:
    """Open the order that was brought."""
    largest = request.app.state.settings.max_order_bytes
    async with request.form(max_files=1, max_fields=4) as form:
        given = form.get("order")
        if not isinstance(given, UploadFile) or not given.filename:
            return await deliveries(request, WrongUsage("no order was chosen.", next_step="Choose the order's file."))
        content = await given.read(largest + 1)
        name = file_name(given.filename)
    if len(content) > largest:
        return await deliveries(request, WrongUsage("this file is too large for an order.", where=name))
    try:
        # A spreadsheet is a program's work to read: it is done aside, in a process with limits.
        order = await request.app.state.work.aside(order_of_bytes, name, content)
        run_id = await run_in_threadpool(bench_of(request).open_order, name, order)
    except ScreenerError as error:
        return await deliveries(request, error)
    return go(f"/deliveries/{run_id}")


@dataclass(frozen=True, slots=True)
class Counts:
    """How far a delivery is."""

    answered: int
    use: int
    hold: int
    send_back: int


def _counts(delivery: BenchDelivery) -> Counts:
    ways = [line.answer.effective for line in delivery.lines if line.answer is not None and line.judged]
    return Counts(len(ways), ways.count("use"), ways.count("hold"), ways.count("send back"))


def next_line(delivery: BenchDelivery, after: str = "") -> BenchLine | None:
    """Return the next line that waits for something, beginning again at the top."""
    keys = [line.line for line in delivery.lines]
    start = keys.index(after) + 1 if after in keys else 0
    return next((line for line in (*delivery.lines[start:], *delivery.lines[:start]) if _waits(line, after)), None)


def _waits(line: BenchLine, after: str) -> bool:
    return (line.state == "waiting" or line.begun) and line.line != after


async def delivery(request: Request, refused: Refused = NOTHING) -> Response:
    """Show the lines of a delivery as they stand."""
    shown = await run_in_threadpool(bench_of(request).delivery, number_of(request, "run"))
    if shown.kind == "verify":
        return go(words.line_url(shown.run_id, shown.lines[0].line))
    return await show(
        request,
        "delivery.html.j2",
        status=refused.status,
        here="clerk",
        refused=refused,
        scans=True,
        run_id=shown.run_id,
        last_event=shown.last_event,
        delivery=shown,
        counts=_counts(shown),
        next_line=next_line(shown),
    )


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo that is asked for, as a tile with a button."""

    shows: str
    name: str
    says: str
    had: bool
    photos: tuple[BenchPhoto, ...] = ()
    """Those that fill it, or try to."""

    @property
    def button(self) -> str:
        """What the button says."""
        return "Take again" if self.had else "Take photo"


def _shot(wanted: Wanted, photos: tuple[BenchPhoto, ...]) -> Shot:
    filling = tuple(
        each for each in photos if each.shows == wanted.shows or (wanted.shows == "card" and each.card is True)
    )
    return Shot(wanted.shows, words.SHOT_NAMES[wanted.shows], wanted.says, wanted.had, filling)


@dataclass(frozen=True, slots=True)
class Shown:
    """What the line's page says first."""

    title: str
    verdict: State
    reason: str = ""
    next_step: str = ""
    keep: str = ""
    not_checked: str = ""
    own_words: str = ""
    suspicion: str = ""
    progress: str = ""
    so_far: str = ""
    """The photos that are still asked for, where the answer would be another with them."""
    aloud: str = ""
    """Read out when it changes; empty while nothing is known."""
    sound: str = ""


def shown_of(line: BenchLine, *, single: bool = False) -> Shown:
    """Return the answer, or how far it is, in the words of the bench."""
    state, answer = words.state_of(line, single=single), line.answer
    title = line.need if single else f"Line {line.line}"
    if answer is None or line.state != "answered" or line.begun:
        suspicion = words.suspicion_words(answer) if answer else ""
        return Shown(title, state, progress=words.progress_of(line), suspicion=suspicion)
    reason = answer.standing.why if answer.standing is not None else answer.reason
    word = f"{state.word}, {state.detail}" if state.detail else state.word
    so_far = words.so_far(line, single=single)
    return Shown(
        title=title,
        verdict=state,
        reason=reason,
        next_step=words.next_words(answer),
        keep=words.keep_words(answer),
        not_checked=words.not_checked_words(answer),
        own_words=words.own_words(answer),
        suspicion=words.suspicion_words(answer),
        so_far=so_far,
        # An answer from half of the photos is not read out: the next photo may change it.
        aloud="" if so_far else f"{title}: {word}. {reason}",
        sound=answer.effective,
    )


async def line(request: Request, refused: Refused = NOTHING) -> Response:
    """Show one line: what is needed, the answer, what can be decided, the photos asked for, everything given."""
    run_id, key = number_of(request, "run"), request.path_params["line"]
    whole = await run_in_threadpool(bench_of(request).delivery, run_id)
    found = next((each for each in whole.lines if each.line == key), None)
    if found is None:
        raise WrongUsage("this delivery has no such line.", where=f"line {key}", code="no_such_line")
    single = whole.kind == "verify"
    answer = found.answer
    seen = words.seen_of(answer) if answer else []
    return await show(
        request,
        "line.html.j2",
        status=refused.status,
        refused=refused,
        done=done_says(found, request.query_params.get("done", "")),
        choices=choices_of(found),
        once=secrets.token_urlsafe(12),
        here="part" if single else "clerk",
        scans=True,
        run_id=run_id,
        line_key=key,
        last_event=whole.last_event,
        delivery=whole,
        line=found,
        single=single,
        shown=shown_of(found, single=single),
        meaning=words.need_words(found.need),
        facts=_facts(found),
        shots=[_shot(each, found.photos) for each in found.wanted if each.shows != "card"],
        card=next(_shot(each, found.photos) for each in found.wanted if each.shows == "card"),
        next_line=next_line(whole, key),
        first_read=words.first_of(seen),
        rest_read=words.rest_of(seen),
        also_read=words.also_read(answer) if answer else [],
        hold_reasons=HOLD_REASONS,
        release_reasons=RELEASE_REASONS,
        closures=CLOSURES,
        instruments=instrument_names("outside"),
        scales=instrument_names("mass"),
    )


def go_on(request: Request, done: str) -> Response:
    """Back to the line's page, which says what was recorded."""
    address = words.line_url(number_of(request, "run"), request.path_params["line"])
    return go(f"{address}?done={done}")


def choices_of(line: BenchLine) -> frozenset[str]:
    """Return which decisions make sense as the line stands: nobody releases what may be used anyway."""
    answer = line.answer
    if answer is None or line.state == "waiting":
        return frozenset()
    word = "BEGUN" if line.begun else answer.effective.upper()
    return decisions_open(word, answer.standing) | {"correct"}


def _facts(found: BenchLine) -> list[tuple[str, str]]:
    facts = [
        ("Pieces", "" if found.quantity is None else str(found.quantity)),
        ("Has to live with", ", ".join(found.duty)),
        ("Only by", found.maker or ""),
        ("From", found.supplier or ""),
        ("For", found.note or ""),
    ]
    return [(name, value) for name, value in facts if value]


_CODE_TYPED_OFF = re.compile(r"[\d\s()]{8,}|.*[\x1d\x1e].*|[\](].+", re.DOTALL)
"""Digits under a barcode, or a code with its marks: typed off, it is still the code."""


@dataclass(frozen=True, slots=True)
class Scanned:
    """What came into the scan field, and from whom: ``scanner``, ``hand`` or, without script, nobody knows."""

    text: str
    by: str

    @property
    def only_finds(self) -> bool:
        """Whether a person typed a part's number: it finds the line, but says nothing about what stands on the box."""
        return self.by == "hand" and _CODE_TYPED_OFF.fullmatch(self.text) is None


async def scan(request: Request) -> Response:
    """Go to the line that a scanned or typed code belongs to; with a line open, keep the code for it."""
    form = await request.form(max_files=0, max_fields=8)
    # A text field cannot hold the separator itself; the page puts its picture there.
    text = text_of(form, "text").replace("␝", "\x1d")
    run, here = text_of(form, "run"), text_of(form, "line")
    if not text:
        return go(_where(run, here))
    run_id = int(run) if run.isdecimal() and len(run) < 10 else None
    bench = bench_of(request)
    numbered = await run_in_threadpool(_numbered, bench, run_id, text)
    if numbered is not None:
        return go(words.line_url(*numbered))
    found = await run_in_threadpool(bench.find_line, text)
    mine = [each for each in found if each.run_id == run_id] if run_id is not None else list(found)
    scanned = Scanned(text, text_of(form, "by"))
    if form.get("keep") and run_id is not None and here:
        return await _kept(request, run_id, here, scanned)
    if run_id is not None and here and (not found or any(each.line == here for each in mine)):
        return await _kept(request, run_id, here, scanned)
    if len(mine) == 1:
        return await _kept(request, mine[0].run_id, mine[0].line, scanned)
    return await _choose(request, scanned, mine or list(found), run_id, here)


async def _kept(request: Request, run_id: int, line: str, scanned: Scanned) -> Response:
    """Keep a code for a line and show the line; what only finds the line is not kept."""
    if not scanned.only_finds:
        await run_in_threadpool(bench_of(request).add_scan, run_id, line, scanned.text)
        await answered_anew(request, run_id, line)
    return go(words.line_url(run_id, line))


def _where(run: str, line: str) -> str:
    if not run.isdecimal():
        return "/deliveries"
    return words.line_url(int(run), line) if line else f"/deliveries/{run}"


def _numbered(bench: Bench, run_id: int | None, text: str) -> tuple[int, str] | None:
    """The line whose number was typed; no code is that short. With one delivery open it is a line of that one."""
    if len(text) > 8:
        return None
    if run_id is None:
        opened = [each.run_id for each in bench.deliveries() if each.kind == "receive" and not each.finished_at]
        if len(opened) != 1:
            return None
        run_id = opened[0]
    keys = [each.line for each in bench.delivery(run_id).lines]
    wanted = text.lower().removeprefix("line").strip()
    return (run_id, wanted) if wanted in keys else None


async def _choose(
    request: Request, scanned: Scanned, found: list[FoundLine], run_id: int | None, here: str
) -> Response:
    whole = None if found or here or run_id is None else await run_in_threadpool(bench_of(request).delivery, run_id)
    return await show(
        request,
        "found.html.j2",
        here="clerk",
        scans=True,
        run_id=run_id,
        line_key=here or None,
        text=scanned.text,
        by=scanned.by,
        found=found,
        lines=whole.lines if whole is not None else (),
    )


ROUTES = routes(
    ("GET", "/deliveries", deliveries),
    ("POST", "/deliveries", begin),
    ("GET", "/deliveries/{run}", delivery),
    ("GET", "/deliveries/{run}/lines/{line:path}", line),
    ("POST", "/scan", scan),
)
