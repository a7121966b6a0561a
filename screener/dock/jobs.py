"""Jobs that are being worked on at the bench: each card with its readings, one file a job, beside the server's key."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

from screener.errors import InputUnreadable, WrongUsage
from screener.metrology.fits.job_card import JobCard, read_card
from screener.reports.whole_file import write_whole

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

LARGEST_CARD_BYTES = 200_000
_CARDS = TypeAdapter(JobCard)


@dataclass(frozen=True, slots=True)
class KeptJob:
    """A card as it stands, and the run of the record in which each part is verified by photo."""

    number: int
    card: JobCard
    runs: Mapping[str, int] = field(default_factory=dict)
    """By name of the part."""


class JobShelf:
    """Keeps jobs as files; one change at a time."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "jobs"
        self._lock = threading.Lock()

    def numbers(self) -> list[int]:
        """Return the numbers of all jobs, newest first."""
        names = (path.stem.removeprefix("job-") for path in self._folder.glob("job-*.json"))
        return sorted((int(name) for name in names if name.isdecimal()), reverse=True)

    def all(self, at_most: int = 30) -> list[KeptJob]:
        """Return the newest jobs; one whose file was spoilt is left out."""
        found = []
        for number in self.numbers()[:at_most]:
            try:
                found.append(self.get(number))
            except InputUnreadable:
                continue
        return found

    def add(self, card: JobCard) -> KeptJob:
        """Keep a new job. Photos that the card names lie beside its file, not here: they are taken anew."""
        bare = replace(card, part=tuple(replace(each, photos=()) for each in card.part))
        with self._lock:
            job = KeptJob(max(self.numbers(), default=0) + 1, bare)
            self._write(job)
        return job

    def get(self, number: int) -> KeptJob:
        """Return a job.

        Raises
        ------
        WrongUsage
            There is none of this number.
        InputUnreadable
            Its file was spoilt.
        """
        path = self._path(number)
        try:
            content = json.loads(path.read_text(encoding="utf-8"))
            card, runs = content["card"], dict(content["runs"])
        except FileNotFoundError:
            raise WrongUsage(
                "There is no such job.", where=f"job {number}", next_step="Choose one of the list.", code="no_such_run"
            ) from None
        except (OSError, ValueError, KeyError, TypeError) as fault:
            raise InputUnreadable(f"The job's file cannot be read ({fault}).", where=str(path)) from None
        return KeptJob(number, read_card(card, f"job {number}"), runs)

    def change(self, number: int, how: Callable[[KeptJob], KeptJob]) -> KeptJob:
        """Change a job as it stands now and keep it; what is refused changes nothing."""
        with self._lock:
            job = how(self.get(number))
            self._write(job)
        return job

    def _write(self, job: KeptJob) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)
        content: dict[str, Any] = {"card": _CARDS.dump_python(job.card, mode="json"), "runs": dict(job.runs)}
        write_whole(self._path(job.number), [json.dumps(content, ensure_ascii=False)])

    def _path(self, number: int) -> Path:
        return self._folder / f"job-{number}.json"
