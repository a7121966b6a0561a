"""The sample delivery as data: what was ordered, what came, and which photos the clerk took.

Makers and suppliers are invented. Bearing and seal sizes are real standard sizes. GTINs use prefix 952, which GS1 keeps
for examples.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from drawing.barcodes import Code, gs1, gtin14, iso15434
from drawing.labels import LabelText
from drawing.marking import Marking
from drawing.scene_spec import BearingPart, FinishSpec, SealPart
from drawing.sizes import BEARINGS

BLACK, RED, BROWN, BLUE = (0.014, 0.014, 0.015), (0.28, 0.05, 0.03), (0.10, 0.04, 0.018), (0.02, 0.06, 0.2)
PLAIN = FinishSpec()
BLURRED = FinishSpec(blur_px=7.5, motion_px=9, motion_deg=25, noise=0.012)


@dataclass(frozen=True, slots=True)
class BoxShot:
    """A photo of a box: its label, the number of its layout, its file."""

    path: str
    text: LabelText
    layout: int
    finish: FinishSpec = PLAIN


@dataclass(frozen=True, slots=True)
class PartShot:
    """A photo of a part; ``view``: card (with the scale card) or close (without)."""

    path: str
    part: BearingPart | SealPart
    view: str = "card"
    tilt_deg: float = 12.0
    finish: FinishSpec = PLAIN


@dataclass(frozen=True, slots=True)
class BenchShot:
    """A photo of the bench with nothing on it but a tool or two."""

    path: str


Shot = BoxShot | PartShot | BenchShot


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of order.csv."""

    line: int
    quantity: int
    designation: str
    maker: str
    duty: str
    supplier: str
    unit_price: str
    note: str


@dataclass(frozen=True, slots=True)
class BoxFacts:
    """What one box says besides the designation."""

    item: str
    """Last four digits of the example GTIN's body: one number for each maker's article."""
    quantity: int
    batch: str
    serial: str
    packed: str
    country: str
    codes: str = "gs1-datamatrix gs1-128"


def bearing(base: str, closure: str, maker: str, mark: str, lot: str = "", **more: object) -> BearingPart:
    """Describe a bearing with its ring mark; ``more`` overrides fields of the part or its marking."""
    marking_keys = {key: more.pop(key) for key in ("place", "style", "strength", "inward", "face") if key in more}
    marking = Marking(tuple(w for w in (maker, mark, lot) if w), **marking_keys)  # type: ignore[arg-type]
    part = BearingPart(base, closure, mark, marking, maker=maker, marked_designation=mark, lot=lot)
    return replace(part, **more)  # type: ignore[arg-type]


def seal(
    size: tuple[float, float, float], lip_face: str, maker: str, material: str, rgb: tuple[float, float, float] = BLACK
) -> SealPart:
    """Describe a shaft seal with moulded text on its back."""
    words = (maker, f"{size[0]:g}x{size[1]:g}x{size[2]:g}", material)
    return SealPart(size, lip_face, Marking(words, "body", "relief", 0.9, face="bold"), rgb, maker, material)


def bearing_label(maker: str, designation: str, base: str, facts: BoxFacts) -> LabelText:
    """Word a bearing's box label."""
    d, D, B, _ = BEARINGS[base]
    return _label(maker, "Deep groove ball bearing", designation, f"{d:g} x {D:g} x {B:g} mm", facts)


def seal_label(maker: str, size: tuple[float, float, float], material: str, facts: BoxFacts) -> LabelText:
    """Word a seal's box label."""
    return _label(
        maker,
        "Rotary shaft seal with garter spring",
        f"{size[0]:g}x{size[1]:g}x{size[2]:g} {material}",
        f"Material {material}",
        facts,
    )


def _label(maker: str, product: str, designation: str, dimensions: str, facts: BoxFacts) -> LabelText:
    rows = (("Qty", f"{facts.quantity} pcs"), ("Lot", facts.batch), ("S/N", facts.serial), ("Date", facts.packed))
    return LabelText(
        maker,
        product,
        designation,
        dimensions,
        tuple(r for r in rows if r[1]),
        f"Made in {facts.country}",
        tuple(_codes(designation, facts)),
    )


def _codes(designation: str, facts: BoxFacts) -> list[Code]:
    gtin = gtin14("95200410" + facts.item)
    packed = facts.packed[2:].replace("-", "") + "00"
    full = gs1(gtin=gtin, batch=facts.batch, serial=facts.serial, quantity=facts.quantity, packed=packed)
    contents = {
        "gs1-datamatrix": full,
        "gs1-qr": full,
        "gs1-128": gs1(gtin=gtin, batch=facts.batch),
        "ean-13": gtin[1:],
        "datamatrix": iso15434(P1=designation, Q=str(facts.quantity), T1=facts.batch, S=facts.serial),
        "code-39": "1P" + designation.replace(" ", "-").replace("/", "-"),
        "code-128": "1T" + facts.batch,
    }
    return [Code(kind, contents[kind]) for kind in facts.codes.split()]


QUILL, MOSS, TERN = "Quillhaven Parts Depot", "Mossbank Drives and Seals", "Ternfield Trade Counter"
ORDER: tuple[OrderLine, ...] = (
    OrderLine(1, 4, "6205-2RS C3", "BRENVOK", "wet", QUILL, "7.40", "Washer extractor 1, drum front"),
    OrderLine(2, 2, "6306-2RS C3", "TALQUIST", "wet", QUILL, "14.80", "Washer extractor 1, drum rear"),
    OrderLine(3, 6, "6203-2Z", "", "dry", QUILL, "3.10", "Extraction fan motor, both ends"),
    OrderLine(4, 10, "30x47x7 NBR", "KEDRUNA", "wet", MOSS, "2.60", "Drum shaft seal, small washers"),
    OrderLine(5, 4, "6204-2RS", "VELMORT", "wet", TERN, "4.95", "Tumbler idler wheels"),
    OrderLine(6, 2, "6206-2RS C3", "ORSAMIL", "wet", TERN, "9.20", "Washer extractor 2, drum front"),
    OrderLine(7, 4, "40x60x10 FKM", "KEDRUNA", "wet", MOSS, "11.50", "Ironer roll, hot side"),
    OrderLine(8, 4, "6202-2RS", "BRENVOK", "wet", TERN, "1.35", "Dosing pump"),
    OrderLine(9, 1, "6004-2RS", "TALQUIST", "dirty", TERN, "5.10", "Lint screen drive, job 4471"),
    OrderLine(10, 1, "6004-2RS", "TALQUIST", "dirty", TERN, "5.10", "Lint screen drive, job 4478"),
    OrderLine(11, 2, "6005-2RS", "", "wet", QUILL, "6.30", "Water valve gearbox"),
    OrderLine(12, 2, "6305-2RS", "VELMORT", "wet", QUILL, "10.90", "Washer extractor 3, drum front"),
    OrderLine(13, 4, "6204-2Z C3", "ORSAMIL", "dry", QUILL, "4.20", "Extraction fan 2, hot air"),
    OrderLine(14, 8, "6001-2Z", "", "dry", MOSS, "2.20", "Belt tensioners"),
    OrderLine(15, 6, "25x40x7 NBR", "", "wet", MOSS, "2.10", "Pump shaft"),
    OrderLine(16, 2, "6302-2RS", "BRENVOK", "dirty", QUILL, "6.75", "Conveyor roller"),
    OrderLine(17, 1, "6207", "TALQUIST", "dry", QUILL, "12.10", "Extraction fan 1, oil bath"),
    OrderLine(18, 2, "6904-2RS", "", "dirty", MOSS, "8.00", "Folding table, not yet photographed"),
)

SIX_TWO_ZERO_FOUR = bearing("6204", "shield", "VELMORT", "6204-2RS", "K26", polish=0.7)
WRONG_SIZE = bearing("6205", "rubber_seal", "ORSAMIL", "6205-2RS/C3", "H611", face="bold")
TWIN = bearing("6004", "rubber_seal", "TALQUIST", "6004-2RS", "T5C", closure_rgb=BLUE)

SHOTS: tuple[Shot, ...] = (
    BoxShot(
        "01/box.jpg",
        bearing_label(
            "BRENVOK", "6205-2RS/C3", "6205", BoxFacts("0105", 4, "L2607B", "7F00231", "2026-07", "Portugal")
        ),
        0,
    ),
    PartShot("01/face_1.jpg", bearing("6205", "rubber_seal", "BRENVOK", "6205-2RS/C3", "M47", face="bold")),
    PartShot(
        "01/face_2.jpg", bearing("6205", "rubber_seal", "BRENVOK", "6205-2RS/C3", "M47", face="bold"), "close", 18
    ),
    BoxShot(
        "02/box.jpg",
        bearing_label(
            "TALQUIST",
            "6306-2RS C3",
            "6306",
            BoxFacts("0206", 2, "26K118", "TQ4410087", "2026-05", "Mexico", "gs1-qr ean-13"),
        ),
        1,
    ),
    PartShot("02/face_1.jpg", bearing("6306", "rubber_seal", "TALQUIST", "6306-2RS C3", "T1A", face="stroke")),
    PartShot(
        "02/face_2.jpg", bearing("6306", "rubber_seal", "TALQUIST", "6306-2RS C3", "T1A", face="stroke"), "card", 24
    ),
    BoxShot(
        "03/box.jpg",
        bearing_label(
            "ORSAMIL", "6203-2Z", "6203", BoxFacts("0303", 6, "W2611", "", "2026-03", "Poland", "datamatrix code-128")
        ),
        6,
    ),
    PartShot("03/face_1.jpg", bearing("6203", "shield", "ORSAMIL", "6203-2Z", "H602", face="bold"), "close"),
    PartShot("03/face_2.jpg", bearing("6203", "shield", "ORSAMIL", "6203-2Z", "H602", face="bold")),
    BoxShot(
        "04/bag.jpg",
        seal_label(
            "KEDRUNA", (30, 47, 7), "NBR", BoxFacts("0404", 10, "NB2605", "", "2026-05", "Slovenia", "gs1-datamatrix")
        ),
        2,
    ),
    PartShot("04/back.jpg", seal((30, 47, 7), "back", "KEDRUNA", "NBR")),
    PartShot("04/spring_side.jpg", seal((30, 47, 7), "spring_side", "KEDRUNA", "NBR"), "card", 16),
    BoxShot(
        "05/box.jpg",
        bearing_label(
            "VELMORT",
            "6204-2RS",
            "6204",
            BoxFacts("0504", 4, "V2609", "VM0091134", "2026-09", "Turkey", "gs1-datamatrix ean-13"),
        ),
        4,
    ),
    PartShot("05/face_1.jpg", SIX_TWO_ZERO_FOUR),
    PartShot("05/face_2.jpg", SIX_TWO_ZERO_FOUR, "close", 22),
    BoxShot(
        "06/box.jpg",
        bearing_label(
            "ORSAMIL",
            "6206-2RS/C3",
            "6206",
            BoxFacts("0606", 2, "W2614", "OR118250", "2026-06", "Poland", "datamatrix code-39"),
        ),
        3,
    ),
    PartShot("06/face_1.jpg", WRONG_SIZE),
    PartShot("06/face_2.jpg", WRONG_SIZE, "card", 20),
    BoxShot(
        "07/bag.jpg",
        seal_label("KEDRUNA", (40, 60, 10), "NBR", BoxFacts("0704", 4, "NB2604", "", "2026-04", "Slovenia", "gs1-qr")),
        7,
    ),
    PartShot("07/back.jpg", seal((40, 60, 10), "back", "KEDRUNA", "NBR")),
    PartShot("07/spring_side.jpg", seal((40, 60, 10), "spring_side", "KEDRUNA", "NBR")),
    BoxShot(
        "08/box.jpg",
        bearing_label(
            "BRENOVK",
            "6202-2RS",
            "6202",
            BoxFacts("0802", 4, "L2512A", "7E91170", "2025-12", "Portugal", "gs1-datamatrix code-128"),
        ),
        0,
    ),
    PartShot(
        "08/face_1.jpg", bearing("6202", "rubber_seal", "BRENOVK", "6202-2RS", "", face="stroke_wide"), "close", 15
    ),
    PartShot("08/face_2.jpg", bearing("6202", "rubber_seal", "BRENOVK", "6202-2RS", "", face="stroke_wide")),
    BoxShot(
        "09/box.jpg",
        bearing_label(
            "TALQUIST",
            "6004-2RS",
            "6004",
            BoxFacts("0904", 1, "26K121", "TQ4410213", "2026-06", "Mexico", "gs1-qr ean-13"),
        ),
        1,
    ),
    PartShot("09/face_1.jpg", TWIN, "close"),
    PartShot("09/face_2.jpg", TWIN),
    BoxShot(
        "10/box.jpg",
        bearing_label(
            "TALQUIST",
            "6004-2RS",
            "6004",
            BoxFacts("0904", 1, "26K121", "TQ4410213", "2026-06", "Mexico", "gs1-qr ean-13"),
        ),
        1,
    ),
    PartShot("10/face_1.jpg", TWIN, "close", 8),
    PartShot("10/face_2.jpg", TWIN, "card", 18),
    BoxShot(
        "11/box.jpg",
        bearing_label("BRENVOK", "6005-2RS", "6005", BoxFacts("1105", 2, "L2606C", "7F00188", "2026-06", "Portugal")),
        0,
        BLURRED,
    ),
    PartShot("11/face_1.jpg", bearing("6005", "rubber_seal", "BRENVOK", "6005-2RS", "M46"), "card", 10, BLURRED),
    PartShot("11/face_2.jpg", bearing("6005", "rubber_seal", "BRENVOK", "6005-2RS", "M46"), "close", 10, BLURRED),
    BoxShot(
        "12/box.jpg",
        bearing_label(
            "VELMORT",
            "6305-2RS",
            "6305",
            BoxFacts("1205", 2, "V2608", "VM0090871", "2026-08", "Turkey", "gs1-datamatrix ean-13"),
        ),
        4,
    ),
    BoxShot(
        "13/box.jpg",
        bearing_label(
            "ORSAMIL", "6204-2Z", "6204", BoxFacts("1304", 4, "W2615", "", "2026-06", "Poland", "datamatrix code-128")
        ),
        6,
    ),
    PartShot("13/face_1.jpg", bearing("6204", "shield", "ORSAMIL", "6204-2Z", "H613", face="bold"), "close"),
    PartShot("13/face_2.jpg", bearing("6204", "shield", "ORSAMIL", "6204-2Z", "H613", face="bold"), "card", 20),
    BoxShot(
        "by_name/line14_box.jpg",
        bearing_label("VELMORT", "6001-2Z", "6001", BoxFacts("1401", 8, "V2605", "", "2026-05", "Turkey", "ean-13")),
        9,
    ),
    PartShot("by_name/line14_face1.jpg", bearing("6001", "shield", "VELMORT", "6001-2Z", "", face="bold"), "close", 9),
    PartShot("by_name/line14_face2.jpg", bearing("6001", "shield", "VELMORT", "6001-2Z", "", face="bold"), "close", 26),
    BoxShot(
        "by_name/line15_bag.jpg",
        seal_label(
            "KEDRUNA", (25, 40, 7), "NBR", BoxFacts("1504", 6, "NB2606", "", "2026-06", "Slovenia", "gs1-datamatrix")
        ),
        2,
    ),
    PartShot("by_name/line15_back.jpg", seal((25, 40, 7), "back", "KEDRUNA", "NBR"), "close"),
    PartShot("by_name/line15_spring.jpg", seal((25, 40, 7), "spring_side", "KEDRUNA", "NBR")),
    BenchShot("by_name/DSC_bench.jpg"),
    BoxShot(
        "IMG_20261120_0912.jpg",
        bearing_label("BRENVOK", "6302-2RS", "6302", BoxFacts("1602", 2, "L2608A", "7F00305", "2026-08", "Portugal")),
        8,
    ),
    PartShot(
        "IMG_20261120_0913.jpg", bearing("6302", "rubber_seal", "BRENVOK", "6302-2RS", "M48", face="bold"), "close"
    ),
    PartShot(
        "IMG_20261120_0915.jpg", bearing("6302", "rubber_seal", "BRENVOK", "6302-2RS", "M48", face="bold"), "card", 20
    ),
    BoxShot(
        "17/box.jpg",
        bearing_label(
            "TALQUIST", "6207", "6207", BoxFacts("1707", 1, "26K090", "TQ4409310", "2026-04", "Mexico", "gs1-qr")
        ),
        5,
    ),
    PartShot("17/face_1.jpg", bearing("6207", "open", "TALQUIST", "6207", "T0D", face="stroke", cage="brass")),
    PartShot(
        "17/face_2.jpg", bearing("6207", "open", "TALQUIST", "6207", "T0D", face="stroke", cage="brass"), "close", 24
    ),
)
