"""The text engine on drawn text. Outside source: the strings that Pillow's text renderer drew."""

from __future__ import annotations

import socket

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from screener.errors import ScreenerError
from screener.vision import networks
from screener.vision import text_engine as under_test
from screener.vision.text_engine import MARK_ALPHABET, TextEngine, text_engine


def drawn(text: str, *, size: int = 40, paper: int = 215, ink: int = 30) -> np.ndarray:
    font = ImageFont.load_default(size)
    left, top, right, bottom = font.getbbox(text)
    image = Image.new("RGB", (int(right - left) + 24, int(bottom - top) + 20), (paper,) * 3)
    ImageDraw.Draw(image).text((12 - left, 10 - top), text, font=font, fill=(ink,) * 3)
    return np.asarray(image)


def page(texts: list[str]) -> np.ndarray:
    sheet = np.full((120 * len(texts) + 100, 900, 3), 215, np.uint8)
    for i, text in enumerate(texts):
        line = drawn(text)
        sheet[80 + 120 * i : 80 + 120 * i + line.shape[0], 60 : 60 + line.shape[1]] = line
    return sheet


@pytest.fixture(scope="module")
def engine() -> TextEngine:
    return TextEngine(threads=1)


def test_reads_a_page_without_any_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **kwargs: object) -> None:
        raise AssertionError("the engine tried to reach the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    lines = TextEngine(threads=1).read_page(page(["6205-2RS C3", "LOT 24K071"]))
    assert [line.text for line in lines] == ["6205-2RS C3", "LOT 24K071"]


def test_upside_down_page_reads_the_same_and_tells_where_the_text_begins(engine: TextEngine) -> None:
    upright = page(["6205-2RS C3"])
    height, width = upright.shape[:2]
    (line,) = engine.read_page(upright)
    (turned,) = engine.read_page(upright[::-1, ::-1])
    assert turned.text == line.text == "6205-2RS C3"
    x, y = turned.quad_px[0]
    assert (width - x, height - y) == pytest.approx(line.quad_px[0], abs=12)


def test_text_running_upward_is_read(engine: TextEngine) -> None:
    (line,) = engine.read_page(np.ascontiguousarray(np.rot90(page(["6205-2RS C3"]))))
    assert line.text == "6205-2RS C3"
    (x0, y0), (x1, y1) = line.quad_px[0], line.quad_px[1]
    assert y1 < y0 - 100
    assert abs(x1 - x0) < 20


def test_an_empty_page_has_no_lines(engine: TextEngine) -> None:
    assert engine.read_page(np.full((300, 400, 3), 200, np.uint8)) == ()


def test_recognise_keeps_order_whatever_the_widths(engine: TextEngine) -> None:
    texts = ["608", "QTY 10 LOT 24K071 BOX 3 OF 7", "6304", "35x52x7 NBR", "6"]
    read = [text for text, _ in engine.recognise([drawn(t) for t in texts])]
    assert [r.replace("×", "x") for r in read] == texts


def test_reading_crops_does_not_change_how_pages_are_read(engine: TextEngine) -> None:
    before = engine.read_page(page(["6205-2RS C3"]))
    engine.recognise([drawn("608")])
    engine.recognise_lattice([drawn("608")])
    assert engine.read_page(page(["6205-2RS C3"])) == before


def test_lattice_rows_are_probabilities_and_its_best_path_is_the_text(engine: TextEngine) -> None:
    crop = drawn("6205-2RS C3")
    (lattice,) = engine.recognise_lattice([crop])
    assert lattice.log_p.shape[1] == 1 + len(MARK_ALPHABET)
    assert np.exp(lattice.log_p).sum(axis=1) == pytest.approx(1.0, abs=1e-4)
    text, score, xs = lattice.best()
    assert text == "6205-2RS C3"
    assert score > 0.8
    assert 0 < xs[0] < xs[-1] < crop.shape[1]
    assert list(xs) == sorted(xs)


def test_lattice_counts_small_letters_as_capitals_and_the_letter_x_as_the_sign(engine: TextEngine) -> None:
    (size,) = engine.recognise_lattice([drawn("35x52x7 nbr")])
    assert size.best()[0] == "35×52×7 NBR"


def test_grey_and_colour_crops_read_alike(engine: TextEngine) -> None:
    crop = drawn("6304")
    assert engine.recognise([crop[:, :, 0]])[0][0] == engine.recognise([crop])[0][0] == "6304"


def test_one_engine_for_the_process() -> None:
    assert text_engine() is text_engine()


def test_the_engine_keeps_to_the_threads_of_the_process_whenever_they_were_limited(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before = text_engine()
    monkeypatch.setattr(networks, "_limit", 1 if networks.threads() is None else None)
    assert text_engine() is not before


def test_missing_package_is_said_in_plain_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(under_test.importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(ScreenerError, match="pip install rapidocr onnxruntime") as fault:
        TextEngine()
    assert fault.value.code == "ocr_missing"


def test_missing_runtime_is_said_at_the_start_not_at_the_first_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "onnxruntime", None)
    with pytest.raises(ScreenerError, match="onnxruntime") as fault:
        TextEngine()
    assert fault.value.code == "ocr_missing"
