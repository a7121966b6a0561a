"""Train the reader of marks: from a straightened stretch of a face to what stands on it, sign by sign.

    python tests/training/mark_reader.py --fonts FONTS --keep KEEP --out OUT --render 250 --seconds 580 --seed 41

Traces made-up parts with real text around them (mark_scenes.py) for ``--render`` seconds, only the band about the text,
develops them on the GPU as a phone does, straightens each text as the product does with a rough outer edge and bore,
keeps these patches in KEEP for a later run, and trains on all that lie there for the rest of ``--seconds``. Needs
PyTorch with CUDA, nvcc and onnx; the product needs none of them. OUT gets mark_reader.onnx, mark_reader.pt and
validation.txt. FONTS is a folder of font files; ``--held-fonts`` names another for the patches that are kept out.

What the network sees: grey values (n, 1, ROWS, width), capitals about `CAPITALS` high and as wide as on the part. What
it answers: for each fourth column the logits of "no sign" and of the signs of `ALPHABET` (CTC; Graves 2006). Its view
is about three signs wide, so that it reads signs, not numbers that it has seen.
"""

from __future__ import annotations

import argparse
import copy
import math
import multiprocessing
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.pool import Pool
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F  # noqa: N812  (its usual name)

sys.path.insert(0, str(Path(__file__).resolve().parent))

import mark_scenes
import traced
import train
from develop_gpu import developed

FRAME = traced.Frame(960, (140, 440))
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/.× "
ROWS, CAPITALS, STRIDE = 48, 26.0, 4
KEPT_ROWS, KEPT_COLUMNS, KEPT_CAPITALS = 80, 864, 32.0
"""A patch as it is kept: more room and finer than what the network sees, so that it can be cut out in many ways."""
MOST_BESIDE = 4.6
"""Neighbouring text begins this many capitals away at the nearest."""
WIDTHS = (96, 160, 224, 288, 352, 448, 576)
SAMPLES = 20
BATCH = 96
LONGEST = 20


class Squeezed(nn.Module):
    """Two convolutions about a short cut, each channel weighed by what the whole stretch looks like."""

    def __init__(self, inward: int, outward: int) -> None:
        super().__init__()
        self.first = nn.Sequential(nn.Conv2d(inward, outward, 3, 1, 1, bias=False), nn.BatchNorm2d(outward), nn.ReLU())
        self.second = nn.Sequential(nn.Conv2d(outward, outward, 3, 1, 1, bias=False), nn.BatchNorm2d(outward))
        self.past = nn.Conv2d(inward, outward, 1)
        self.weigh = nn.Sequential(nn.Linear(outward, outward // 4), nn.ReLU(), nn.Linear(outward // 4, outward))

    def forward(self, x: Tensor) -> Tensor:
        y = self.second(self.first(x))
        y = y * torch.sigmoid(self.weigh(y.mean(dim=(2, 3))))[:, :, None, None]
        return F.relu(y + self.past(x))


class Along(nn.Module):
    """A convolution along the text about a short cut."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.turn = nn.Sequential(
            nn.Conv1d(width, width, 5, 1, 2, bias=False), nn.BatchNorm1d(width), nn.ReLU(), nn.Dropout(0.1)
        )

    def forward(self, x: Tensor) -> Tensor:
        return x + self.turn(x)


class MarkNet(nn.Module):
    """From grey values 0-255 (n, 1, ROWS, width) to logits (n, width / STRIDE, 1 + signs)."""

    def __init__(self) -> None:
        super().__init__()

        def step(inward: int, outward: int, stride: int) -> nn.Sequential:
            return nn.Sequential(
                nn.Conv2d(inward, outward, 3, stride, 1, bias=False), nn.BatchNorm2d(outward), nn.ReLU()
            )

        self.stem = nn.Sequential(step(4, 24, 1), step(24, 32, 2), step(32, 64, 1), step(64, 64, 2))
        self.deep = nn.Sequential(
            Squeezed(64, 96), nn.MaxPool2d((2, 1)), Squeezed(96, 160), nn.MaxPool2d((2, 1)), Squeezed(160, 160)
        )
        self.flat = nn.Sequential(
            nn.Conv2d(160, 256, (3, 3), 1, (0, 1), bias=False), nn.BatchNorm2d(256), nn.ReLU(), nn.Dropout2d(0.1)
        )
        self.along = nn.Sequential(Along(256), Along(256), Along(256))
        self.head = nn.Conv1d(256, 1 + len(ALPHABET), 1)
        self.register_buffer("place", torch.linspace(-1, 1, ROWS).view(1, 1, ROWS, 1))

    def forward(self, x: Tensor) -> Tensor:
        x = torch.cat([looks(x / 255), self.place.expand(x.shape[0], 1, ROWS, x.shape[3])], dim=1)
        x = self.flat(self.deep(self.stem(x)))[:, :, 0]
        return self.head(self.along(x)).transpose(1, 2)


def looks(x: Tensor) -> Tensor:
    """Three ways to look at grey values (n, 1, rows, width) of 0 to 1: whole, evened out, along the circle."""
    whole = (x - x.mean(dim=(2, 3), keepdim=True)) / (_spread(x) + 0.02)
    around = x - _mean(x, 31, 31)
    even = around / (torch.sqrt(_mean(around * around, 31, 31)) + 0.01)
    level = x - _mean(x, 1, 91)
    row = level / (torch.sqrt(_mean(level * level, 15, 91)) + 0.01)
    return torch.cat([whole, even.clamp(-4, 4), row.clamp(-4, 4)], 1)


def _spread(x: Tensor) -> Tensor:
    return torch.sqrt(((x - x.mean(dim=(2, 3), keepdim=True)) ** 2).mean(dim=(2, 3), keepdim=True) + 1e-8)


def _mean(x: Tensor, high: int, wide: int) -> Tensor:
    tall = F.avg_pool2d(x, (high, 1), 1, (high // 2, 0), count_include_pad=False)
    return F.avg_pool2d(tall, (1, wide), 1, (0, wide // 2), count_include_pad=False)  # so it runs three times as fast


# --- straightening, as screener/vision/unwrap.py does ---


def ring_points(outer: Tensor, inner: Tensor, rho: Tensor, theta: Tensor) -> Tensor:
    """Picture points (n, ..., 2) at radii (by the outer one) and directions (n, ...) of rough ellipses (n, 5)."""
    s_out, s_in = train.stretches(outer), train.stretches(inner)
    ratio = torch.sqrt(inner[:, 2] * inner[:, 3] / (outer[:, 2] * outer[:, 3])).clamp(max=0.999)
    wide = (len(outer),) + (1,) * (rho.dim() - 1)
    inward = (1 - rho) / (1 - ratio).view(wide)
    share = (1 - rho**2) / (1 - ratio**2).view(wide)
    shift = outer[:, :2] - inner[:, :2]
    g = -torch.linalg.solve(s_out, shift) / (1 - ratio**2)[:, None]
    g = g * (0.25 / g.norm(dim=1, keepdim=True).clamp(min=1e-9)).clamp(max=1)
    turned = theta + rho * (g[:, 1].view(wide) * torch.cos(theta) - g[:, 0].view(wide) * torch.sin(theta))
    cos, sin = torch.cos(turned), torch.sin(turned)
    axes = []
    for i in (0, 1):
        m = [s_out[:, i, j].view(wide) + (s_in - s_out)[:, i, j].view(wide) * inward for j in (0, 1)]
        axes.append(outer[:, i].view(wide) - shift[:, i].view(wide) * share + m[0] * cos + m[1] * sin)
    return torch.stack(axes, -1)


def ring_places(outer: Tensor, inner: Tensor, at: Tensor, rho: Tensor) -> tuple[Tensor, Tensor]:
    """Radius and direction (n, k) of picture points (n, k, 2), from a first guess of the radius (n,)."""
    rho = rho[:, None].expand(at.shape[:2]).clone()
    theta = torch.atan2(at[..., 1] - outer[:, None, 1], at[..., 0] - outer[:, None, 0])
    for _ in range(25):  # Newton's way with measured slopes
        here = ring_points(outer, inner, rho, theta)
        by_rho = (ring_points(outer, inner, rho + 1e-3, theta) - here) * 1e3
        by_theta = (ring_points(outer, inner, rho, theta + 1e-3) - here) * 1e3
        step = torch.linalg.solve(torch.stack([by_rho, by_theta], -1), (at - here)[..., None])[..., 0]
        rho = rho + step[..., 0].clamp(-0.1, 0.1)
        theta = theta + step[..., 1].clamp(-0.3, 0.3)
    return rho, theta


def roughened(ellipses: Tensor, unit: Tensor) -> Tensor:
    """Ellipses (n, 5) as a search would give them."""
    n, kit = len(ellipses), {"device": ellipses.device}
    by = torch.where(torch.rand(n, 1, **kit) < 0.12, 0.009, 0.0025) * unit[:, None]
    off = torch.randn(n, 4, **kit) * by * torch.tensor([0.7, 0.7, 1.0, 1.0], **kit)
    turn = torch.randn(n, 1, **kit) * 0.6
    long = torch.maximum(ellipses[:, 2] + off[:, 2], ellipses[:, 3] + off[:, 3])
    short = torch.minimum(ellipses[:, 2] + off[:, 2], ellipses[:, 3] + off[:, 3])
    return torch.cat([ellipses[:, :2] + off[:, :2], long[:, None], short[:, None], ellipses[:, 4:] + turn], 1)


def patches_of(
    grey: Tensor, owner: Tensor, outer: Tensor, inner: Tensor, rho: Tensor, theta: Tensor, capital: Tensor
) -> Tensor:
    """Patches (k, KEPT_ROWS, KEPT_COLUMNS) uint8 of pictures (n, side, side) about (rho, theta) (k,); owner (k,)."""
    side = grey.shape[-1]
    kit = {"device": grey.device}
    pitch = capital / KEPT_CAPITALS
    rows = (torch.arange(KEPT_ROWS, **kit) - (KEPT_ROWS - 1) / 2)[None, :, None]
    columns = (torch.arange(KEPT_COLUMNS, **kit) - (KEPT_COLUMNS - 1) / 2)[None, None, :]
    kept = []
    for part in torch.arange(len(owner), device=grey.device).split(64):
        r = rho[part, None, None] - rows * pitch[part, None, None]
        t = theta[part, None, None] + columns * (pitch[part] / rho[part])[:, None, None]
        r, t = torch.broadcast_tensors(r, t)
        at = ring_points(outer[part], inner[part], r.clamp(min=0.02), t)
        seen = F.grid_sample(
            grey[owner[part]][:, None], (at * 2 + 1) / side - 1, padding_mode="border", align_corners=False
        )
        kept.append(seen[:, 0].round().clamp(0, 255).to(torch.uint8))
    return torch.cat(kept)


def _scene_of(seed: int, number: int, fonts: Path) -> mark_scenes.MarkedScene:
    return mark_scenes.marked_scene(np.random.default_rng([seed, number]), fonts, FRAME)


def depths(ellipse: Tensor, at: Tensor) -> Tensor:
    """Radius of picture points (h, w, 2) by ellipses (n, 5)."""
    back = torch.linalg.inv(train.stretches(ellipse))
    return torch.einsum("nij,nhwj->nhwi", back, at[None] - ellipse[:, None, None, :2]).norm(dim=-1)


def photographed(
    made: list[mark_scenes.MarkedScene], rings: np.ndarray, tracer: traced.Tracer, seed: int, device: torch.device
) -> tuple[Tensor, Tensor, Tensor]:
    """Trace and develop a batch of scenes, each between its outer and inner ellipse of ``rings`` (n, 2, 5).

    Returns pictures (n, side, side), 0 to 255, and the outer edges and bores (n, 5) as a search would give them.
    """
    n, side = len(made), FRAME.side_px
    scenes = np.array([m.scene for m in made])
    scenes["mark"] = np.arange(1, n + 1)
    strips = torch.from_numpy(np.stack([m.strip for m in made])).to(device)
    line = torch.arange(side, device=device, dtype=torch.float32)
    at = torch.stack(torch.meshgrid(line, line, indexing="xy"), -1)
    band = torch.from_numpy(rings).to(device)
    counts = torch.cat(
        [((depths(b[:, 0], at) < 1) & (depths(b[:, 1], at) > 1)).to(torch.uint8) * SAMPLES for b in band.split(16)]
    ).contiguous()
    light = torch.empty(n, side, side, 3, device=device)
    if device.type == "cuda":
        torch.cuda.synchronize()
    tracer.render(scenes, light, SAMPLES, seed, counts, strips)
    spread = torch.Generator(device).manual_seed(seed % (2**31))
    grey = torch.cat(
        [developed(a, c > 0, spread).float() @ torch.tensor([0.299, 0.587, 0.114], device=device)
         for a, c in zip(light.split(24), counts.split(24), strict=True)]
    )  # fmt: skip
    circles = torch.from_numpy(np.stack([m.circles for m in made])).to(device)
    return grey, roughened(circles[:, 0], circles[:, 0, 2]), roughened(circles[:, 3], circles[:, 0, 2])


def text_places(
    made: list[mark_scenes.MarkedScene], outer: Tensor, inner: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Scene (k,) of each text, radius and direction (k, 3) of its ends and middle, and how far it goes round (k,)."""
    device = outer.device
    owner = torch.tensor([i for i, m in enumerate(made) for _ in m.texts], device=device)
    spans = torch.from_numpy(np.concatenate([m.spans for m in made])).to(device)
    rho0 = torch.tensor([m.radius_share for m in made], device=device)
    rho, theta = ring_places(outer[owner], inner[owner], spans, rho0[owner])
    return owner, rho, theta, torch.remainder(theta[:, 2] - theta[:, 0], 2 * math.pi)


def straightened(made: list[mark_scenes.MarkedScene], tracer: traced.Tracer, seed: int, device: torch.device) -> dict:
    """Trace, develop and straighten a batch of scenes."""
    n = len(made)
    grey, outer, inner = photographed(made, np.stack([m.band for m in made]), tracer, seed, device)
    owner, rho, theta, ends = text_places(made, outer, inner)
    rho0 = torch.tensor([m.radius_share for m in made], device=device)
    capital = torch.tensor([m.capital_share for m in made], device=device)
    middle = theta[:, 0] + ends / 2
    texts = [t for m in made for t in m.texts]
    inward = torch.tensor([m.inward for m in made for _ in m.texts], device=device)
    seen_px = capital[owner] * torch.sqrt(outer[owner, 2] * outer[owner, 3])
    patches = patches_of(grey, owner, outer[owner], inner[owner], rho[:, 1], middle, capital[owner])
    patches = torch.where(inward[:, None, None], patches.flip(1, 2), patches)
    wide = ends * rho[:, 1] / capital[owner] * KEPT_CAPITALS
    # A stretch without text: where the largest gap of a strip lies.
    bare, bare_theta = [], []
    for i in range(n):
        mine = torch.nonzero(owner == i)[:, 0]
        order = mine[torch.argsort(torch.remainder(theta[mine, 0], 2 * math.pi))]
        first = torch.remainder(theta[order, 0], 2 * math.pi)
        gaps = torch.remainder(first.roll(-1) - first, 2 * math.pi)
        gaps = torch.where(gaps <= 0, torch.full_like(gaps, 2 * math.pi), gaps) - ends[order]
        k = int(gaps.argmax())
        if float(gaps[k]) * float(rho0[i]) > 15 * float(capital[i]):
            bare.append(i)
            bare_theta.append(float(first[k] + ends[order[k]] + gaps[k] / 2))
    if bare:
        b = torch.tensor(bare, device=device)
        empty = patches_of(grey, b, outer[b], inner[b], rho0[b], torch.tensor(bare_theta, device=device), capital[b])
        patches = torch.cat([patches, empty])
        wide = torch.cat([wide, torch.full((len(b),), 90.0, device=device)])
        seen_px = torch.cat([seen_px, (capital * torch.sqrt(outer[:, 2] * outer[:, 3]))[b]])
        texts += [""] * len(b)
    good = (wide < KEPT_COLUMNS - 2 * KEPT_CAPITALS) & torch.isfinite(wide) & (wide > 8)
    # Now and then a part lies in the dark: nothing is to be learned there.
    good &= torch.cat([p.float().flatten(1).std(1) for p in patches.split(64)]) > 2
    keep = torch.nonzero(good)[:, 0]
    return {
        "patches": patches[keep].cpu(), "wide": wide[keep].cpu(), "px": seen_px[keep].cpu(),
        "texts": [texts[int(i)] for i in keep],
    }  # fmt: skip


Keeping = Callable[[list[mark_scenes.MarkedScene], traced.Tracer, int, torch.device], dict]


def render(
    given: argparse.Namespace, keeping: Keeping, fonts: Path, seed: int, pool: Pool, ends: float, most: int
) -> None:
    """Trace batches until the time is up; what ``keeping`` makes of each becomes a file of KEEP."""
    device = train_device()
    first = 0
    waiting = pool.starmap_async(_scene_of, [(seed, k, fonts) for k in range(BATCH)], chunksize=4)
    while time.time() < ends and first < most:
        made = waiting.get()
        waiting = pool.starmap_async(
            _scene_of, [(seed, k, fonts) for k in range(first + BATCH, first + 2 * BATCH)], chunksize=4
        )
        kept = keeping(made, given.tracer, seed * 1000003 + first, device)
        part = given.keep / f"{seed:06d}_{first:06d}.part"
        torch.save(kept, part)
        part.rename(part.with_suffix(".pt"))
        first += BATCH
        if first % (BATCH * 8) == 0 or first == BATCH:
            print(
                f"{first} traced, {len(kept['texts'])} texts in the last, {ends - time.time():.0f} s left", flush=True
            )
    waiting.wait()


def render_all(given: argparse.Namespace, keeping: Keeping, began: float) -> None:
    """Trace what is kept out, once, and then what is trained on, until the time of ``--render`` is up."""
    for folder in (given.keep, given.out):
        folder.mkdir(parents=True, exist_ok=True)
    given.kept_out = {"same type faces": 900001, "other type faces": 900002}
    if given.render <= 0:
        return
    ends = began + given.render
    with multiprocessing.get_context("fork").Pool(given.workers) as pool:
        given.tracer = traced.Tracer()
        if not list(given.keep.glob("9*.pt")):
            render(given, keeping, given.fonts, 900001, pool, ends, given.held)
            render(given, keeping, given.held_fonts or given.fonts, 900002, pool, ends, given.held)
        render(given, keeping, given.fonts, given.seed, pool, ends, 10**9)


def train_device() -> torch.device:
    """The GPU where there is one."""
    return torch.device("cuda" if torch.cuda.is_available() else "cpu")


# --- training ---


def load(names: list[Path], device: torch.device) -> dict:
    """All patches of some files."""
    parts = [torch.load(name) for name in names]
    texts = [t for p in parts for t in p["texts"]]
    codes = torch.zeros(len(texts), LONGEST, dtype=torch.long)
    lengths = torch.zeros(len(texts), dtype=torch.long)
    index = {c: k + 1 for k, c in enumerate(ALPHABET)}
    for i, text in enumerate(texts):
        lengths[i] = min(len(text), LONGEST)
        codes[i, : lengths[i]] = torch.tensor([index[c] for c in text[:LONGEST]], dtype=torch.long)
    return {
        "patches": torch.cat([p["patches"] for p in parts]).to(device),
        "wide": torch.cat([p["wide"] for p in parts]).to(device),
        "px": torch.cat([p["px"] for p in parts]).to(device),
        "codes": codes.to(device), "lengths": lengths.to(device), "texts": texts,
    }  # fmt: skip


def cut(data: dict, rows: Tensor, width: int, *, gentle: bool) -> Tensor:
    """Stretches (n, 1, ROWS, width), 0 to 255, of kept patches, placed and scaled as a search would find them."""
    n, kit = len(rows), {"device": rows.device}
    normal = lambda by: torch.randn(n, **kit) * by  # noqa: E731
    zoom = CAPITALS / KEPT_CAPITALS * torch.exp(normal(0.05 if gentle else 0.11))
    along = zoom * torch.exp(normal(0.02 if gentle else 0.10))
    text = data["wide"][rows] * along
    along = torch.where(text > width - 10, along * (width - 10) / text, along)
    text = data["wide"][rows] * along
    spare = (width - text).clamp(min=10)
    limit = MOST_BESIDE * KEPT_CAPITALS * along
    left_low = torch.maximum(torch.full_like(spare, 5.0), spare - limit)
    left_high = torch.minimum(spare - 5.0, limit)
    left = left_low + (left_high - left_low).clamp(min=0) * torch.rand(n, **kit)
    x = torch.arange(width, **kit)[None, None, :]
    y = torch.arange(ROWS, **kit)[None, :, None]
    middle = (ROWS - 1) / 2 + normal(0.7 if gentle else 2.0)
    lean = normal(0.003 if gentle else 0.012)
    wave = normal(0.3 if gentle else 0.9)
    phase, long = 6.28 * torch.rand(n, **kit), 120 + 300 * torch.rand(n, **kit)
    bent = lean[:, None, None] * (x - width / 2) + wave[:, None, None] * torch.sin(
        6.28 * x / long[:, None, None] + phase[:, None, None]
    )
    source_y = (y - middle[:, None, None] + bent) / zoom[:, None, None] + (KEPT_ROWS - 1) / 2
    slant = normal(0.02 if gentle else 0.06)
    source_x = (x - (left + text / 2)[:, None, None] + slant[:, None, None] * (y - ROWS / 2)) / along[:, None, None] + (
        KEPT_COLUMNS - 1
    ) / 2
    at = torch.stack(
        [(source_x * 2 + 1) / KEPT_COLUMNS - 1 + 0 * source_y, (source_y * 2 + 1) / KEPT_ROWS - 1 + 0 * source_x], -1
    )
    return F.grid_sample(data["patches"][rows][:, None].float(), at, padding_mode="border", align_corners=False)


def varied(x: Tensor) -> Tensor:
    """Stretches in other light, through other lenses; half of them with light and dark exchanged."""
    n, kit = len(x), {"device": x.device}
    even = lambda low, high: low + (high - low) * torch.rand(n, 1, 1, 1, **kit)  # noqa: E731
    chance = lambda p: (torch.rand(n, 1, 1, 1, **kit) < p).float()  # noqa: E731
    x = x / 255
    turned = chance(0.5)
    x = turned * (1 - x) + (1 - turned) * x
    x = x.clamp(1e-3, 1) ** torch.exp(0.35 * torch.randn(n, 1, 1, 1, **kit))
    coarse = torch.randn(n, 1, 3, 8, **kit)
    light = F.interpolate(coarse, x.shape[2:], mode="bicubic", align_corners=False)
    x = x * torch.exp(even(0, 0.35) * chance(0.5) * light)
    spot = F.interpolate(torch.randn(n, 1, 4, 14, **kit), x.shape[2:], mode="bicubic", align_corners=False)
    x = x + chance(0.12) * (spot - even(0.8, 1.6)).clamp(min=0) * even(0.3, 1.0)
    lines = F.interpolate(torch.randn(n, 1, x.shape[2], 6, **kit), x.shape[2:], mode="bilinear", align_corners=False)
    x = x + chance(0.3) * even(0, 0.05) * lines
    x = _softened(x, even(0.3, 1.6) * chance(0.4) + 0.05)
    grain = _softened(torch.randn_like(x), even(0.3, 1.2))
    grain = grain / grain.std(dim=(2, 3), keepdim=True)
    x = x + grain * even(0, 0.06) * chance(0.5)
    # Dirt and scratches: a few bars across everything.
    place = torch.rand(n, 1, 1, 1, **kit) * x.shape[3]
    bar = (torch.arange(x.shape[3], **kit)[None, None, None] - place).abs() < even(1, 5)
    x = torch.where(bar & (chance(0.06) > 0), even(0, 1).expand_as(x), x)
    return x.clamp(0, 1) * 255


def _softened(x: Tensor, sigma: Tensor) -> Tensor:
    """Gaussian of each stretch's own sigma (n, 1, 1, 1)."""
    taps = torch.arange(-4, 5, device=x.device, dtype=x.dtype)
    kernel = torch.exp(-0.5 * (taps / sigma.view(-1, 1)) ** 2)
    kernel = kernel / kernel.sum(1, keepdim=True)
    n = len(x)
    x = F.conv2d(F.pad(x, (4, 4, 4, 4), mode="replicate").transpose(0, 1), kernel.view(n, 1, 1, 9), groups=n)
    return F.conv2d(x, kernel.view(n, 1, 9, 1), groups=n).transpose(0, 1)


def by_width(data: dict) -> list[Tensor]:
    """Row numbers for each of `WIDTHS`: the narrowest that a text fits in with a little room."""
    need = data["wide"] * (CAPITALS / KEPT_CAPITALS) * 1.06 + 0.9 * CAPITALS
    edges = torch.tensor(WIDTHS, device=need.device, dtype=need.dtype)
    which = torch.bucketize(need, edges).clamp(max=len(WIDTHS) - 1)
    return [torch.nonzero(which == k)[:, 0] for k in range(len(WIDTHS))]


def told(logits: Tensor) -> list[str]:
    """The likeliest text of each stretch, path by path."""
    path = logits.argmax(2).cpu().numpy()
    out = []
    for row in path:
        signs = [k for i, k in enumerate(row) if k and (i == 0 or k != row[i - 1])]
        out.append("".join(ALPHABET[k - 1] for k in signs))
    return out


def validate(net: nn.Module, data: dict) -> str:
    """Share of texts read without fault, by the height of their capitals in the picture."""
    right: dict[str, list[bool]] = {}
    with torch.no_grad(), torch.random.fork_rng():
        torch.manual_seed(7)
        for width, rows in zip(WIDTHS, by_width(data), strict=True):
            for part in rows.split(256):
                if not len(part):
                    continue
                texts = told(net(cut(data, part, width, gentle=True)))
                for i, text in zip(part.tolist(), texts, strict=True):
                    px, want = float(data["px"][i]), data["texts"][i]
                    name = (
                        "bare"
                        if not want
                        else "<11"
                        if px < 11
                        else "11-14"
                        if px < 14
                        else "14-20"
                        if px < 20
                        else ">20"
                    )
                    right.setdefault(name, []).append(text.replace(" ", "") == want.replace(" ", ""))
    return "  ".join(f"{k} {np.mean(v):.3f} of {len(v)}" for k, v in sorted(right.items()))


def fit(given: argparse.Namespace, began: float) -> None:
    """Train the reader."""
    device = train_device()
    data, held = split(given, load, device)
    groups = by_width(data)
    print(f"{len(data['texts'])} stretches, {time.time() - began:.0f} s", [len(g) for g in groups], flush=True)
    chances = np.array([len(g) for g in groups], float)
    chances /= chances.sum()
    dice = np.random.default_rng(given.seed)

    def loss_of_a_batch(net: nn.Module) -> Tensor:
        k = int(dice.choice(len(WIDTHS), p=chances))
        size = max(8, int(given.batch * 224 / WIDTHS[k]))
        rows = groups[k][torch.randint(len(groups[k]), (size,), device=device)]
        x = varied(cut(data, rows, WIDTHS[k], gentle=False))
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            logits = net(x)
        log_p = logits.float().log_softmax(2).transpose(0, 1)
        full = torch.full((size,), log_p.shape[0], dtype=torch.long, device=device)
        return F.ctc_loss(log_p, data["codes"][rows], full, data["lengths"][rows], zero_infinity=True)

    train_for_the_rest(MarkNet(), given, began, loss_of_a_batch, Telling(held, validate, export))


def split(
    given: argparse.Namespace, loading: Callable[[list[Path], torch.device], dict], device: torch.device
) -> tuple[dict, dict[str, dict]]:
    """What is trained on, and by name what is kept out, of all that lies in KEEP."""
    begins = {name: f"{seed:06d}_" for name, seed in given.kept_out.items()}
    names = sorted(given.keep.glob("*.pt"))
    held = {name: loading([n for n in names if n.name.startswith(begin)], device) for name, begin in begins.items()}
    return loading([n for n in names if not n.name.startswith(tuple(begins.values()))], device), held


@dataclass(frozen=True, slots=True)
class Telling:
    """What is told of a network now and then: how it does on what is kept out, and its file."""

    held: dict[str, dict]
    validate: Callable[[nn.Module, dict], str]
    export: Callable[[nn.Module, Path], None]


def train_for_the_rest(
    net: nn.Module,
    given: argparse.Namespace,
    began: float,
    loss_of_a_batch: Callable[[nn.Module], Tensor],
    telling: Telling,
) -> None:
    """Train until ``--seconds`` are over; the weights told of, now and then and at the end, are a running mean."""
    torch.manual_seed(given.seed)
    torch.set_float32_matmul_precision("high")
    device = train_device()
    net = net.to(device, memory_format=torch.channels_last)
    if given.start is not None:
        net.load_state_dict(torch.load(given.start, map_location=device))
    steady = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.999), use_buffers=True
    )
    optimiser = torch.optim.AdamW(net.parameters(), lr=given.rate, weight_decay=1e-2, fused=device.type == "cuda")
    started, step, report, over = time.time(), 0, [], False
    while not over:
        spent = (time.time() - started) / max(1.0, given.seconds - (started - began))
        rate = given.rate * min(1.0, (step + 1) / 400) * 0.5 * (1 + math.cos(math.pi * min(1.0, spent)))
        for group in optimiser.param_groups:
            group["lr"] = rate
        loss = loss_of_a_batch(net)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        steady.update_parameters(net)
        step, over = step + 1, spent >= 1
        if over or step in {50, 400} or step % 2000 == 0:
            mean = steady.module.eval()
            telling.export(mean, given.out)
            told_of = "".join(f"\n    {name}: {telling.validate(mean, kept)}" for name, kept in telling.held.items())
            mean.train()
            report.append(f"{step} {time.time() - began:.0f} s {loss.item():.4f}{told_of}")
            print(report[-1], flush=True)
            (given.out / "validation.txt").write_text("\n".join(report) + "\n", encoding="utf-8")


def export(net: nn.Module, out: Path) -> None:
    """Write the weights and the ONNX file."""
    net = copy.deepcopy(net).float().cpu().eval().to(memory_format=torch.contiguous_format)
    torch.save(net.state_dict(), out / "mark_reader.pt")
    file = out / "mark_reader.onnx"
    torch.onnx.export(
        net, (torch.zeros(1, 1, ROWS, 160),), str(file), input_names=["grey"], output_names=["logits"],
        opset_version=17, dynamo=False, dynamic_axes={"grey": {0: "n", 3: "width"}, "logits": {0: "n", 1: "steps"}},
    )  # fmt: skip
    halve(file, alphabet=ALPHABET)


def halve(file: Path, **notes: str) -> None:
    """Keep an ONNX file's large tensors in half precision, and write notes into it."""
    import onnx
    from onnx import helper, numpy_helper

    model = onnx.load(file)
    for tensor in list(model.graph.initializer):
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size < 2000:
            continue
        model.graph.initializer.remove(tensor)
        model.graph.initializer.append(numpy_helper.from_array(values.astype(np.float16), f"{tensor.name}_half"))
        model.graph.node.insert(
            0, helper.make_node("Cast", [f"{tensor.name}_half"], [tensor.name], to=onnx.TensorProto.FLOAT)
        )
    model.metadata_props.extend(onnx.StringStringEntryProto(key=k, value=v) for k, v in notes.items())
    onnx.save(model, file)


def ask_for_all(ask: argparse.ArgumentParser, what: str) -> None:
    """Add what every training on these scenes is told; ``what``: what is kept of each scene."""
    ask.add_argument("--fonts", type=Path, required=True)
    ask.add_argument("--held-fonts", type=Path, help=f"type faces of the {what} that are kept out")
    ask.add_argument("--keep", type=Path, required=True, help=f"folder of {what}; what lies there is used too")
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=41)
    ask.add_argument("--render", type=float, default=0, help="seconds of tracing before the training")
    ask.add_argument("--seconds", type=float, default=580, help="of all together")
    ask.add_argument("--rate", type=float, default=3e-3, help="highest learning rate")
    ask.add_argument("--start", type=Path, help="weights (.pt) to go on from")
    ask.add_argument("--held", type=int, default=480, help="scenes kept out, of each kind")
    ask.add_argument("--workers", type=int, default=14)


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask_for_all(ask, "patches")
    ask.add_argument("--batch", type=int, default=320)
    given = ask.parse_args()
    began = time.time()
    render_all(given, straightened, began)
    fit(given, began)


if __name__ == "__main__":
    main()
