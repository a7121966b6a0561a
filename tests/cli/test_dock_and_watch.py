"""``screener dock`` and ``screener watch`` as programs."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest
from dock.conftest import TOKEN
from dock.servers import real_server
from PIL import Image

SCREENER = [sys.executable, "-c", "from screener.cli.main import run; run()"]


def call(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    line = [*SCREENER, *map(str, words)]
    return subprocess.run(line, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)


def test_the_server_answers_this_machine_only_and_stops_at_once(tmp_path: Path) -> None:
    with real_server(tmp_path, "--workers", "1") as server:
        assert server.address.startswith("http://127.0.0.1:")
        page = httpx.get(server.address + "/", timeout=60)
        assert page.status_code == 200
        port = int(server.address.rpartition(":")[2])
        with socket.socket() as outside, pytest.raises(OSError, match="refused"):
            # Another address of this machine's own loopback net stands for the network.
            outside.connect(("127.0.0.2", port))
        begun = time.monotonic()
        server.process.send_signal(signal.SIGTERM)
        server.process.wait(20)
        assert time.monotonic() - begun < 15
    assert (tmp_path / "token").read_text() == TOKEN


def test_opened_to_the_network_it_says_a_pairing_code(tmp_path: Path) -> None:
    with real_server(tmp_path, "--open-to-network", "--workers", "1", "--host-name", "bench-pc") as server:
        assert server.process.stdout
        said = ""
        while "Pairing code" not in said:
            said = server.process.stdout.readline()
            assert said
        code = said.partition(": ")[2].strip()
        port = server.address.rpartition(":")[2]
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", headers={"Host": "bench-pc"}, timeout=60) as tablet:
            assert tablet.get("/").headers["location"] == "/pair"
            answer = tablet.post("/pair", data={"code": code})
            assert answer.status_code == 303
            cookie = answer.headers["set-cookie"].partition(";")[0]
            assert tablet.get("/api/v1/held", headers={"Cookie": cookie}).status_code == 200


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = call("dock", "--port", str(port), "--record", tmp_path / "r.sqlite", cwd=tmp_path)
    assert done.returncode == 1
    assert "port" in done.stderr
    assert "Traceback" not in done.stderr


def test_https_needs_certificate_and_key(tmp_path: Path) -> None:
    done = call("dock", "--tls-cert", "x.pem", cwd=tmp_path)
    assert done.returncode == 2


@pytest.mark.skipif(shutil.which("openssl") is None, reason="makes its certificate with openssl")
def test_with_a_certificate_it_speaks_https(tmp_path: Path) -> None:
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", "/CN=localhost"]
    made += ["-addext", "subjectAltName=IP:127.0.0.1", "-keyout", "key.pem", "-out", "cert.pem"]
    subprocess.run(made, cwd=tmp_path, check=True, capture_output=True)
    options = ["--tls-cert", str(tmp_path / "cert.pem"), "--tls-key", str(tmp_path / "key.pem"), "--workers", "1"]
    with real_server(tmp_path, *options) as server:
        assert server.address.startswith("https://")
        trusting = ssl.create_default_context(cafile=str(tmp_path / "cert.pem"))
        page = httpx.get(server.address + "/", verify=trusting, timeout=60)
    assert page.status_code == 200
    assert "Secure" in page.headers["set-cookie"]


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_a_token_is_made_for_its_owner_only(tmp_path: Path) -> None:
    from screener.dock.serve import token_in

    made = token_in(tmp_path / "t")
    assert len(made) >= 40
    assert (tmp_path / "t").stat().st_mode & 0o077 == 0
    assert token_in(tmp_path / "t") == made


def test_watch_takes_what_is_there_and_says_the_exit_code_of_receive(tmp_path: Path) -> None:
    (tmp_path / "o.csv").write_text("line,designation\n1,6205-2RS\n")
    (tmp_path / "in").mkdir()
    Image.new("RGB", (64, 64), (9, 90, 90)).save(tmp_path / "in" / "1_box.jpg")
    words = ["watch", "in", "--record", "r.sqlite", "--once", "--every", "0.2", "--json"]
    nothing_open = call(*words, cwd=tmp_path)
    assert nothing_open.returncode == 2
    done = call(*words, "--order", "o.csv", cwd=tmp_path)
    assert done.returncode == 10, done.stderr
    (taken,) = [json.loads(line) for line in done.stdout.splitlines()]
    assert (taken["photo"], taken["line"], taken["state"], taken["disposition"]) == ("1_box.jpg", "1", "taken", "hold")
    again = call(*words, cwd=tmp_path)
    assert [json.loads(line)["state"] for line in again.stdout.splitlines()] == ["known"]


def test_watch_without_a_folder_is_told(tmp_path: Path) -> None:
    assert call("watch", "nowhere", "--order", "o.csv", cwd=tmp_path).returncode == 3
