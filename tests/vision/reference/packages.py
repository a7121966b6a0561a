"""Drawn packages: a panel of known elements, planted differences with their outlines, and photographs of it.

Makers and numbers are invented. Every random choice comes from the seed given, so that a figure can be had again.
Three families of layout: a carton (`cartons`), the label around a tube and a small coloured box (`layouts`).
"""

from __future__ import annotations

from vision.reference.cartons import carton
from vision.reference.layouts import board, wrap
from vision.reference.panel_model import Box, Element, Package, Planted, Shot
from vision.reference.photographing import photograph
from vision.reference.planting import KINDS, MAKER_KINDS, plant
from vision.reference.printing import box_of, draw

FAMILIES = {"carton": carton, "wrap": wrap, "board": board}

__all__ = [
    "FAMILIES",
    "KINDS",
    "MAKER_KINDS",
    "Box",
    "Element",
    "Package",
    "Planted",
    "Shot",
    "box_of",
    "draw",
    "package",
    "photograph",
    "plant",
]


def package(seed: int, *, batch_seed: int = 0, family: str = "carton") -> Package:
    """Lay out a package of a family; ``batch_seed`` changes only what varies from box to box."""
    return FAMILIES[family](seed, batch_seed=batch_seed)
