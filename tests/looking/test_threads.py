"""A process that reads photos for others keeps to one core. Outside source: the kernel's account of each thread."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[2] / "samples" / "photos"
LOOK_AND_COUNT = """
import json, sys
from pathlib import Path
from screener.looking.look import look, use_one_thread

use_one_thread()
for photo in sys.argv[1:]:
    assert look(Path(photo)).readable
ticks = {}
for task in Path("/proc/self/task").iterdir():
    after_the_name = (task / "stat").read_text().rpartition(")")[2].split()
    ticks[task.name] = int(after_the_name[11]) + int(after_the_name[12])  # utime and stime, man 5 proc_pid_stat
own = ticks.pop(str(Path("/proc/self").resolve().name))
print(json.dumps([own, sorted(ticks.values())]))
"""


def ticks_of_threads() -> tuple[int, list[int]]:
    """Clock ticks of the main thread and of each other one, after a face (rings) and a box (text) were read."""
    photos = [str(SAMPLES / "01" / name) for name in ("face_1.jpg", "box.jpg")]
    call = [sys.executable, "-c", LOOK_AND_COUNT, *photos]
    done = subprocess.run(call, check=True, capture_output=True, text=True)
    own, others = json.loads(done.stdout)
    return own, others


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="only Linux says what each thread used")
def test_after_use_one_thread_no_other_thread_works() -> None:
    own, others = ticks_of_threads()
    assert own > 10, "nothing was read"
    assert sum(others) == 0
