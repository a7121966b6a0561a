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


# EAN symbol characters (ISO/IEC 15420): seven modules each; the first digit is told by which of the left ones are even.
_ODD = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
_PARITY = ("OOOOOO", "OOEOEE", "OOEEOE", "OOEEEO", "OEOOEE", "OEEOOE", "OEEEOO", "OEOEOE", "OEOEEO", "OEEOEO")


def ean13_as_printed(number: str, scale: int = 3) -> NDArray[np.uint8]:
    """Return the bars of thirteen digits whatever the check digit: a writer would refuse a wrong one."""
    right = [code.translate(str.maketrans("01", "10")) for code in _ODD]
    left = [
        _ODD[int(digit)] if parity == "O" else right[int(digit)][::-1]
        for digit, parity in zip(number[1:7], _PARITY[int(number[0])], strict=True)
    ]
    modules = "101" + "".join(left) + "01010" + "".join(right[int(digit)] for digit in number[7:]) + "101"
    row = np.repeat(np.array([0 if module == "1" else 255 for module in modules], np.uint8), scale)
    return np.tile(row, (60 * scale, 1))


def label_scene(
    text: str,
    kind: zxingcpp.BarcodeFormat | None,
    seed: int,
    *,
    tilt_deg: float = 0.0,
    size: tuple[int, int] = (1200, 1600),
    scale: int | None = None,
) -> NDArray[np.uint8]:
    """Photograph a white label with print and one symbol, lying on a box with coarse texture and ruled lines.

    Parameters
    ----------
    kind
        The symbology; ``None`` draws the thirteen digits of `text` as an EAN-13 whatever their check digit.
    scale
        Pixels of a module; drawn from 2 to 4 when not given.
    """
    rng = np.random.default_rng(seed)
    module = scale or int(rng.integers(2, 5))
    picture = ean13_as_printed(text, module) if kind is None else symbol(text, kind, module)
    if picture.shape[0] < 30 * module:
        picture = np.repeat(picture, -(-30 * module // picture.shape[0]), axis=0)
    label = _label_around(picture, module, rng)
    height, width = size
    box = rng.uniform(90, 150) + cv2.resize(
        rng.normal(0, 10, (height // 4, width // 4)).astype(np.float32), (width, height)
    )
    for _ in range(6):
        x = int(rng.integers(0, width))
        cv2.line(box, (x, 0), (x + int(rng.integers(-80, 80)), height), float(rng.uniform(40, 200)), 2)
    shrink = min(1.0, 0.95 * min(size) / float(np.hypot(*label.shape)))
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (label.shape[1] / 2, label.shape[0] / 2)
    angle = np.radians(-tilt_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    room = np.array([width, height]) / 2 - 0.95 * np.hypot(*label.shape) / 2 * shrink
    middle = np.array([width, height]) / 2 + rng.uniform(-1, 1, 2) * np.maximum(room, 0)
    corners = half @ turn.T * shrink + middle + rng.uniform(-0.015, 0.015, (4, 2)) * label.shape[1]
    flat = np.array([[0, 0], [label.shape[1], 0], [label.shape[1], label.shape[0]], [0, label.shape[0]]], np.float32)
    shape = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
    laid = cv2.warpPerspective(label.astype(np.float32), shape, (width, height), flags=cv2.INTER_AREA)
    mask = cv2.warpPerspective(np.ones(label.shape, np.float32), shape, (width, height))
    light = np.linspace(rng.uniform(0.6, 1), rng.uniform(0.6, 1), width, dtype=np.float32)[None, :]
    lit = (box * (1 - mask) + laid * mask) * light
    seen = cv2.GaussianBlur(lit, (0, 0), float(rng.uniform(0.5, 0.22 * module + 0.45)))
    cv2.setRNGSeed(seed)
    noise = cv2.randn(np.empty(size, np.float32), 0, float(rng.uniform(2, 7)))
    return np.clip(seen + noise, 0, 255).astype(np.uint8)


def _label_around(picture: NDArray[np.uint8], module: int, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Set a symbol with a quiet zone of ten modules, as standards ask for, on a white label above lines of print."""
    quiet, line = 10 * module, 14 * module
    height, width = picture.shape[0] + 2 * quiet + 3 * line, picture.shape[1] + 2 * quiet
    label = np.full((height, width), 245, np.uint8)
    label[quiet : quiet + picture.shape[0], quiet : quiet + picture.shape[1]] = np.clip(picture, 25, 245)
    for row in range(3):
        words = "".join(rng.choice(list("ABCDEFGHKLMNPRSTUVXYZ0123456789 "), 14))
        base = quiet + picture.shape[0] + (row + 1) * line
        cv2.putText(label, words, (quiet, base), cv2.FONT_HERSHEY_SIMPLEX, 0.3 * module, 30, max(1, module // 2))
    return cv2.copyMakeBorder(label, 4, 4, 4, 4, cv2.BORDER_CONSTANT, value=90)
