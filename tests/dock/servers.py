"""Real servers in processes of their own, and stations that talk to them over real connections."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
from dock.conftest import PROGRAM, TOKEN, put_photo
from PIL import Image, ImageDraw

TESTS = Path(__file__).parents[1]
BUSY = 503


class Server:
    """A started server; ``address`` is where it answers."""

    def __init__(self, words: list[str], environment: dict[str, str]) -> None:
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env={**os.environ, **environment}
        )
        assert self.process.stdout
        said = []
        for line in self.process.stdout:
            said.append(line)
            if line.startswith("Open "):
                self.address = line.split()[1]
                return
        raise AssertionError("".join(said))

    def client(self) -> httpx.Client:
        return httpx.Client(base_url=self.address, headers=PROGRAM, timeout=180)

    def kill(self) -> None:
        """As a power cut does."""
        self.process.kill()
        self.process.wait(20)

    def stop(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            try:
                self.process.wait(15)
            except subprocess.TimeoutExpired:
                self.kill()


@contextlib.contextmanager
def fake_server(target: str, photos: Path, reader: str = "nothing_seen") -> Iterator[Server]:
    words = [sys.executable, str(TESTS / "dock" / "fake_server.py"), target, str(photos), reader]
    with _stopped_after(Server(words, {"PYTHONPATH": str(TESTS)})) as server:
        yield server


@contextlib.contextmanager
def real_server(folder: Path, *options: str) -> Iterator[Server]:
    """``screener dock`` as a user starts it."""
    token = folder / "token"
    token.write_text(TOKEN)
    words = [sys.executable, "-c", "from screener.cli.main import run; run()", "dock", "--port", "0"]
    words += ["--record", str(folder / "record.sqlite"), "--token-file", str(token), *options]
    with _stopped_after(Server(words, {})) as server:
        yield server


@contextlib.contextmanager
def _stopped_after(server: Server) -> Iterator[Server]:
    try:
        yield server
    finally:
        server.stop()


def send_until_taken(client: httpx.Client, run: int, line: str, content: bytes, shows: str = "box") -> list[int]:
    """Send one photo as a station does: again and again while the server says that it is busy."""
    statuses = []
    for _ in range(400):
        answer = put_photo(client, run, line, content, shows)
        statuses.append(answer.status_code)
        if answer.status_code != BUSY:
            return statuses
        assert answer.headers["retry-after"]
        assert "busy" in answer.json()["says"]
        # Sooner than asked, so that the test presses harder than any station.
        time.sleep(0.1)
    raise AssertionError("always busy")


def drawn_ring(number: int) -> bytes:
    """A small photo of a ring, another one for each number."""
    side = 320
    picture = Image.new("RGB", (side, side), (200 - number, 200, 195))
    draw, middle = ImageDraw.Draw(picture), side // 2
    for share, shade in ((0.42, 90), (0.30, 160), (0.2, 198)):
        draw.ellipse([middle - share * side] * 2 + [middle + share * side] * 2, fill=(shade, shade, shade))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()
