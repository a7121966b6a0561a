"""The ``screener`` command."""

from __future__ import annotations

import signal
import sys

import typer

from screener import __version__
from screener.cli import (
    audit,
    backlog,
    card,
    compare,
    decide,
    explain,
    fit,
    job,
    log,
    look,
    measure,
    outcome,
    plan,
    purchase,
    receive,
    reference,
    suppliers,
    verify,
)
from screener.cli import dock as dock_page
from screener.cli import watch as watch_folder
from screener.cli.exit_codes import INTERRUPTED
from screener.cli.output import messages, print_error
from screener.cli.plain_usage import PlainGroup
from screener.errors import ScreenerError

app = typer.Typer(
    cls=PlainGroup,
    help="Screen bearings and shaft seals before they are used: what agrees, what differs, what was not checked, "
    "and what to do next.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback(invoke_without_command=True)
def top(
    *,
    version: bool = typer.Option(False, "--version", help="Print the version and stop.", show_default=False),
) -> None:
    """Hold the options of the whole program."""
    if version:
        typer.echo(f"screener {__version__}")
        raise typer.Exit


app.command("receive")(receive.receive_command)
app.command("verify")(verify.verify_command)
app.command("look")(look.look_command)
app.command("explain")(explain.explain_command)
app.command("compare")(compare.compare_command)
app.command("measure")(measure.measure_command)
app.command("fit")(fit.fit_command)
app.command("job")(job.job_command)
app.command("audit")(audit.audit_command)
app.command("backlog")(backlog.backlog_command)
app.command("dock")(dock_page.dock_command)
app.command("watch")(watch_folder.watch_command)
app.command("plan")(plan.plan_command)
app.command("purchase")(purchase.purchase_command)
app.command("shop")(purchase.shop_command)
app.command("suppliers")(suppliers.suppliers_command)
app.command("card")(card.card_command)
app.command("outcome")(outcome.outcome_command)
app.command("hold")(decide.hold_command)
app.command("release")(decide.release_command)
app.command("indicators")(outcome.indicators_command)
app.add_typer(log.app, name="log")
app.add_typer(reference.app, name="reference")


class _Interrupted(BaseException):
    """Ctrl-C. Not KeyboardInterrupt, which the command line library swallows without a word."""


def _interrupt(*_: object) -> None:
    # Whoever presses twice wants the same thing: a second signal must not break into the clearing up.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    raise _Interrupted


def run() -> None:
    """Run the command line and leave with a documented exit code; no traceback reaches a user for bad input."""
    for stream in (sys.stdout, sys.stderr):
        # A Windows console may be set to an old code page; results hold ×, ± and the names of files.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    signal.signal(signal.SIGINT, _interrupt)
    try:
        app()
    except ScreenerError as error:
        print_error(error)
        sys.exit(error.exit_code)
    except _Interrupted:
        messages.print("Interrupted. What was finished is kept; run the same command again to go on.")
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output (head, less) has gone: nothing is wrong and nobody is left to tell.
        sys.stderr.close()
        sys.exit(0)
