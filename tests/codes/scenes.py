"""Synthetic photos of codes for the tests. The symbols are made by the writer inside zxing-cpp."""

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

BarcodeFormat = zxingcpp.BarcodeFormat


def symbol(text: str, kind: zxingcpp.BarcodeFormat, scale: int = 3, *, gs1: bool = False) -> NDArray[np.uint8]:
    """Return the symbol as dark on light, one module `scale` pixels."""
    barcode = zxingcpp.create_barcode(text, kind, gs1=True) if gs1 else zxingcpp.create_barcode(text, kind)
    return np.array(barcode.to_image(scale=scale), dtype=np.uint8)


def scene(
    symbols: list[tuple[NDArray[np.uint8], float, float]],
    seed: int,
    *,
    size: tuple[int, int] = (700, 900),
    tilt_deg: float = 0.0,
    blur: float = 0.7,
    noise: float = 6.0,
    contrast: float = 0.85,
    inverted: bool = False,
) -> NDArray[np.uint8]:
    """Lay symbols (picture, x, y of the middle) on a mottled bench under slanting light."""
    rng = np.random.default_rng(seed)
    height, width = size
    coarse = rng.integers(90, 170, (height // 24 + 1, width // 24 + 1)).astype(np.uint8)
    canvas = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC).astype(np.float32)
    for picture, x, y in symbols:
        padded = cv2.copyMakeBorder(picture, 25, 25, 25, 25, cv2.BORDER_CONSTANT, value=255).astype(np.float32)
        padded = 128 + ((255 - padded if inverted else padded) - 128) * contrast
        turn = cv2.getRotationMatrix2D((padded.shape[1] / 2, padded.shape[0] / 2), tilt_deg, 1.0)
        turn[:, 2] += (x - padded.shape[1] / 2, y - padded.shape[0] / 2)
        laid = cv2.warpAffine(padded, turn, (width, height))
        mask = cv2.warpAffine(np.ones_like(padded), turn, (width, height))
        canvas = canvas * (1 - mask) + laid * mask
    light = np.linspace(rng.uniform(0.7, 1), rng.uniform(0.7, 1), width)[None, :]
    seen = cv2.GaussianBlur(canvas * light, (0, 0), blur) + rng.normal(0, noise, (height, width))
    return np.clip(seen, 0, 255).astype(np.uint8)
