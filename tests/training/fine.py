"""Train the second look: the network that reads both edges of a part again, close up.

    python tests/training/scenes.py --out DRAWN --seed 91 --seconds 240 --workers 4 &
    python tests/training/fine.py --keep KEEP --out OUT --render 245 --seconds 250 --seed 61
    python tests/training/fine.py --keep KEEP --out OUT --drawn DRAWN --seconds 565 --seed 61

made the file that is shipped, on one H100 with 16 cores: 45,552 traced and 448 drawn pictures, 12,221 steps (time
limits set the counts: a repeat is alike, not the same). Going on from it with as many pictures of radii from 40 pixels
on, with stray light about bright spots, made it no better, so it is not what is shipped.

Traces scenes as traced.py makes them up (every other batch polished) for ``--render`` seconds, only the bands about the
outer circle and the bore and larger than traced.py does, develops them on the GPU as a phone does, keeps them in KEEP
for a later run, and trains on all that lie there for the rest of ``--seconds``. Needs PyTorch with CUDA, nvcc and onnx;
the product needs none of them. OUT gets edge_bands.onnx, edge_bands.pt and validation.txt.

What the network sees: two strips (rows: distance from the edge, from the face side outwards; columns: angle), one about
the outer circle and one about the bore as the first look found them, and three numbers: bore radius by outer radius,
the outer radius in pixels (log2 of it by 200) and how round the outer circle looks. It answers, for each angle and each
of the four circles of train.py, with logits over the rows of the strip that the circle lies in.
"""

from __future__ import annotations

import argparse
import copy
import math
import multiprocessing
import sys
import time
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F  # noqa: N812  (its usual name)

sys.path.insert(0, str(Path(__file__).resolve().parent))

import traced
import train
from develop_gpu import developed
from train import CIRCLES, COLUMNS, ROWS, UNet

FRAME = traced.Frame(640, (60, 290))
DEPTH_FIRST, DEPTH_LAST = -0.14, 0.07
"""Distance of the first and the last row beyond the edge, away from the face, in units of the outer radius."""
STEP = (DEPTH_LAST - DEPTH_FIRST) / (ROWS - 1)
AROUND = 4
"""Samples along the circle that are averaged into a column."""
TARGET_ROWS = 1.5
TRACED = (-0.20, 0.10)
"""The band that is traced: the rows above, and what a rough ellipse may be off."""
SAMPLES = 24
BATCH = 240
KEPT_OUT = 480


class BandNet(UNet):
    """From strips (n, 6, ROWS, COLUMNS) and numbers (n, 3) to logits (n, CIRCLES, ROWS, COLUMNS / STRIDE)."""

    def __init__(self) -> None:
        super().__init__(6 + 3, (24, 32, 48, 64, 96))

    def forward(self, strips: Tensor, numbers: Tensor) -> Tensor:
        wide = numbers[:, :, None, None].expand(-1, -1, ROWS, strips.shape[3])
        return super().forward(torch.cat([strips, wide], dim=1))


def depths_of(ellipse: Tensor, unit: Tensor, at: Tensor, *, outward: bool) -> Tensor:
    """How far picture points (h, w, 2) lie beyond ellipses (n, 5), away from the face, in ``unit`` pixels (n,)."""
    back = torch.linalg.inv(train.stretches(ellipse))
    away = torch.einsum("nij,nhwj->nhwi", back, at[None] - ellipse[:, None, None, :2])
    depth = (away.norm(dim=-1) - 1) * (ellipse[:, 2] / unit)[:, None, None]
    return depth if outward else -depth


def counts_of(circles: Tensor) -> Tensor:
    """Paths for each pixel (n, side, side) uint8: the bands about both edges, nothing elsewhere."""
    side = torch.arange(FRAME.side_px, device=circles.device, dtype=torch.float32)
    at = torch.stack(torch.meshgrid(side, side, indexing="xy"), -1)
    wanted = torch.zeros(len(circles), FRAME.side_px, FRAME.side_px, dtype=torch.uint8, device=circles.device)
    unit = circles[:, 0, 2]
    for place, outward in ((0, True), (3, False)):
        depth = depths_of(circles[:, place], unit, at, outward=outward)
        wanted[(depth > TRACED[0]) & (depth < TRACED[1])] = SAMPLES
    return wanted


def rough_edges(circles: Tensor, *, gentle: bool) -> tuple[Tensor, Tensor, Tensor]:
    """Centres (n, 2, 2), frames (n, 2, 2, 2) and major semi-axes (n, 2) of a rough outer circle and a rough bore."""
    n, kit = len(circles), {"device": circles.device}
    unit = circles[:, 0, 2]
    phase = 2 * math.pi * torch.rand(n, **kit)
    flip = torch.where(torch.rand(n, **kit) < 0.5, 1.0, -1.0)
    cos, sin = torch.cos(phase), torch.sin(phase)
    turn = torch.stack([torch.stack([cos, -sin * flip], -1), torch.stack([sin, cos * flip], -1)], -2)
    centres, frames, axes = [], [], []
    for full, top in ((0, 1), (3, 2)):
        wild = torch.rand(n, **kit) < (0.0 if gentle else 0.15)
        other = torch.rand(n, **kit) < (0.0 if gentle else 0.12)
        base = torch.where(other[:, None], circles[:, top], circles[:, full])
        off = torch.where(wild, 0.05 * torch.rand(n, **kit) - 0.025, 0.006 * torch.randn(n, **kit))
        strain = 0.5 * torch.randn(n, 2, 2, **kit) * torch.where(wild, 0.012, 0.004)[:, None, None]
        scale = (unit / base[:, 2])[:, None, None]
        s = train.stretches(base)
        strain = (strain + strain.transpose(1, 2)) * scale
        s = (s + (s @ strain + strain @ s) / 2) * (1 + off[:, None, None] * scale)
        centres.append(base[:, :2] + torch.randn(n, 2, **kit) * (unit * torch.where(wild, 0.012, 0.005))[:, None])
        frames.append(s @ turn)
        axes.append(base[:, 2] * (1 + off * scale[:, 0, 0]))
    return torch.stack(centres, 1), torch.stack(frames, 1), torch.stack(axes, 1)


def bands(pictures: Tensor, centres: Tensor, frames: Tensor, axes: Tensor) -> Tensor:
    """Strips (n, 2, 3, ROWS, COLUMNS) of pictures (n, 3, side, side)."""
    angle = (torch.arange(COLUMNS * AROUND, device=pictures.device) - (AROUND - 1) / 2) * (
        2 * math.pi / (COLUMNS * AROUND)
    )
    ways = torch.stack([torch.cos(angle), torch.sin(angle)], -1)
    depth = DEPTH_FIRST + STEP * torch.arange(ROWS, device=pictures.device)
    size = torch.tensor([pictures.shape[3], pictures.shape[2]], device=pictures.device)
    strips = []
    for edge, way in ((0, 1.0), (1, -1.0)):
        rho = 1 + way * depth[None] * (axes[:, 0] / axes[:, edge])[:, None]
        at = torch.einsum("nij,cj->nci", frames[:, edge], ways)
        points = centres[:, edge, None, None] + rho[:, :, None, None] * at[:, None]
        strip = F.grid_sample(pictures, (points * 2 + 1) / size - 1, padding_mode="zeros", align_corners=False)
        strips.append(F.avg_pool2d(strip, (1, AROUND)))
    return torch.stack(strips, 1)


def true_rows(circles: Tensor, centres: Tensor, frames: Tensor, axes: Tensor) -> Tensor:
    """Row (n, CIRCLES, COLUMNS / STRIDE) at which each circle lies in its strip."""
    rows = []
    for edge, way in ((0, 1.0), (1, -1.0)):
        radii = train.true_radii(circles[:, 2 * edge : 2 * edge + 2], centres[:, edge], frames[:, edge])
        depth = way * (radii - 1) * (axes[:, edge] / axes[:, 0])[:, None, None]
        rows.append((depth - DEPTH_FIRST) / STEP)
    return torch.cat(rows, 1)


def varied(strips: Tensor) -> Tensor:
    """Strips (n, 2, 3, ROWS, COLUMNS) in other light, through other lenses."""
    n, kit = len(strips), {"device": strips.device}

    def chance(p: float, count: int = n) -> Tensor:
        return (torch.rand(count, 1, 1, 1, **kit) < p).float()

    def even(low: float, high: float, channels: int = 1, count: int = n) -> Tensor:
        return low + (high - low) * torch.rand(count, channels, 1, 1, **kit)

    x = strips.flatten(0, 1)
    lit = train._shaded(
        x, lambda p: chance(0.6 * p, 2 * n), lambda low, high, channels=1: even(low, high, channels, 2 * n)
    )
    x = train._covered(lit, lambda p: chance(0.5 * p, 2 * n))
    twice = lambda t: t.repeat_interleave(2, 0)  # noqa: E731
    x = x * twice(torch.exp(0.10 * torch.randn(n, 3, 1, 1, **kit)))
    pale = twice(even(0, 1) * chance(0.5))
    x = x * (1 - pale) + x.mean(1, keepdim=True) * pale
    x = torch.clamp(x * twice(torch.exp(0.25 * torch.randn(n, 1, 1, 1, **kit))), 0, 1)
    x = torch.clamp(x, 1e-3, 1) ** twice(torch.exp(0.3 * torch.randn(n, 1, 1, 1, **kit)))
    x = train._blurred(x, twice(even(0.5, 5.0) * chance(0.3) + 0.05))
    noise = train._blurred(torch.randn_like(x), twice(even(0.2, 2.0)))
    return torch.clamp(x + noise * twice(even(0, 0.04) * chance(0.5)), 0, 1).unflatten(0, (n, 2))


def normalised(strips: Tensor) -> Tensor:
    """Zero mean and unit deviation over both strips together, as (n, 6, ROWS, COLUMNS)."""
    x = strips.flatten(1, 2)
    return (x - x.mean(dim=(1, 2, 3), keepdim=True)) / (x.std(dim=(1, 2, 3), keepdim=True) + 0.02)


def batch_of(pictures: Tensor, circles: Tensor, rows: Tensor, *, gentle: bool = False) -> tuple[Tensor, ...]:
    """Normalised strips, numbers, true rows, and bore radius by outer radius (n,) for picture numbers."""
    there = circles[rows]
    centres, frames, axes = rough_edges(there, gentle=gentle)
    strips = bands(pictures[rows].permute(0, 3, 1, 2).float() / 255, centres, frames, axes)
    share = axes[:, 1] / axes[:, 0]
    numbers = torch.stack([share, torch.log2(axes[:, 0] / 200), there[:, 0, 3] / there[:, 0, 2]], 1)
    strips = normalised(strips if gentle else varied(strips))
    return strips, numbers, true_rows(there, centres, frames, axes), share


def mean_rows(logits: Tensor) -> Tensor:
    """Mean row (n, CIRCLES, 1, columns) of the distributions."""
    rows = torch.arange(ROWS, device=logits.device, dtype=torch.float32)[None, None, :, None]
    return (logits.float().softmax(2) * rows).sum(2, keepdim=True)


def loss_of(logits: Tensor, target: Tensor, share: Tensor) -> Tensor:
    """Cross-entropy to a narrow Gaussian, how far single means and means all round are off, and the ratio's error."""
    rows = torch.arange(ROWS, device=logits.device, dtype=torch.float32)[None, None, :, None]
    target = target[:, :, None]
    good = ((target > 0) & (target < ROWS - 1)).float()[:, :, 0]
    wanted = torch.exp(-0.5 * ((rows - target) / TARGET_ROWS) ** 2)
    wanted = wanted / wanted.sum(2, keepdim=True).clamp(min=1e-6)
    cross = -(wanted * F.log_softmax(logits.float(), dim=2)).sum(2)
    mean = mean_rows(logits)
    far = F.smooth_l1_loss(mean, target, reduction="none")[:, :, 0]
    round_off = ((mean - target)[:, :, 0] * good).sum(2) / good.sum(2).clamp(min=1)
    # Outwards is up in the outer strip and down in that of the bore: both add to a ratio that is too small.
    ratio = (round_off[:, 3] / share + round_off[:, 0]) * STEP * 100
    return (
        ((cross + 0.05 * far) * good).sum() / good.sum()
        + 0.08 * round_off.abs().mean()
        + 0.15 * F.smooth_l1_loss(ratio, torch.zeros_like(ratio))
    )


def validate(net: nn.Module, pictures: Tensor, circles: Tensor, order: Tensor, held: range) -> str:
    """Errors all round, thousandths of the outer radius, and of the ratio in per cent, on unvaried strips."""
    off, ratio, doubt = [], [], []
    place = torch.arange(ROWS, device=pictures.device, dtype=torch.float32)[None, None, :, None]
    with torch.no_grad(), torch.random.fork_rng():
        torch.manual_seed(7)
        for first in range(held.start, held.stop, 48):
            numbers = order[first : min(first + 48, held.stop)]
            strips, about, rows, share = batch_of(pictures, circles, numbers, gentle=True)
            logits = net(strips, about)
            mean = mean_rows(logits)
            wide = ((logits.softmax(2) * (place - mean) ** 2).sum(2)).median(2).values
            round_off = 1000 * STEP * (mean[:, :, 0] - rows).mean(2)
            off.append(round_off)
            doubt.append(1000 * STEP * (wide - TARGET_ROWS**2).clamp(min=0.01).sqrt())
            ratio.append((round_off[:, 3] / share + round_off[:, 0]) / 10)
    error, each, wide = torch.cat(ratio), torch.cat(off), torch.cat(doubt)
    show = lambda t: " ".join(f"{x:.2f}" for x in t.tolist())  # noqa: E731
    return (
        f"off {show(each.abs().median(0).values)} 95th {show(each.abs().quantile(0.95, 0))} middle"
        f" {show(each.median(0).values)} ratio {error.abs().median():.2f} {error.abs().quantile(0.95):.2f} %"
        f" doubt {show(wide.median(0).values)} error over doubt 95th {show((each / wide).abs().quantile(0.95, 0))}"
    )


def _device() -> torch.device:
    return torch.device("cuda" if torch.cuda.is_available() else "cpu")


def _scene_of(seed: int, number: int) -> tuple[np.ndarray, np.ndarray]:
    polished = number // BATCH % 2 == 0
    return traced.made_up_scene(np.random.default_rng([seed, number]), polished=polished, frame=FRAME)


def render(given: argparse.Namespace, pool: multiprocessing.pool.Pool, ends: float) -> None:
    """Trace and develop batches until the time is up; each becomes a file of KEEP."""
    tracer, first, device = traced.Tracer(), 0, _device()
    waiting = pool.starmap_async(_scene_of, [(given.seed, n) for n in range(BATCH)], chunksize=8)
    while time.time() < ends:
        made = waiting.get()
        following = range(first + BATCH, first + 2 * BATCH)
        waiting = pool.starmap_async(_scene_of, [(given.seed, n) for n in following], chunksize=8)
        circles = torch.from_numpy(np.array([m[1] for m in made])).to(device)
        counts = torch.cat([counts_of(part) for part in circles.split(40)])
        light = torch.empty(BATCH, FRAME.side_px, FRAME.side_px, 3, device=device)
        if device.type == "cuda":
            torch.cuda.synchronize()
        tracer.render(np.array([m[0] for m in made]), light, SAMPLES, given.seed * 1000003 + first, counts)
        spread = torch.Generator(device).manual_seed(given.seed * 7 + first)
        pictures = torch.cat(
            [developed(part, seen > 0, spread) for part, seen in zip(light.split(40), counts.split(40), strict=True)]
        )
        part = given.keep / f"{given.seed:04d}_{first:06d}.part"
        torch.save((pictures.cpu(), circles.cpu()), part)
        part.rename(part.with_suffix(".pt"))
        first += BATCH
        print(f"{first} traced, {ends - time.time():.0f} s left", flush=True)


def load(given: argparse.Namespace, device: torch.device) -> tuple[Tensor, Tensor, Tensor]:
    """All pictures and circles, and their places with the kept-out ones first."""
    pictures = torch.empty((given.most, FRAME.side_px, FRAME.side_px, 3), dtype=torch.uint8, device=device)
    circles = torch.empty((given.most, CIRCLES, 5), device=device)
    count, traced_count = 0, 0
    for name in sorted(given.drawn.glob("*.npz")) if given.drawn is not None else []:
        with np.load(name) as part:
            end, side = count + len(part["circles"]), part["pictures"].shape[1]
            pictures[count:end] = 0
            pictures[count:end, :side, :side] = torch.from_numpy(part["pictures"])
            circles[count:end] = torch.from_numpy(part["circles"])
            count = end
    drawn = count
    for name in sorted(given.keep.glob("*.pt")):
        part = torch.load(name)
        end = min(count + len(part[1]), given.most)
        pictures[count:end], circles[count:end] = part[0][: end - count], part[1][: end - count]
        traced_count, count = traced_count + end - count, end
    print(f"{traced_count} traced, {drawn} drawn", flush=True)
    # The kept-out ones come first: the first two files traced.
    order = torch.cat([torch.arange(drawn, count), torch.arange(drawn)]).to(device)
    return pictures, circles, order


def fit(given: argparse.Namespace, began: float) -> None:
    """Train for the rest of the time, the learning rate falling to nothing; the weights kept are a running mean."""
    torch.manual_seed(given.seed)
    torch.set_float32_matmul_precision("high")
    device = _device()
    pictures, circles, order = load(given, device)
    net = BandNet().to(device, memory_format=torch.channels_last)
    if given.start is not None:
        net.load_state_dict(torch.load(given.start, map_location=device))
    steady = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    optimiser = torch.optim.AdamW(net.parameters(), lr=given.rate, weight_decay=1e-3, fused=device.type == "cuda")
    fast = torch.compile(net) if device.type == "cuda" else net
    started, step, report = time.time(), 0, []
    while (spent := (time.time() - started) / (given.seconds - (started - began))) < 1:
        rate = given.rate * min(1.0, (step + 1) / 200) * 0.5 * (1 + math.cos(math.pi * spent))
        for group in optimiser.param_groups:
            group["lr"] = rate
        numbers = order[torch.randint(KEPT_OUT, len(order), (given.batch,), device=device)]
        strips, about, rows, share = batch_of(pictures, circles, numbers)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            logits = fast(strips.contiguous(memory_format=torch.channels_last), about)
        loss = loss_of(logits, rows, share)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        steady.update_parameters(net)
        step += 1
        if step in {20, 300} or step % 1000 == 0:
            _tell(
                report, given, f"{step} {time.time() - began:.0f} s {loss.item():.3f}", steady, pictures, circles, order
            )
    _tell(report, given, f"{step} end", steady, pictures, circles, order)


def _tell(report: list[str], given: argparse.Namespace, head: str, steady: nn.Module, *data: Tensor) -> None:
    net = steady.module.eval()
    halves = (range(KEPT_OUT // 2), range(KEPT_OUT // 2, KEPT_OUT))
    report.append(head + "".join(f"\n    {validate(net, *data, part)}" for part in halves))
    print(report[-1], flush=True)
    (given.out / "validation.txt").write_text("\n".join(report) + "\n", encoding="utf-8")
    export(net, given.out)


def export(net: nn.Module, out: Path) -> None:
    """Write the weights and the ONNX file."""
    net = copy.deepcopy(net).float().cpu().eval()
    torch.save(net.state_dict(), out / "edge_bands.pt")
    torch.onnx.export(
        net, (torch.zeros(1, 6, ROWS, COLUMNS), torch.zeros(1, 3)), str(out / "edge_bands.onnx"),
        input_names=["strips", "numbers"], output_names=["logits"], opset_version=17, dynamo=False,
        dynamic_axes={"strips": {0: "n"}, "numbers": {0: "n"}, "logits": {0: "n"}},
    )  # fmt: skip


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--keep", type=Path, required=True, help="folder of traced pictures; what lies there is used too")
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--drawn", type=Path, help="folder that scenes.py wrote")
    ask.add_argument("--seed", type=int, default=61)
    ask.add_argument("--render", type=float, default=0, help="seconds of tracing before the training")
    ask.add_argument("--seconds", type=float, default=570, help="of all together")
    ask.add_argument("--batch", type=int, default=96)
    ask.add_argument("--rate", type=float, default=3e-3, help="highest learning rate")
    ask.add_argument("--start", type=Path, help="weights (.pt) to go on from")
    ask.add_argument("--most", type=int, default=46000, help="pictures kept on the GPU, 1.2 MB each")
    ask.add_argument("--workers", type=int, default=11)
    given = ask.parse_args()
    began = time.time()
    for folder in (given.keep, given.out):
        folder.mkdir(parents=True, exist_ok=True)
    with multiprocessing.get_context("fork").Pool(given.workers) as pool:
        if given.render > 0:
            render(given, pool, began + given.render)
    fit(given, began)


if __name__ == "__main__":
    main()
