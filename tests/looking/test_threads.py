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

def ticks():
    used = {}
    for task in Path("/proc/self/task").iterdir():
        after_the_name = (task / "stat").read_text().rpartition(")")[2].split()
        used[task.name] = int(after_the_name[11]) + int(after_the_name[12])  # utime and stime, man 5 proc_pid_stat
    return used.pop(str(Path("/proc/self").resolve().name)), sum(used.values())

use_one_thread()
own, others = ticks()  # a library's thread may have used a little while it was loaded
for photo in sys.argv[1:]:
    assert look(Path(photo)).readable
print(json.dumps([now - then for now, then in zip(ticks(), (own, others))]))
"""


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="only Linux says what each thread used")
def test_after_use_one_thread_no_other_thread_works() -> None:
    photos = [str(SAMPLES / "01" / name) for name in ("face_1.jpg", "box.jpg")]
    call = [sys.executable, "-c", LOOK_AND_COUNT, *photos]
    own, others = json.loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)
    assert own > 10, "nothing was read"
    assert others == 0, "clock ticks of other threads"
