"""A folder that a camera saves into, taken to the bench photo by photo.

What was taken is in the record, so a watcher that is stopped and started again goes on; a photo is known by its
content, not by its name.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from screener.receiving.assign import LineToFill, assign
from screener.receiving.bench_model import PhotoJob
from screener.receiving.bench_run import load_run
from screener.receiving.observe import face_of_photo
from screener.receiving.photo_files import PHOTO_ENDINGS, PhotoFile, sha256_of
from screener.receiving.progress import Silent
from screener.receiving.read_photos import read_photos

if TYPE_CHECKING:
    from pathlib import Path

    from screener.looking.reading import PhotoReading
    from screener.receiving.bench import Bench
    from screener.receiving.bench_model import Shows

WATCHER = "screener watch"
_BOX = re.compile(r"box|label|karton|etikett|carton|etiquette", re.IGNORECASE)
_FACES: dict[str, Shows] = {"first": "face1", "second": "face2"}


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one file."""

    photo: str
    """Path below the folder, with ``/``."""
    line: str | None
    state: Literal["taken", "known", "no line", "unreadable"]
    says: str = ""
    disposition: str = ""
    """Of its line, answered anew."""


class Watcher:
    """Takes finished photos of a folder to one delivery.

    A file is finished when it has not changed between two rounds.
    """

    def __init__(self, bench: Bench, run_id: int, folder: Path, *, workers: int | None = None) -> None:
        self._bench = bench
        self._run_id = run_id
        self._folder = folder
        self._workers = workers
        self._seen: dict[str, tuple[int, int]] = {}
        self._done: dict[str, tuple[int, int]] = {}
        self._taken: dict[str, tuple[str, str]] = {}

    def round(self) -> tuple[Taken, ...]:
        """Take what is finished since the last round; return what became of each file."""
        seen = self._look_around()
        names = [name for name, state in seen.items() if self._seen.get(name) == state != self._done.get(name)]
        self._seen = seen
        photos = [photo for name in names if (photo := self._photo(name)) is not None]
        taken = self._take(photos)
        self._done |= {name: seen[name] for name in names}
        return taken

    def _look_around(self) -> dict[str, tuple[int, int]]:
        found = {}
        for path in sorted(self._folder.rglob("*")):
            if path.suffix.lower() in PHOTO_ENDINGS and not path.name.startswith("."):
                try:
                    state = path.stat()
                except OSError:
                    # Renamed by the camera in this very moment: seen in the next round.
                    continue
                if state.st_size:
                    found[path.relative_to(self._folder).as_posix()] = (state.st_size, state.st_mtime_ns)
        return found

    def _photo(self, name: str) -> PhotoFile | None:
        path = self._folder / name
        try:
            return PhotoFile(name, path, sha256_of(path))
        except OSError:
            return None

    def _take(self, photos: list[PhotoFile]) -> tuple[Taken, ...]:
        loaded = load_run(self._bench.record, self._run_id, answers=False)
        given = {sha256 for log in loaded.logs.values() for sha256 in log.given}
        fresh = [photo for photo in photos if photo.sha256 not in given]
        readings = read_photos(fresh, self._bench.record, Silent(), workers=self._workers) if fresh else {}
        lines = [LineToFill(line, need.explained) for line, need in loaded.requirements.items()]
        assignment = assign([photo.name for photo in fresh], lines, readings)
        line_of = {name: key for key, names in assignment.items.items() for name in names}
        for photo in fresh:
            if photo.name in line_of:
                self._give(photo, line_of[photo.name], readings[photo.name])
        words = {line: self._answer(line) for line in dict.fromkeys(line_of.values())}
        why = {each.photo: each.says for each in assignment.unassigned}
        return tuple(self._outcome(photo, fresh, line_of, readings, words, why) for photo in photos)

    def _give(self, photo: PhotoFile, line: str, reading: PhotoReading) -> None:
        before = self._taken.get(photo.name)
        if before is not None:
            # The camera wrote on after a pause: what was taken first was only the beginning.
            self._bench.withdraw_photo(self._run_id, *before, who=WATCHER, why="the file was changed")
        self._bench.add_photo(self._run_id, line, photo.name, photo.path, shows_by_name(photo.name))
        self._bench.photo_was_read(PhotoJob(self._run_id, line, photo.sha256), reading)
        self._taken[photo.name] = (line, photo.sha256)

    def _answer(self, line: str) -> str:
        answer = self._bench.screen_line(self._run_id, line)
        return answer.word if answer is not None else ""

    def _outcome(
        self,
        photo: PhotoFile,
        fresh: list[PhotoFile],
        line_of: dict[str, str],
        readings: dict[str, PhotoReading],
        words: dict[str, str],
        why: dict[str, str],
    ) -> Taken:
        if photo not in fresh:
            return Taken(photo.name, None, "known")
        line = line_of.get(photo.name)
        if line is None:
            return Taken(photo.name, None, "no line", why.get(photo.name, ""))
        reading = readings[photo.name]
        problems = " ".join(problem.says for problem in reading.problems)
        return Taken(photo.name, line, "taken" if reading.readable else "unreadable", problems, words[line])


def shows_by_name(name: str) -> Shows:
    """Return what a photo's name says that it shows."""
    last = name.rsplit("/", 1)[-1]
    face = face_of_photo(last)
    if face in _FACES:
        return _FACES[face]
    return "box" if _BOX.search(last) else "other"
