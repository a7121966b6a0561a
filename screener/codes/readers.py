"""Which code readers this machine has."""

from __future__ import annotations

from functools import cache
from types import ModuleType


@cache
def zbar() -> ModuleType | None:
    """Return the pyzbar module when its shared library is installed, else ``None``."""
    try:
        from pyzbar import pyzbar
    except ImportError:
        return None
    # pyzbar looks its library up at import on some systems and at the first call on others.
    module: ModuleType = pyzbar
    return module


def readers_present() -> dict[str, bool]:
    """Return which engines can be asked, for ``screener --version`` and the report's foot.

    Without the second reader everything works, but no number is confirmed by it.
    """
    return {"zxing-cpp": True, "zbar": zbar() is not None}
