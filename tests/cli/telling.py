"""What a command tells on a wide terminal."""

from __future__ import annotations

from typer.testing import CliRunner

from screener.cli.main import app


def told(*arguments: object, code: int = 0) -> str:
    """Run a command that has to end with ``code``; return what it printed."""
    given = [str(each) for each in arguments]
    done = CliRunner().invoke(app, given, catch_exceptions=False, env={"COLUMNS": "200"})
    assert done.exit_code == code, done.output
    return done.stdout
