"""The label of a drawn photo: what was drawn and where its circles lie, in the format of the labelled-photos folder."""

from __future__ import annotations

import numpy as np

from drawing.camera import Camera, circle_points, ellipse_of_circle
from drawing.card import RECTANGLE_MM, SHEET_MM, Card
from drawing.parts import shape_of
from drawing.profiles import SealShape
from drawing.scene_spec import BearingPart, SceneSpec, SealPart
from drawing.surface import Array


def circles_of(part: BearingPart | SealPart) -> dict[str, tuple[float, float]]:
    """Radius and height (mm) of the four labelled circles."""
    if isinstance(part, BearingPart):
        shape = shape_of(part)
        c, top = shape.chamfer_mm, shape.width_mm
        return {
            "od_top_edge": (shape.outer - c, top),
            "od_full": (shape.outer, top - c),
            "bore_top_edge": (shape.inner + c, top),
            "bore_full": (shape.inner, top - c),
        }
    seal = SealShape(*part.size)
    c, top = seal.chamfer_mm, seal.width_mm
    mouth = (
        (seal.mouth + seal.mouth_edge_mm, top)
        if part.lip_face == "back"
        else (seal.lip + 0.16 * (seal.outer - seal.lip), top * 0.9)
    )
    return {
        "od_top_edge": (seal.outer - c, top),
        "od_full": (seal.outer, top - c),
        "bore_top_edge": mouth,
        "bore_full": (seal.lip, top * seal.lip_height_share),
    }


def label_of(spec: SceneSpec, camera: Camera, card: Card | None, cap_mm: float, balls: int | None) -> dict[str, object]:
    """Build the label; a box photo gets only the camera's part."""
    label: dict[str, object] = {"bench": spec.bench, "lights": list(spec.lights), "card": _card_label(card, camera)}
    label |= _camera_label(spec, camera)
    if not isinstance(spec.part, BearingPart | SealPart):
        return label | {"kind": "box"}
    part = spec.part
    circles = circles_of(part)
    per_mm = camera.focal_px / spec.camera.distance_mm
    label |= _bearing_label(part) if isinstance(part, BearingPart) else _seal_label(part)
    label |= {
        "ball_count": balls,
        "text_height_mm": cap_mm or None,
        "text_height_px": cap_mm * per_mm if cap_mm else None,
        "px_per_mm": per_mm,
        "ellipses_px": {name: ellipse_of_circle(camera, *circle) for name, circle in circles.items()},
        "fully_in_view": _inside(camera.project(circle_points(*circles["od_full"])), camera),
    }
    return label


def _bearing_label(part: BearingPart) -> dict[str, object]:
    shape, mark = shape_of(part), part.marking
    return {
        "kind": "bearing",
        "base": part.base,
        "true_designation": part.designation or part.base,
        "closure": part.closure,
        "seal_colour": list(part.closure_rgb) if part.closure == "rubber_seal" else None,
        "marking": {
            "present": mark is not None,
            "maker": part.maker,
            "maker_true": part.maker,
            "designation": part.marked_designation,
            "drawn": part.marked_designation,
            "lot": part.lot,
            "place": mark.place if mark else None,
            "style": mark.style if mark else None,
            "strength": mark.strength if mark else 0.0,
            "inward": mark.inward if mark else None,
            "defect": part.defect,
            "claim": part.claim,
        },
        "bore_mm": shape.bore_mm,
        "od_mm": shape.od_mm,
        "width_mm": shape.width_mm,
        "chamfer_mm": shape.chamfer_mm,
        "part_top_z_mm": shape.width_mm,
    }


def _seal_label(part: SealPart) -> dict[str, object]:
    shaft, housing, width = part.size
    size = f"{shaft:g}x{housing:g}x{width:g}"
    return {
        "kind": "shaft_seal",
        "size": size,
        "lip_face": part.lip_face,
        "seal_colour": list(part.rgb),
        "marking": {
            "present": part.marking is not None and part.lip_face == "back",
            "maker": part.maker,
            "designation": size,
            "material": part.material,
        },
        "bore_mm": shaft,
        "od_mm": housing,
        "width_mm": width,
        "chamfer_mm": SealShape(*part.size).chamfer_mm,
        "part_top_z_mm": width,
    }


def _camera_label(spec: SceneSpec, camera: Camera) -> dict[str, object]:
    see, finish = spec.camera, spec.finish
    return {
        "tilt_deg": see.tilt_deg,
        "distance_mm": see.distance_mm,
        "focal_eq_mm": see.focal_eq_mm,
        "k1": see.k1,
        "blur_px": finish.blur_px,
        "motion_px": finish.motion_px,
        "noise": finish.noise,
        "jpeg_quality": finish.jpeg_quality,
        "exposure": finish.exposure,
        "width_px": spec.width_px,
        "height_px": spec.height_px,
        "camera_matrix": camera.matrix.tolist(),
        "world_to_camera": camera.label_matrix(),
    }


def _card_label(card: Card | None, camera: Camera) -> dict[str, object] | None:
    if card is None:
        return None
    c, s = np.cos(card.turn), np.sin(card.turn)
    half = np.array(SHEET_MM) / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half @ np.array([[c, s], [-s, c]]) + card.middle_mm
    seen = camera.project(np.column_stack([corners, np.zeros(4)]))
    centres = card.centres_mm()
    return {
        "centres_px": camera.project(centres).tolist(),
        "plane_z_mm": float(centres[0, 2]),
        "rectangle_mm": list(RECTANGLE_MM),
        "fully_in_view": _inside(seen, camera),
    }


def _inside(points: Array, camera: Camera) -> bool:
    return bool(
        (points >= 2).all()
        and (points[:, 0] < camera.width_px - 2).all()
        and (points[:, 1] < camera.height_px - 2).all()
    )
