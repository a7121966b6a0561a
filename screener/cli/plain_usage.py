"""What the command line library says of a value that it cannot take, in words for people who write no programs."""

from __future__ import annotations

import re
from typing import Any

import typer
from typer.core import TyperArgument, TyperGroup

_PLAIN = (
    (r"Input should be a valid integer.*", "this is no whole number; write digits alone: 1200."),
    (r"Input should be a valid number.*", "this is no number; write it as 12.5."),
    (r"Input should be greater than or equal to (\S+)", r"it has to be \1 or more."),
    (r"Input should be greater than (\S+)", r"it has to be more than \1."),
    (r"Input should be less than or equal to (\S+)", r"it has to be \1 or less."),
    (r"Input should be less than (\S+)", r"it has to be less than \1."),
)


def plain_words(says: str) -> str:
    """Return the library's sentence in plain words; one that is not known stays."""
    for pattern, plain in _PLAIN:
        if found := re.fullmatch(pattern, says, flags=re.DOTALL):
            return found.expand(plain)
    return says


def _nothing(ctx: object) -> str:
    del ctx
    return ""


class PlainGroup(TyperGroup):
    """The commands of a program; a value that cannot be taken is refused in plain words."""

    def get_command(self, ctx: typer.Context, cmd_name: str) -> Any:  # type: ignore[override]
        """Return the command; help shows the plain name of an argument alone, not its type."""
        command = super().get_command(ctx, cmd_name)
        for parameter in command.params if command is not None else ():
            if isinstance(parameter, TyperArgument):
                parameter.display_type_rich = _nothing  # type: ignore[method-assign]
        return command

    def invoke(self, ctx: typer.Context) -> object:  # type: ignore[override]
        """Run the command asked for."""
        try:
            return super().invoke(ctx)
        except typer.BadParameter as error:
            error.message = plain_words(error.message)
            raise
