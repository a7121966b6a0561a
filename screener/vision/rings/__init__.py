"""Round parts in a photo: edges, nests of concentric ellipses, the choice of outer edge and bore, sub-pixel fits."""

from screener.vision.rings.find import RingFit, RingPair, find_parts

__all__ = ["RingFit", "RingPair", "find_parts"]
