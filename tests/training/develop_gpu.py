"""What a phone makes of traced light, for whole batches on a GPU: as samples/drawing/finish.py does, then JPEG.

Compression follows ITU-T T.81 (8 x 8 DCT, the example tables of its Annex K, colour at half resolution); entropy coding
loses nothing and is left out.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional as F  # noqa: N812  (its usual name)

LUMINANCE = (
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92,
    49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
)  # fmt: skip
CHROMINANCE = (
    17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99,
    47, 66, 99, 99, 99, 99, 99, 99, *[99] * 32,
)  # fmt: skip
TO_YCC = ((0.299, 0.587, 0.114), (-0.168736, -0.331264, 0.5), (0.5, -0.418688, -0.081312))


def developed(light: Tensor, seen: Tensor, spread: torch.Generator) -> Tensor:
    """RGB uint8 (n, side, side, 3) of linear light of the same shape; ``seen`` (n, side, side): what was traced."""
    n, kit = len(light), {"device": light.device, "generator": spread}

    def even(low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(n, 1, 1, 1, **kit)

    def chance(p: float) -> Tensor:
        return (torch.rand(n, 1, 1, 1, **kit) < p).float()

    x = _without_sparks(light.permute(0, 3, 1, 2))
    x = _blurred(_blurred(x, torch.full((n,), 0.55, device=x.device)), (even(0.3, 2.6) * chance(0.35)).flatten() + 1e-3)
    x = _moved(x, (even(2, 5) * chance(0.08)).flatten(), even(0, math.pi).flatten())
    side = torch.linspace(-1, 1, x.shape[2], device=x.device)
    x = x * (1 - even(0, 0.3) * (side[:, None] ** 2 + side**2) / 2)
    x = x * even(0.7, 1.35) * _metered(x, seen)
    noise = torch.exp(even(math.log(0.002), math.log(0.04)))
    x = x + torch.randn(x.shape, **kit) * noise * x.clamp(0.01, 1).sqrt()
    x = _tone(x.clamp(min=0))
    grain = _blurred(torch.randn(x.shape, **kit), torch.full((n,), 0.8, device=x.device))
    x = torch.floor((x + grain * noise * 0.9).clamp(0, 1) * 255 + 0.5)
    return _through_jpeg(x, even(45, 96).flatten(), chance(0.8).flatten() > 0).permute(0, 2, 3, 1).to(torch.uint8)


def _without_sparks(x: Tensor) -> Tensor:
    """Single pixels much brighter than all beside them are the tracer's."""
    beside = torch.stack([x.roll((i, j), (2, 3)) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]).amax(0)
    return torch.where(x > 2.0 * beside + 0.02, beside, x)


def _blurred(x: Tensor, sigma: Tensor) -> Tensor:
    """Gaussian of each picture's own sigma (n,), as products with two matrices."""
    place = torch.arange(x.shape[2], device=x.device, dtype=x.dtype)
    apart = (place[:, None] - place) ** 2
    way = torch.softmax(-0.5 * apart[None] / sigma[:, None, None] ** 2, dim=-1)[:, None]
    return way @ x @ way.transpose(-1, -2)


def _moved(x: Tensor, length: Tensor, angle: Tensor) -> Tensor:
    """Mean of the pictures along a short way (pixels): a hand that was not still."""
    total, steps = torch.zeros_like(x), 5
    base = torch.eye(2, 3, device=x.device)[None].repeat(len(x), 1, 1)
    for step in range(steps):
        far = length * (step / (steps - 1) - 0.5) * 2 / x.shape[2]
        base[:, 0, 2], base[:, 1, 2] = far * torch.cos(angle), far * torch.sin(angle)
        total += F.grid_sample(x, F.affine_grid(base, list(x.shape), align_corners=False), align_corners=False)
    return torch.where((length > 0)[:, None, None, None], total / steps, x)


def _metered(x: Tensor, seen: Tensor) -> Tensor:
    grey = x.mean(1)[:, ::8, ::8].clone()
    grey[~seen[:, ::8, ::8]] = torch.nan
    middle, bright = torch.nanquantile(grey.flatten(1), torch.tensor([0.6, 0.97], device=x.device), dim=1)
    return torch.minimum((0.24 / middle.clamp(min=1e-6)) ** 0.85, 1.05 / bright.clamp(min=1e-6))[:, None, None, None]


def _tone(x: Tensor) -> Tensor:
    bent = torch.where(x < 0.6, x, 0.6 + 0.4 * (1 - torch.exp(-(x - 0.6) / 0.4)))
    return torch.where(bent < 0.0031308, 12.92 * bent, 1.055 * bent.clamp(min=1e-6) ** (1 / 2.4) - 0.055)


def _through_jpeg(x: Tensor, quality: Tensor, halved: Tensor) -> Tensor:
    """Pictures (n, 3, side, side) of 0 to 255 after coding at each one's quality; ``halved``: colour at half size."""
    way = torch.tensor(TO_YCC, device=x.device)
    ycc = torch.einsum("ij,njhw->nihw", way, x) + torch.tensor([-128.0, 0, 0], device=x.device)[:, None, None]
    scale = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality)
    y = _quantised(ycc[:, :1], LUMINANCE, scale)
    whole = _quantised(ycc[:, 1:], CHROMINANCE, scale)
    half = F.interpolate(_quantised(F.avg_pool2d(ycc[:, 1:], 2), CHROMINANCE, scale), scale_factor=2, mode="bilinear")
    colour = torch.where(halved[:, None, None, None], half, whole)
    back = torch.einsum("ij,njhw->nihw", torch.linalg.inv(way), torch.cat([y + 128, colour], 1))
    return (back + 0.5).clamp(0, 255).floor()


def _quantised(x: Tensor, table: tuple[int, ...], scale: Tensor) -> Tensor:
    n, channels, high, wide = x.shape
    k = torch.arange(8, device=x.device, dtype=torch.float32)
    dct = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * 0.5
    dct[0] *= math.sqrt(0.5)
    blocks = x.reshape(n, channels, high // 8, 8, wide // 8, 8).transpose(3, 4)
    steps = torch.tensor(table, device=x.device, dtype=torch.float32).view(8, 8)
    steps = ((steps * scale[:, None, None] + 50) / 100).floor().clamp(1, 255)[:, None, None, None]
    coded = ((dct @ blocks @ dct.T) / steps).round() * steps
    return (dct.T @ coded @ dct).transpose(3, 4).reshape(n, channels, high, wide)
