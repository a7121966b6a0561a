"""Audit of a record with many items whose photos have been read: seconds and memory.

    python tests/audit/measure_audit.py [--items 10000] [--forms html,pdf,xlsx] [--out /tmp/audit]

The record is made by chance: designations of a shop, 200 units each, two photos a unit with a reading as the
reader writes it, instrument readings on every third unit, and in one designation a second marking process.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from screener.records.model import utc_now
from screener.records.record import Record
from screener.records.tables import item_photos, items, photos, readings, serials

NEEDS = tuple(f"{series}{code:02d}-2RS" for series in ("60", "62", "63") for code in range(1, 18))
VERSION = "made by chance/1"


def fill(record: Record, count: int, *, per_designation: int = 200, seed: int = 1) -> int:
    """Put ``count`` items of one run into a record; return the run."""
    chance = random.Random(seed)
    run = record.start_run("receive", order_name="order.csv")
    rows: dict[Any, list[dict[str, Any]]] = {table: [] for table in (items, photos, item_photos, readings, serials)}
    for number in range(count):
        _add_unit(rows, run.id, number, NEEDS[number // per_designation % len(NEEDS)], chance)
    with record._writing() as connection:
        for table, values in rows.items():
            for start in range(0, len(values), 500):
                connection.execute(insert(table), values[start : start + 500])
    record.finish(run.id)
    return run.id


def _add_unit(rows: dict[Any, list[dict[str, Any]]], run: int, number: int, need: str, chance: random.Random) -> None:
    other = need == NEEDS[0] and number % 10 == 0
    disposition = "reject" if number % 97 == 0 else "hold" if number % 41 == 0 else "accept"
    rows[items].append(
        {
            "id": number + 1,
            "run_id": run,
            "item_key": str(number + 1),
            "recorded_at": utc_now(),
            "fingerprint": str(number),
            "result": _result(number, need, disposition, chance),
            "disposition": disposition,
            "suspicion": "none",
            "requirement": need,
            "supplier": "Harbour Supply",
            "line": str(number + 1),
        }
    )
    serial = f"7F{number:06d}"
    rows[serials].append({"serial": serial, "scope": "09520041001053", "item_id": number + 1, "run_id": run})
    for position, kind in enumerate(("box", "face1")):
        sha = f"{number * 2 + position:064x}"
        name = f"{number + 1}/{kind}.jpg"
        kept = {"sha256": sha, "name": name, "bytes": 1, "stored_path": f"{sha}.jpg", "first_seen_at": utc_now()}
        rows[photos].append(kept)
        rows[item_photos].append({"item_id": number + 1, "position": position, "photo_sha256": sha, "name": name})
        look = _box(sha, name, need, serial) if kind == "box" else _face(sha, name, need, other, chance)
        rows[readings].append({"photo_sha256": sha, "reader_version": VERSION, "look": look, "read_at": utc_now()})


def _observation(key: int, attribute: str, value: object, channel: str, **more: object) -> dict[str, Any]:
    source = {"channel": channel, "where": "photo", "photo_sha256": "", "region_px": [[0.0, 0.0]] * 48, "reader": "x"}
    return {"key": f"o{key}", "attribute": attribute, "value": value, "source": source, **more}


def _result(number: int, need: str, disposition: str, chance: random.Random) -> dict[str, Any]:
    observations = [
        _observation(1, "designation", need, "label", p=0.95),
        _observation(2, "serial", f"7F{number:06d}", "barcode", confirmed=True),
        _observation(3, "gtin", "09520041001053", "barcode", confirmed=True),
        _observation(4, "batch", f"L26{number // 100 % 7}", "barcode", confirmed=True),
        _observation(5, "bore_to_od", chance.gauss(0.48, 0.002), "geometry", u=0.003),
        _observation(6, "closure", "rubber_seal", "face", p=0.97),
        *(_observation(10 + n, "text", f"line {n}", "label", p=0.9) for n in range(8)),
    ]
    if number % 3 == 0:
        observations.append(_observation(7, "mass_g", chance.gauss(128, 0.6), "instrument", u=0.5))
    reason = {"accept": "Box and part agree.", "hold": "One face seen.", "reject": "The face shows a metal shield."}
    return {
        "item": str(number + 1),
        "requirement": need,
        "disposition": disposition,
        "exit": {"accept": "use", "hold": "look again", "reject": "send back"}[disposition],
        "reason": reason[disposition],
        "next_step": "" if disposition == "accept" else "Photograph the other face.",
        "findings": [],
        "not_checked": ["Clearance cannot be seen in a photo.", "Steel and heat treatment were not checked."],
        "order_line": {"basic": need.partition("-")[0], "need": need, "line": str(number + 1), "quantity": 1},
        "photos": [],
        "observations": observations,
    }


def _box(sha: str, name: str, need: str, serial: str) -> dict[str, Any]:
    lines = [{"text": f"text {n} {need}", "p": 0.95, "region_px": [[0, 40.0 * n]] * 4} for n in range(10)]
    fields = {"designation": need, "quantity": 1, "serial": serial}
    code = {"symbology": "Data Matrix", "text": serial, "corners_px": [[0, 0]] * 4, "fields": fields}
    return {"schema": "screener.look/1", "photo": name, "sha256": sha, "codes": [code], "parts": [],
            "label": {"lines": lines, "fields": fields, "field_lines": []}}  # fmt: skip


def _face(sha: str, name: str, need: str, other: bool, chance: random.Random) -> dict[str, Any]:
    def quality() -> dict[str, float]:
        stroke = 0.011 * (1.35 if other else 1.0) * chance.lognormvariate(0, 0.07)
        pitch = 0.060 * (1.12 if other else 1.0) * chance.lognormvariate(0, 0.03)
        contrast = 0.5 * (0.7 if other else 1.0) * chance.lognormvariate(0, 0.12)
        return {"stroke": stroke, "spacing": pitch, "contrast": contrast}

    outline = [[float(n), float(n % 7)] for n in range(16)]
    marks = [
        {"text": text, "place": "ring", "p": 0.9, "region_px": outline, "quality": quality()} for text in (need, "M47")
    ]
    ellipse = {"cx": 400.0, "cy": 400.0, "a": 280.0, "b": 270.0, "angle_deg": 10.0}
    part = {"kind": "bearing", "outer_ellipse_px": ellipse, "marks": marks, "rubber_colour": "black"}
    return {"schema": "screener.look/1", "photo": name, "sha256": sha, "codes": [], "parts": [part], "label": None}


def measure(folder: Path, count: int, forms: Sequence[str]) -> dict[str, float]:
    """Make a record, audit it by the command line and return what that took."""
    place = folder / "record.sqlite"
    started = time.perf_counter()
    with Record.open(place) as record:
        fill(record, count)
    made_s = time.perf_counter() - started
    took: dict[str, float] = {"items": count, "made_s": made_s}
    for form in forms:
        out = folder / f"audit.{form}"
        arguments = ("audit", "--record", str(place), "--lot", "100000", "--out", str(out))
        started = time.perf_counter()
        before = _cpu_s()
        done = subprocess.run(
            [sys.executable, "-c", "from screener.cli.main import run; run()", *arguments],
            check=False,
            stdout=subprocess.DEVNULL,
        )
        took[f"{form}_s"] = time.perf_counter() - started
        took[f"{form}_cpu_s"] = _cpu_s() - before
        took[f"{form}_exit"] = done.returncode
        took[f"{form}_mb"] = out.stat().st_size / 1e6
    # The largest of the three: Linux counts the highest mark of all children.
    took["peak_mb"] = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return took


def _cpu_s() -> float:
    """Seconds of processor that finished children took: what a busy machine does not falsify."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--items", type=int, default=10_000)
    parser.add_argument("--forms", default="html,pdf,xlsx")
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = given.out or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        sys.stdout.write(json.dumps(measure(folder, given.items, given.forms.split(",")), indent=1) + "\n")


if __name__ == "__main__":
    main()
