"""The scale card. Oracles: OpenCV's detector and projectPoints; the PDF's own page size (points of 1/72 inch)."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from screener.errors import ScreenerError, WrongUsage
from screener.vision import card_layout
from screener.vision.card import find_card
from screener.vision.card_print import DOTS_PER_MM, draw_page, write_card
from screener.vision.photo import Photo, open_photo

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
MM_TO_CARD_DOTS = 20.0


def as_photo(gray: np.ndarray, focal_35mm: float | None = None) -> Photo:
    return Photo("drawn", "0" * 64, np.repeat(gray[:, :, None], 3, axis=2), (), focal_35mm)


def camera(tilt_deg: float, distance_mm: float, turn_deg: float = 20.0) -> tuple[np.ndarray, np.ndarray]:
    """Rotation vector and translation that look at the card's middle."""
    tilt, turn = math.radians(tilt_deg), math.radians(turn_deg)
    about_x = cv2.Rodrigues(np.array([tilt, 0.0, 0.0]))[0]
    about_z = cv2.Rodrigues(np.array([0.0, 0.0, turn]))[0]
    rotation = about_x @ about_z
    shift = np.array([0.0, 0.0, distance_mm]) - rotation @ np.array([30.0, 20.0, 0.0])
    return cv2.Rodrigues(rotation)[0].ravel(), shift


def drawn_photo(
    tilt_deg: float, distance_mm: float = 250.0, focal_px: float = 1700.0, cover: tuple[int, ...] = ()
) -> tuple[np.ndarray, np.ndarray]:
    """Gray photo (960 × 1280) of a card on a gray bench, and the true marker centres (4 × 2)."""
    side = 52 * DOTS_PER_MM
    card = np.full((side + 200, 72 * DOTS_PER_MM + 200), 240, np.uint8)
    for marker, (x, y) in card_layout.CENTRES_MM.items():
        size = 12 * DOTS_PER_MM
        left, top = 100 + int(x * DOTS_PER_MM), 100 + int(y * DOTS_PER_MM)
        if marker not in cover:
            card[top : top + size, left : left + size] = np.where(card_layout.marker_image(marker, size) > 0, 240, 20)
    turn, shift = camera(tilt_deg, distance_mm)
    matrix = np.array([[focal_px, 0, 639.5], [0, focal_px, 479.5], [0, 0, 1.0]])
    corners_mm = np.array([[-11, -11, 0], [71, -11, 0], [71, 51, 0], [-11, 51, 0]], float)
    # Card picture coordinates of those corners, pixel centres at whole numbers.
    corners_dots = ((corners_mm[:, :2] + 6) * DOTS_PER_MM + 100 - 0.5).astype(np.float32)
    corners_px = cv2.projectPoints(corners_mm, turn, shift, matrix, None)[0].reshape(4, 2).astype(np.float32)
    h = cv2.getPerspectiveTransform(corners_dots, corners_px)
    big = np.diag([3.0, 3.0, 1.0]) + np.array([[0, 0, 1.0], [0, 0, 1.0], [0, 0, 0]])
    photo = cv2.warpPerspective(card, big @ h, (3840, 2880), flags=cv2.INTER_AREA, borderValue=110)
    photo = cv2.resize(photo, (1280, 960), interpolation=cv2.INTER_AREA)
    noise = np.random.default_rng(3).normal(0, 2, photo.shape)
    centres_mm = np.array([[*card_layout.CENTRES_MM[m], 0] for m in range(4)], float)
    centres_px = cv2.projectPoints(centres_mm, turn, shift, matrix, None)[0].reshape(4, 2)
    return np.clip(photo + noise, 0, 255).astype(np.uint8), centres_px


@pytest.mark.parametrize("tilt_deg", [0, 12, 35])
def test_centres_scale_and_tilt(tilt_deg):
    gray, centres = drawn_photo(tilt_deg)
    card = find_card(as_photo(gray))
    assert card.seen == (0, 1, 2, 3)
    for marker in range(4):
        assert math.dist(card.centres_px[marker], centres[marker]) < 0.25
    assert card.scale.tilt_deg == pytest.approx(tilt_deg, abs=1.5)
    # Thin lens: px per mm at the card's middle, square root of the area scale (cos of the tilt shrinks one direction).
    assert card.scale.px_per_mm == pytest.approx(1700 / 250 * math.sqrt(math.cos(math.radians(tilt_deg))), rel=0.003)


def test_focal_length_is_known_when_tilted_and_admitted_unknown_when_not():
    tilted = find_card(as_photo(drawn_photo(30)[0])).focal_px
    flat = find_card(as_photo(drawn_photo(0)[0])).focal_px
    assert tilted.value == pytest.approx(1700, rel=0.02)
    assert abs(tilted.value - 1700) < 3 * tilted.u
    assert flat.u > 5 * tilted.u
    assert abs(flat.value - 1700) < 2.5 * flat.u


def test_exif_settles_what_a_flat_card_cannot():
    gray, _ = drawn_photo(0)
    equivalent = 1700 * 43.27 / math.hypot(1280, 960)
    with_exif = find_card(as_photo(gray, equivalent)).focal_px
    assert with_exif.value == pytest.approx(1700, rel=0.06)
    assert with_exif.u < find_card(as_photo(gray)).focal_px.u


def test_a_plane_above_the_bench_is_larger():
    """Worked example: at 250 mm, 11 mm above the bench is larger by 250/239."""
    card = find_card(as_photo(drawn_photo(25)[0]))
    middle = card.photo_px(np.array([[30.0, 20.0]]))[0]
    at_bench, above = card.px_per_mm_at(tuple(middle), 0.0), card.px_per_mm_at(tuple(middle), 11.0)
    assert above / at_bench == pytest.approx(250 / (250 - 11 / math.cos(math.radians(25))), rel=0.012)
    assert card.u_rel_at(tuple(middle), 11.0) >= card.u_rel_at(tuple(middle), 0.0) * 0.99


@pytest.mark.parametrize("height_mm", [0.0, 11.0])
def test_to_the_bench_and_back(height_mm):
    card = find_card(as_photo(drawn_photo(20)[0]))
    points = np.array([[0.0, 0.0], [60.0, 40.0], [120.0, -30.0]])
    there = card.photo_px(points, height_mm)
    np.testing.assert_allclose(card.bench_mm(there, height_mm), points, atol=1e-3)
    # The pinhole homography agrees with OpenCV's own projection without distortion.
    turn = cv2.Rodrigues(card.pose.rotation)[0]
    solid = np.column_stack([points, np.full(3, -height_mm)])
    theirs = cv2.projectPoints(solid, turn, card.pose.translation_mm, card.pose.camera_matrix(), None)[0].reshape(-1, 2)
    ours = cv2.perspectiveTransform(points[None], card.plane_homography(height_mm))[0]
    np.testing.assert_allclose(ours, theirs, atol=1e-6)


@pytest.mark.parametrize("cover", [(0,), (1, 3), (0, 1, 2)])
def test_covered_markers(cover):
    gray, centres = drawn_photo(18, cover=cover)
    card = find_card(as_photo(gray))
    left = tuple(m for m in range(4) if m not in cover)
    assert card.seen == left
    for marker in left:
        assert math.dist(card.centres_px[marker], centres[marker]) < 0.3
    whole = find_card(as_photo(drawn_photo(18)[0]))
    assert card.focal_px.u >= whole.focal_px.u


def test_half_a_marker_still_helps():
    gray, centres = drawn_photo(18)
    x, y = centres[2].astype(int)
    gray[y : y + 200, x - 150 : x + 200] = 90  # a part lies over the lower half of marker 2
    card = find_card(as_photo(gray))
    assert math.dist(card.centres_px[0], centres[0]) < 0.3
    assert math.dist(card.centres_px[2], centres[2]) < 1.0


def test_no_card_and_foreign_markers():
    rng = np.random.default_rng(1)
    assert find_card(as_photo(rng.integers(0, 255, (480, 640), np.uint8))) is None
    foreign = np.full((480, 640), 230, np.uint8)
    foreign[100:220, 100:220] = card_layout.marker_image(17, 120)
    assert find_card(as_photo(foreign)) is None
    wrong = np.full((480, 640), 230, np.uint8)  # right names, wrong layout: a sheet of loose markers
    for i, (x, y) in enumerate([(60, 60), (60, 300), (400, 60), (400, 300)]):
        wrong[y : y + 60 * (1 + i % 2), x : x + 60 * (1 + i % 2)] = card_layout.marker_image(i, 60 * (1 + i % 2))
    card = find_card(as_photo(wrong))
    assert card is None or len(card.seen) <= 2


def test_printed_page_has_its_true_size(tmp_path):
    path = tmp_path / "card.pdf"
    write_card(path)
    data = path.read_bytes()
    assert data.startswith(b"%PDF-")
    box = re.search(rb"/MediaBox \[ ([\d. ]+) \]", data)
    width_pt, height_pt = [float(v) for v in box.group(1).split()[2:]]
    # ISO 216 A4 in PDF units of 1/72 inch.
    assert width_pt == pytest.approx(210 / 25.4 * 72, abs=0.01)
    assert height_pt == pytest.approx(297 / 25.4 * 72, abs=0.01)


def test_printed_markers_lie_where_the_reader_expects_them():
    page = np.asarray(draw_page().convert("L"))
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    quads, ids, _ = detector.detectMarkers(page)
    centre = {int(i): q[0].mean(axis=0) / DOTS_PER_MM for i, q in zip(ids.ravel(), quads, strict=True)}
    assert sorted(centre) == [0, 1, 2, 3]
    np.testing.assert_allclose(centre[1] - centre[0], [60, 0], atol=0.06)
    np.testing.assert_allclose(centre[2] - centre[0], [60, 40], atol=0.06)
    np.testing.assert_allclose(centre[3] - centre[0], [0, 40], atol=0.06)
    sides = [np.hypot(*(q[0][1] - q[0][0])) / DOTS_PER_MM for q in quads]
    np.testing.assert_allclose(sides, 12, atol=0.12)


def test_the_page_itself_is_read_as_a_card():
    page = draw_page().convert("L").resize((1050, 1485), Image.Resampling.BOX)
    assert find_card(as_photo(np.asarray(page))).scale.px_per_mm == pytest.approx(5.0, rel=0.003)


def test_card_is_only_written_as_pdf(tmp_path):
    with pytest.raises(WrongUsage):
        write_card(tmp_path / "card.png")
    with pytest.raises(ScreenerError, match="could not be written"):
        write_card(tmp_path / "no such folder" / "card.pdf")


@pytest.mark.skipif(not PHOTOS.is_dir(), reason="the labelled photos are not part of the product")
def test_labelled_photos():
    """Labels of the path-traced photos: centres of visible markers, tilt, focal length within its own uncertainty."""
    tilt, z = [], []
    for label_file in sorted(PHOTOS.glob("*.json")):
        label = json.loads(label_file.read_text())
        card = find_card(open_photo(label_file.with_suffix(".jpg")))
        assert (card is not None) == bool(label["card"]), label_file.name
        if card is None:
            continue
        for marker in card.seen:  # labels count from the pixel's corner, OpenCV from its middle
            true = np.array(label["card"]["centres_px"][marker]) - 0.5
            assert math.dist(card.centres_px[marker], true) < 0.8
        tilt.append(card.scale.tilt_deg - label["tilt_deg"])
        z.append(math.log(card.focal_px.value / label["camera_matrix"][0][0]) * card.focal_px.value / card.focal_px.u)
    assert np.abs(tilt).max() < 1.0
    assert np.mean(np.abs(z) < 2) > 0.85
