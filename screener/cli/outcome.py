"""``screener outcome``: what an item turned out to be; ``screener indicators``: the signs and what they weigh."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from screener.cli.log import existing_record
from screener.cli.output import print_json, print_plain
from screener.cli.receive import RecordOption
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.records.outcomes import Confirmed
    from screener.screening.learning import Learned

SCHEMA = "screener.indicators/1"
HOW_TO_READ = """\
Each sign has a ratio: how many times more often it is seen on bad items than on good ones. Bad means here: re-marked,
used and sold as new, or another maker's part in this maker's box.
Ratios of signs with separate causes are multiplied; in decibels (dB) they are added: 3 dB is twice, 10 dB ten times,
20 dB a hundred times as often. A ratio of 1 (0 dB) says nothing.
Seen one yourself? Name it: screener verify --need … --seen PK1 PHOTO …
"""


def outcome_command(
    item: Annotated[int, typer.Argument(metavar="ITEM", help="Number of the item in the record.")],
    *,
    confirmed: Annotated[
        str | None, typer.Option("--confirmed", metavar="conforming|nonconforming", help="What it turned out to be.")
    ] = None,
    withdrawn: Annotated[bool, typer.Option("--withdraw", help="Take the last outcome back.")] = False,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who knows it (needed).")] = "",
    why: Annotated[
        str,
        typer.Option(
            "--why", "--reason", metavar="TEXT", help="How it became known (needed); it stands in the letter."
        ),
    ] = "",
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
) -> None:
    """Record what an item turned out to be, and say what to do with it now; it can be taken back."""
    from screener.cli.what_now import what_now
    from screener.records.outcomes import confirm, outcomes, withdraw
    from screener.records.standing import standings, what_to_do

    _needed("--by", by, "who knows it: a name")
    _needed(
        "--why", why, "how it became known, for a weight is moved by it: the maker's answer of 3 May, a hardness test"
    )
    with existing_record(record) as opened:
        if withdrawn:
            if confirmed is not None:
                raise WrongUsage("give --confirmed or --withdraw, not both.", where="screener outcome")
            event = withdraw(opened, item, who=by, why=why)
        else:
            event = confirm(opened, item, _word(confirmed), who=by, why=why)
        told, stored = outcomes(opened).get(item), opened.item(item)
        standing = standings(opened)(stored)
    counts = None if told is None else told.confirmed
    if as_json:
        now = {"what_to_do": what_to_do(stored, standing), "next_step": what_now(stored, standing, record)[0]}
        print_json({"schema": "screener.outcome/1", "item": item, "event": event, "confirmed": counts, **now})
        return
    says = f"confirmed as {counts} by {told.who}" if told is not None else "no outcome stands"
    print_plain(f"Item {item}, {stored.requirement}: {says}. Recorded.")
    for line in what_now(stored, standing, record):
        print_plain(line)
    print_plain("The signs on it weigh anew: screener indicators --learned")


def indicators_command(
    *,
    learned: Annotated[
        bool, typer.Option("--learned", help="With the ratios as the outcomes of the record have moved them.")
    ] = False,
    group: Annotated[str | None, typer.Option("--group", metavar="NAME", help="Only this group.")] = None,
    record: RecordOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.indicators/1.")] = False,
) -> None:
    """List the signs of suspicion: how to look, how much each says, ordinary causes, and the step that settles it."""
    from screener.screening.learning import learned_indicators
    from screener.specs.screening_rules import indicator_groups, indicators, suspicion_settings

    if group is not None and group not in indicator_groups():
        raise WrongUsage(f"there is no group “{group}”.", next_step=f"One of: {', '.join(indicator_groups())}.")
    tallies: tuple[Any, ...] = ()
    if learned:
        from screener.records.outcomes import tallies as tallies_of

        with existing_record(record) as opened:
            tallies = tallies_of(opened)
    every = learned_indicators(indicators(), tallies, suspicion_settings()).values()
    chosen = [each for each in every if group in {None, each.judged.group}]
    if as_json:
        print_json({"schema": SCHEMA, "indicators": [_as_json(each) for each in chosen]})
    else:
        _print(chosen)


def _needed(option: str, given: str, what: str) -> None:
    if not given.strip():
        raise WrongUsage(f"{option} is missing.", where="screener outcome", next_step=f"Say {what}.")


def _word(confirmed: str | None) -> Confirmed:
    if confirmed == "conforming":
        return "conforming"
    if confirmed == "nonconforming":
        return "nonconforming"
    raise WrongUsage(
        "say what it turned out to be.", where="--confirmed", next_step="conforming or nonconforming, or --withdraw."
    )


def _as_json(each: Learned) -> dict[str, Any]:
    from screener.screening.strength import seen_by_tool

    used, judged, tally = each.indicator, each.judged, each.tally
    return {
        "indicator": used.id,
        "group": used.group,
        "says": used.says,
        "how": used.how,
        "seen_by": "tool" if used.id in seen_by_tool() else "person",
        "ratio": round(used.ratio, 2),
        "ratio_low": round(used.ratio_low, 2),
        "ratio_high": round(used.ratio_high, 2),
        "judged_ratio": judged.ratio,
        "judged_low": judged.ratio_low,
        "judged_high": judged.ratio_high,
        "shared_cause": used.shared_cause,
        "ordinary_causes": list(used.ordinary_causes),
        "settle": used.settle,
        "source": used.source,
        "outcomes": None
        if tally is None
        else {
            "bad": tally.bad,
            "seen_on_bad": tally.seen_on_bad,
            "good": tally.good,
            "seen_on_good": tally.seen_on_good,
        },
    }


def _print(chosen: Iterable[Learned]) -> None:
    from screener.screening.strength import ratio_says, seen_by_tool

    print_plain(HOW_TO_READ)
    group = ""
    for each in chosen:
        used = each.indicator
        if used.group != group:
            group = used.group
            print_plain(group.upper(), style="bold")
        by = "" if used.id in seen_by_tool() else "  [a person looks]"
        print_plain(f"{used.id}  {used.says}  {ratio_says(used.ratio, used.ratio_low, used.ratio_high)}{by}")
        print_plain(f"      look: {used.how}")
        print_plain(f"      ordinary causes: {'; '.join(used.ordinary_causes)}")
        print_plain(f"      next: {used.settle}")
        if each.tally is not None:
            t = each.tally
            print_plain(
                f"      outcomes: seen on {t.seen_on_bad} of {t.bad} nonconforming and {t.seen_on_good} of {t.good} "
                f"conforming items; judged ratio {each.judged.ratio:g}"
            )
    print_plain("All ratios are judgement until outcomes are recorded; any sign may have an ordinary cause.")
