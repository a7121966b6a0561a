"""How this process runs its networks: one place opens them all, with one number of threads.

Every network that onnxruntime runs has worker threads of its own, which keep a core busy even while they wait. Where
the cores are shared between processes, a photo each, every network has to be kept to the thread that calls it.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

_limit: int | None = None


def limit_threads(count: int | None) -> None:
    """Let each network opened from now on use so many threads; ``None``: all cores."""
    global _limit  # noqa: PLW0603 - a setting of the process, as that of OpenCV is
    _limit = count


def threads() -> int | None:
    """Threads for each network; ``None``: all cores."""
    return _limit


def open_network(model: Path, count: int | None) -> Any:
    """Open a network of onnxruntime.

    Parameters
    ----------
    model
        The .onnx file.
    count
        Threads, usually `threads()`.

    Raises
    ------
    ImportError
        onnxruntime is not installed.
    """
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.log_severity_level = 4
    options.enable_cpu_mem_arena = False
    # Threads that spin while they wait take the core from whatever runs between two networks.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    if count is not None:
        options.intra_op_num_threads = count
        options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


@cache
def network_if_there(model: Path, count: int | None) -> Any | None:
    """Return the network as `open_network` does, opened once; None where its file or onnxruntime is missing."""
    if not model.is_file():
        return None
    try:
        return open_network(model, count)
    except ImportError:
        return None
