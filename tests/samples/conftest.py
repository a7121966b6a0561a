from __future__ import annotations

import sys
from pathlib import Path

import cv2
import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
if str(SAMPLES) not in sys.path:
    sys.path.insert(0, str(SAMPLES))
cv2.setNumThreads(1)


@pytest.fixture
def samples() -> Path:
    return SAMPLES
