"""A photo against the references of its product: read both, compare with each, let the best match decide."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from screener.codes.decode import read_codes
from screener.errors import InputUnreadable
from screener.looking.look import look
from screener.vision.photo import open_photo
from screener.vision.reference.compare import Reference, compare, prepare
from screener.vision.reference.marks import Ring, compare_rings, rings_as_compared
from screener.vision.reference.model import CodePlace, Compared, same_place
from screener.vision.text_engine import text_engine

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from screener.records.archive import Archive
    from screener.records.references import ReferencePhoto
    from screener.vision.photo import Photo

SCHEMA = "screener.reference/1"


@dataclass(frozen=True, slots=True)
class AgainstReference:
    """One photo against one reference."""

    reference: ReferencePhoto
    compared: Compared


@dataclass(frozen=True, slots=True)
class ReferenceComparison:
    """One photo against all references of a product. The best match decides; the others are listed."""

    photo: str
    photo_sha256: str
    best: AgainstReference | None
    tried: tuple[AgainstReference, ...]
    more: str = ""
    """Why there is no reference to compare with, what would help, or that the box names another product."""

    @property
    def problem(self) -> str:
        """Why nothing is concluded; empty when something is."""
        if self.best is None:
            return self.more or "there is no reference of this maker and product."
        return f"{self.best.compared.problem} {self.more}".strip() if self.best.compared.problem else ""


def compare_photo(photo: Path, references: Sequence[ReferencePhoto], archive: Archive) -> ReferenceComparison:
    """Compare one photo with references of one product.

    Parameters
    ----------
    photo
        The new photo's file.
    references
        Of one product and kind; several with dates are normal.
    archive
        Where the references' photos are kept.

    Raises
    ------
    InputUnreadable
        The photo, or a reference's photo, cannot be opened.
    """
    opened = open_photo(photo)
    tried = [AgainstReference(r, _against(r, photo, opened, archive)) for r in references]
    best = _best(tried)
    if best is not None and best.reference.kind == "package" and best.compared.differences:
        best = _explained(best, [r for r in references if r.kind == "package" and r.id != best.reference.id], archive)
    return ReferenceComparison(photo.name, opened.sha256, best, tuple(tried))


def _against(reference: ReferencePhoto, path: Path, photo: Photo, archive: Archive) -> Compared:
    if reference.kind == "package":
        return compare(_prepared(reference, archive), photo.rgb, text_engine())
    ring, new = _ring(_kept(reference, archive)), _ring(path)
    if ring is None or new is None:
        return Compared(None, f"no marked face was found in {'the reference' if ring is None else 'the photo'}.")
    return rings_as_compared(compare_rings(ring, new))


def _explained(best: AgainstReference, others: Sequence[ReferencePhoto], archive: Archive) -> AgainstReference:
    """Set aside what another good package of the same product shows as well, beside this reference."""
    among = [d for r in others for d in _between(best.reference, r, archive).differences]
    alike = [d for d in best.compared.differences if any(same_place(d, other) for other in among)]
    left = tuple(d for d in best.compared.differences if d not in alike)
    return replace(best, compared=replace(best.compared, differences=left, explained=tuple(alike)))


def _between(reference: ReferencePhoto, other: ReferencePhoto, archive: Archive) -> Compared:
    path = _kept(reference, archive)
    return _between_once(path, _as_kept(reference), _kept(other, archive))


@lru_cache(maxsize=32)
def _between_once(path: Path, kept: _AsKept, other: Path) -> Compared:
    return compare(_prepare_once(path, kept), open_photo(other).rgb, text_engine())


@lru_cache(maxsize=16)
def _ring(path: Path) -> Ring | None:
    """The marked face of a photo, read whole."""
    parts = look(path, frozenset({"parts"})).parts
    if not parts or not parts[0].marks:
        return None
    return Ring(open_photo(path).gray, parts[0].outer_ellipse_px, parts[0].bore_ellipse_px, parts[0].marks)


def _best(tried: Sequence[AgainstReference]) -> AgainstReference | None:
    """The reference that the photo matches best: laid, few differences, most alike, then the newest."""
    return max(
        tried,
        key=lambda t: (
            not t.compared.problem,
            -len(t.compared.differences),
            round(t.compared.likeness, 2),
            t.reference.dated,
        ),
        default=None,
    )


def code_places(gray: NDArray[np.uint8]) -> list[CodePlace]:
    """Codes of a picture (H, W), with their corners."""
    return [CodePlace(c.symbology, c.corners_px) for c in read_codes(gray, thorough=False)]


def _prepared(reference: ReferencePhoto, archive: Archive) -> Reference:
    return _prepare_once(_kept(reference, archive), _as_kept(reference))


def _kept(reference: ReferencePhoto, archive: Archive) -> Path:
    """The file of a reference's photo.

    Raises
    ------
    InputUnreadable
        It is no longer in the archive.
    """
    path = archive.find(reference.photo_sha256)
    if path is None:
        raise InputUnreadable(
            "the photo of this reference is not in the archive.",
            where=reference.says,
            next_step=f"Look in {archive.folder}; it may have been moved. Retire the reference if it is lost.",
            code="photo_not_kept",
        )
    return path


@dataclass(frozen=True, slots=True)
class _AsKept:
    """What was said of a reference's photo when it was kept."""

    corners_px: tuple[tuple[float, float], ...]
    width_mm: float | None
    product: str


def _as_kept(reference: ReferencePhoto) -> _AsKept:
    return _AsKept(reference.corners_px, reference.width_mm, reference.product)


@lru_cache(maxsize=16)
def _prepare_once(path: Path, kept: _AsKept) -> Reference:
    """Reading a reference takes longer than comparing with it: within a delivery it is read once."""
    photo = open_photo(path)
    return prepare(
        photo.rgb,
        text_engine(),
        code_places,
        corners_px=kept.corners_px,
        width_mm=kept.width_mm or _width_by_card(photo, kept.corners_px),
        product=kept.product,
    )


def _width_by_card(photo: Photo, corners_px: tuple[tuple[float, float], ...]) -> float | None:
    """Width of the panel by the scale card, if the photo shows one; the panel is taken to lie flat on the bench."""
    from screener.vision.card import find_card
    from screener.vision.reference.panel import find_panel

    card = find_card(photo)
    if card is None:
        return None
    quad = np.asarray(corners_px, np.float64) if corners_px else find_panel(photo.rgb)
    if quad is None:
        return None
    mm = card.bench_mm(quad)
    return float((np.hypot(*(mm[1] - mm[0])) + np.hypot(*(mm[2] - mm[3]))) / 2)


def comparison_as_json(comparison: ReferenceComparison) -> dict[str, Any]:
    """The contract ``screener.reference/1``."""
    best = comparison.best
    return {
        "schema": SCHEMA,
        "photo": comparison.photo,
        "sha256": comparison.photo_sha256,
        "concluded": not comparison.problem,
        "problem": comparison.problem or None,
        "remark": comparison.more or None,
        "reference": _reference_json(best.reference) if best else None,
        "compared": _compared_json(best.compared) if best else None,
        "differences": [asdict(d) for d in best.compared.differences] if best else [],
        "explained": [asdict(d) for d in best.compared.explained] if best else [],
        "not_judged": [asdict(g) for g in best.compared.not_judged] if best else [],
        "tried": [
            {
                "reference": t.reference.id,
                "dated": t.reference.dated,
                "differences": len(t.compared.differences),
                "problem": t.compared.problem or None,
            }
            for t in comparison.tried
        ],
    }


def _reference_json(reference: ReferencePhoto) -> dict[str, Any]:
    names = ("id", "maker", "product", "kind", "dated", "source", "photo_sha256", "photo_name")
    return {name: getattr(reference, name) for name in names}


def _compared_json(compared: Compared) -> dict[str, Any]:
    laid = asdict(compared.laid) if compared.laid else None
    return {
        "laid": laid,
        "frame_px": compared.frame_px,
        "px_per_mm": compared.px_per_mm,
        "likeness": round(compared.likeness, 3),
    }


def straight_picture(reference: ReferencePhoto, archive: Archive) -> NDArray[np.uint8]:
    """The reference's panel straightened, (H, W, 3) uint8."""
    return _prepared(reference, archive).frame.rgb


def photo_laid(photo: Path, compared: Compared) -> NDArray[np.uint8]:
    """The photo brought to the reference's frame (without the last bend), (H, W, 3) uint8."""
    if compared.laid is None:
        raise ValueError(compared.problem)
    shape = np.array(compared.laid.photo_from_frame)
    rgb = open_photo(photo).rgb
    flat = cv2.warpPerspective(rgb, shape, compared.frame_px, flags=cv2.INTER_AREA | cv2.WARP_INVERSE_MAP)
    return np.asarray(flat, np.uint8)
