"""The first reader: zxing-cpp on one image, its results in the words of this package."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import zxingcpp

from screener.codes.model import CodeRead, Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

READER = "zxing-cpp"

Among = Literal["all", "usual", "linear"]

_LINEAR = (
    zxingcpp.BarcodeFormat.EANUPC,
    zxingcpp.BarcodeFormat.Code128,
    zxingcpp.BarcodeFormat.Code39,
    zxingcpp.BarcodeFormat.Code93,
    zxingcpp.BarcodeFormat.ITF,
    zxingcpp.BarcodeFormat.Codabar,
    zxingcpp.BarcodeFormat.DataBar,
)
_USUAL = (
    *_LINEAR,
    zxingcpp.BarcodeFormat.QRCode,
    zxingcpp.BarcodeFormat.DataMatrix,
    zxingcpp.BarcodeFormat.PDF417,
)
# Looking for these as well costs as much again on a frame of 12 megapixels; smaller copies show most of them too.
_RARE = (
    zxingcpp.BarcodeFormat.MicroQRCode,
    zxingcpp.BarcodeFormat.RMQRCode,
    zxingcpp.BarcodeFormat.MicroPDF417,
    zxingcpp.BarcodeFormat.Aztec,
    zxingcpp.BarcodeFormat.MaxiCode,
)
_FORMATS: dict[Among, zxingcpp.BarcodeFormats] = {
    "all": zxingcpp.BarcodeFormats([*_USUAL, *_RARE]),
    "usual": zxingcpp.BarcodeFormats([*_USUAL]),
    "linear": zxingcpp.BarcodeFormats([*_LINEAR]),
}
# Symbologies without a check character and with short start patterns: on an enhanced picture a texture reads as one.
_EASILY_IMAGINED = ("ITF", "Codabar")
_SHORTEST_BELIEVED = 6
# A wrong check digit can be printed in these; elsewhere a failed check is a failed read.
_MAY_FAIL_CHECK = ("EAN-13", "EAN-8", "UPC-A")


def find(
    gray: NDArray[np.uint8],
    *,
    quick: bool = False,
    other_binarizer: bool = False,
    among: Among = "all",
    scale: float = 1.0,
) -> list[CodeRead]:
    """Read every code that zxing-cpp finds in one image.

    Parameters
    ----------
    gray
        Shape (height, width), C-contiguous.
    quick
        Look only upright, dark on light, at this size.
    other_binarizer
        One global threshold instead of local averages.
    among
        ``usual`` leaves out Aztec, MaxiCode and the micro and oblong forms of QR and PDF417; ``linear`` takes only
        codes of one row of bars, which costs least.
    scale
        How many pixels of this image make one of the photo; corners are given in photo pixels.

    Returns
    -------
    list of CodeRead
        EAN and UPC with a wrong check digit among them, marked ``bad``: most are misread, see
        :mod:`screener.codes.second_look`.
    """
    binarizer = zxingcpp.Binarizer.GlobalHistogram if other_binarizer else zxingcpp.Binarizer.LocalAverage
    barcodes = zxingcpp.read_barcodes(
        gray,
        formats=_FORMATS[among],
        try_rotate=not quick,
        try_downscale=not quick,
        try_invert=not quick,
        binarizer=binarizer,
        text_mode=zxingcpp.TextMode.Plain,
        return_errors=True,
    )
    return [_code(barcode, scale) for barcode in barcodes if barcode.text and (barcode.valid or _only_check(barcode))]


def believable(code: CodeRead) -> bool:
    """Tell whether a code read only after enhancing is worth keeping."""
    return code.symbology not in _EASILY_IMAGINED or len(code.text) >= _SHORTEST_BELIEVED


def _only_check(barcode: zxingcpp.Barcode) -> bool:
    """Tell whether nothing is wrong with a symbol but the check digit of its number."""
    return str(barcode.format) in _MAY_FAIL_CHECK and str(barcode.error).startswith("ChecksumError")


def _code(barcode: zxingcpp.Barcode, scale: float) -> CodeRead:
    place = barcode.position
    corners: tuple[Point, ...] = tuple(
        (corner.x / scale, corner.y / scale)
        for corner in (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
    )
    return CodeRead(
        symbology=str(barcode.format),
        text=barcode.text,
        reader=READER,
        corners_px=corners,
        symbology_identifier=barcode.symbology_identifier,
        check_digit="none" if barcode.valid else "bad",
    )
