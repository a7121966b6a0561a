"""Suffix combinations that are marked on parts, for readers that must choose among standing spellings."""

from __future__ import annotations

from functools import cache
from itertools import product

_TWO_SIDES = [
    "2RS",
    "2RS1",
    "2RS2",
    "2RSR",
    "2RSH",
    "2RSL",
    "2RSD",
    "2RZ",
    "2Z",
    "2ZR",
    "ZZ",
    "ZZS",
    "LLU",
    "LLB",
    "LLH",
    "DDU",
    "DD",
    "VV",
    "2RU",
    "2RD",
    "2HRS",
    "2BRS",
    "2RK",
    "2NSE",
    "2NKE",
    "2LS",
    "2CS",
    "2RS5",
    "PP",
    "UU",
    "EE",
]
_ONE_SIDE = ["RS", "RS1", "RS2", "RSR", "RSH", "RSL", "RSD", "RZ", "Z", "ZR", "LU", "LB", "LH", "DU", "V", "RU", "HRS"]
_CLEARANCES = ["C2", "CN", "C0", "C3", "C4", "C5", "CM"]
_ACCURACIES = ["P6", "P5", "P4", "P63", "P53", "P43", "P62", "P52"]
_CAGES = ["M", "MA", "MB", "J", "TN", "TN9", "TNG", "TVP", "TVP2", "TVH", "P", "F", "Y"]
_RINGS = ["N", "NR", "ZN", "ZNR"]
_ROLLER = [
    "E",
    "EC",
    "ECP",
    "ECJ",
    "ECM",
    "ECML",
    "EM",
    "EJ",
    "ET",
    "ETVP2",
    "EMA",
    "EA",
    "CC",
    "CA",
    "CAM",
    "C",
    "CJ",
    "CD",
    "E1",
    "E1K",
    "K",
    "EK",
    "CCK",
    "CAK",
    "EAK",
    "EKM",
    "MK",
    "MBK",
    "CCJA",
]
_LUBRICATED = ["W33", "E4", "S", "D1", "W20"]
_ANGLES = [
    "A",
    "B",
    "C",
    "AC",
    "BE",
    "BEP",
    "BTVP",
    "BEY",
    "BEM",
    "BECBP",
    "BECBM",
    "BECBY",
    "BECBJ",
    "BEJ",
    "ATN9",
    "CD",
    "ACD",
    "ETN9",
    "BMP",
    "AW",
    "BW",
    "B2RS",
    "B2Z",
    "BG",
]
_TAPERED = ["X", "J", "XJ", "A", "J2", "J2Q", "Q", "XQ", "JR", "AX", "D", "C", "B", "P5", "P6X"]
_INSERT = ["16", "12", "14", "20", "24", "G2", "K", "2F"]


@cache
def standing_tails() -> tuple[str, ...]:
    """Return the combinations, written with a blank where a marker would leave one; the empty one is among them."""
    closures = ["", *_TWO_SIDES, *_ONE_SIDE, *_RINGS, *(f"{two} NR" for two in ("ZZ", "2RS", "2Z", "2RS1", "2RSR"))]
    ends = ["", *_CLEARANCES, *_ACCURACIES]
    found = {_joined(closure, end) for closure, end in product(closures, ends)}
    found |= {
        _joined(cage, closure, end) for cage, closure, end in product(_CAGES, ("", *_TWO_SIDES[:4], "ZZ"), ends[:6])
    }
    found |= {_joined(design, end) for design, end in product((*_ROLLER, *_ANGLES, *_TAPERED, *_INSERT), ends)}
    found |= {
        _joined(design, holes, end)
        for design, holes, end in product([*_ROLLER[9:], "M", "MB", "", "K", "K30"], _LUBRICATED, ends[:7])
    }
    return tuple(sorted(found, key=lambda tail: (len(tail), tail)))


def _joined(*parts: str) -> str:
    return " ".join(part for part in parts if part)
