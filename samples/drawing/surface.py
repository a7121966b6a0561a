"""What a ray has met, and the protocol of things that can be met."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Protocol

import numpy as np

Array = np.ndarray[Any, np.dtype[Any]]
MISS = np.float32(np.inf)


def dot(a: Array, b: Array) -> Array:
    """Row by row scalar products (n,); several times quicker than a sum over an axis of three."""
    return np.einsum("ij,ij->i", a, b)


def unit(vectors: Array) -> Array:
    """Scale the rows (n, 3) to length one; a zero row stays zero."""
    return vectors / np.maximum(np.sqrt(dot(vectors, vectors)), 1e-6)[:, None]


@dataclass(slots=True)
class Surface:
    """Properties of n surface points; every array has n rows. Colours are linear RGB."""

    point: Array
    normal: Array
    albedo: Array
    metal: Array
    """1 for bare metal, 0 for rubber, paint, paper."""
    gloss: Array
    """Strength of the mirror part of a non-metal, 0 to 1."""
    groove: Array
    """Direction (n, 3) in which turning marks spread the normals, times the spread in radians."""
    openness: Array
    """Share of the sky that reaches the point."""

    def put(self, where: Array, other: Surface) -> None:
        """Overwrite the rows at ``where`` with those of another surface."""
        for item in fields(self):
            getattr(self, item.name)[where] = getattr(other, item.name)


def blank(count: int) -> Surface:
    """Make room for ``count`` points."""
    three = lambda: np.zeros((count, 3), np.float32)  # noqa: E731
    one = lambda: np.zeros(count, np.float32)  # noqa: E731
    return Surface(three(), three(), three(), one(), one(), three(), one())


class Thing(Protocol):
    """Anything a ray can meet."""

    def bound(self) -> tuple[Array, float]:
        """Give centre (3,) and radius of a sphere around it, in millimetres."""
        ...

    def meet(self, origin: Array, direction: Array) -> tuple[Array, Array]:
        """Give the distance along each ray (inf for a miss) and a small number saying which piece was met."""
        ...

    def surface(self, point: Array, piece: Array) -> Surface:
        """Describe the met points."""
        ...

    def blocks(self, origin: Array, direction: Array) -> Array:
        """Say for which rays the thing keeps light off (for shadows on the bench)."""
        ...
