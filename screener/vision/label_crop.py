"""Lines of text cut out of a photo, straightened, with room around them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.model import Point


def strip_of(
    rgb: NDArray[np.uint8], quad: Sequence[Point], *, beside: float = 0.0, above: float = 0.0, height_px: int = 0
) -> NDArray[np.uint8]:
    """Cut a line out, its first corner top left.

    Parameters
    ----------
    rgb
        The photo, (H, W, 3) uint8.
    quad
        Corners, clockwise from the text's own top left.
    beside, above
        Room before and behind the text, and above and below it, in heights of the text.
    height_px
        Height of the strip; 0 keeps the photo's scale.
    """
    import cv2

    corners = np.asarray(quad, np.float32)
    width, height = float(np.linalg.norm(corners[1] - corners[0])), float(np.linalg.norm(corners[3] - corners[0]))
    x, y = beside * height, above * height
    scale = height_px / (height + 2 * y) if height_px else 1.0
    size = (max(8, round((width + 2 * x) * scale)), max(8, round((height + 2 * y) * scale)))
    to = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], np.float32) * np.float32(scale)
    shape = cv2.getPerspectiveTransform(corners, to)
    cut = cv2.warpPerspective(rgb, shape, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(cut, np.uint8)
