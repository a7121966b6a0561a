"""A form that was not taken: shown again on its page, with what was typed and the reason beside its field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from screener.dock.faults import status_of
from screener.errors import ScreenerError, WrongUsage

if TYPE_CHECKING:
    from starlette.datastructures import FormData


@dataclass(frozen=True, slots=True)
class Refused:
    """What a form held and why it was not taken. Empty: nothing was refused."""

    form: str = ""
    """Which form of the page."""
    typed: Mapping[str, str] = field(default_factory=dict)
    problem: ScreenerError | None = None
    place: str = ""
    """Name of the field that the reason belongs to; empty: to the whole form."""

    @property
    def status(self) -> int:
        """HTTP status of the page that shows it."""
        return status_of(self.problem) if self.problem else 200

    def is_form(self, form: str) -> bool:
        """Whether this form of the page was refused."""
        return bool(form) and self.form == form

    def value(self, form: str, name: str, usual: str = "") -> str:
        """Return what stands in a field: what was typed, or what usually stands there."""
        return self.typed.get(name, usual) if self.is_form(form) else usual

    def wrong(self, form: str, name: str) -> ScreenerError | None:
        """Return why this field was refused, if it was; ``name`` may be empty for the form itself."""
        return self.problem if self.is_form(form) and self.place == name else None


NOTHING = Refused()


def refused_form(name: str, form: FormData, problem: ScreenerError) -> Refused:
    """Keep what was typed and find the field that the problem names."""
    typed = {key: value for key, value in form.items() if isinstance(value, str) and key != "csrf_token"}
    return Refused(name, typed, problem, _place(problem.where, typed))


def _place(where: str, typed: Mapping[str, str]) -> str:
    """Errors name a field as people do (``bore``, ``mass``), forms as programs do (``bore_mm``, ``mass_g``)."""
    return next((name for name in (where, f"{where}_mm", f"{where}_g", f"{where}_c") if where and name in typed), "")


def need_name(who: str) -> str:
    """Return the name of the person who does this.

    Raises
    ------
    WrongUsage
        Nobody is named.
    """
    if not who:
        raise WrongUsage("your name is missing.", where="who", next_step="Type it: it stays in the record.")
    return who


def need_reason(why: str) -> str:
    """Return why this is done.

    Raises
    ------
    WrongUsage
        No reason is given.
    """
    if not why:
        raise WrongUsage("a reason is missing.", where="why", next_step="Tick one, or write it.")
    return why
