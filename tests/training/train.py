"""Train the ring-edge network on drawn close-ups and write it as ONNX.

    python tests/training/traced.py --out TRACED --seed 41 --count 21000
    python tests/training/scenes.py --out DRAWN --seed 41 --seconds 285 --workers 4
    python tests/training/scenes.py --out DRAWN2 --seed 42 --seconds 200
    python tests/training/train.py --data TRACED DRAWN --out ONE --seconds 258 --compile
    python tests/training/train.py --data TRACED DRAWN DRAWN2 --out OUT --start ONE/ring_edges.pt --seconds 570 \\
        --compile --batch 160 --rate 2.5e-3

made the file that is shipped, on one H100 with 16 cores (time limits set the counts: a repeat is alike, not the same).

Going on from it for 340 s with traced.py ``--polished`` pictures among the others halved how far inside the true OD the
outer circle lies on polished chamfers, but put the bore inside its own by as much: it is not what is shipped.

Needs PyTorch (a GPU for more than a smoke test) and onnx; the product needs neither. OUT gets ring_edges.onnx,
ring_edges.pt and validation.txt. The first file of each folder is kept out of training.

The network sees a part unwrapped about a rough outer ellipse (rows: radius, columns: angle) and says, for each angle,
at which radius each of four circles lies. Rough ellipses are made from the true ones by moving, stretching and turning
them; light, colour, blur, noise, reflections, shading, cover and background are varied on the strips.
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F  # noqa: N812  (its usual name)

ROWS, COLUMNS, STRIDE = 192, 256, 2
RHO_FIRST, RHO_LAST = 0.18, 1.30
CIRCLES = 4
STEP = (RHO_LAST - RHO_FIRST) / (ROWS - 1)
TARGET_ROWS = 1.0
"""Standard deviation of the target over the rows."""


class Around(nn.Module):
    """3 x 3 convolution that closes the circle along the columns, with batch norm and ReLU."""

    def __init__(self, inward: int, outward: int, stride: tuple[int, int] = (1, 1)) -> None:
        super().__init__()
        self.conv = nn.Conv2d(inward, outward, 3, stride, padding=(1, 0), bias=False)
        self.norm = nn.BatchNorm2d(outward)

    def forward(self, x: Tensor) -> Tensor:
        return F.relu(self.norm(self.conv(torch.cat([x[..., -1:], x, x[..., :1]], dim=-1))))


class UNet(nn.Module):
    """Small U-Net from (n, inward, ROWS, COLUMNS), rows marked, to logits (n, CIRCLES, ROWS, COLUMNS / STRIDE)."""

    def __init__(self, inward: int, widths: tuple[int, ...]) -> None:
        super().__init__()
        self.stem = Around(inward + 1, widths[0], (1, STRIDE))
        self.first = Around(widths[0], widths[0])
        self.down = nn.ModuleList(nn.Sequential(Around(a, b, (2, 2)), Around(b, b)) for a, b in pairwise(widths))
        self.deep = nn.Sequential(Around(widths[-1], widths[-1]), Around(widths[-1], widths[-1]))
        self.whole = nn.Linear(widths[-1], widths[-1])
        self.up = nn.ModuleList(
            nn.Sequential(Around(b + a, a), Around(a, a))
            for a, b in zip(reversed(widths[:-1]), reversed(widths[1:]), strict=True)
        )
        self.head = nn.Conv2d(widths[0], CIRCLES, 1)
        self.register_buffer("place", torch.linspace(-1, 1, ROWS).view(1, 1, ROWS, 1))

    def forward(self, x: Tensor) -> Tensor:
        x = torch.cat([x, self.place.expand(x.shape[0], 1, ROWS, x.shape[3])], dim=1)
        levels = [self.first(self.stem(x))]
        for down in self.down:
            levels.append(down(levels[-1]))
        x = self.deep(levels.pop())
        x = x + self.whole(x.mean(dim=(2, 3)))[:, :, None, None]
        for up in self.up:
            skip = levels.pop()
            x = up(torch.cat([F.interpolate(x, scale_factor=2.0, mode="nearest"), skip], dim=1))
        return self.head(x)


class RingNet(UNet):
    """From (n, 3, ROWS, COLUMNS) to logits (n, CIRCLES, ROWS, COLUMNS / STRIDE)."""

    def __init__(self) -> None:
        super().__init__(3, (16, 24, 40, 56, 72))


def stretches(ellipses: Tensor) -> Tensor:
    """Symmetric matrices (..., 2, 2) that take the unit circle to the ellipses (..., 5)."""
    a, b, t = ellipses[..., 2], ellipses[..., 3], torch.deg2rad(ellipses[..., 4])
    cos, sin = torch.cos(t), torch.sin(t)
    turn = torch.stack([torch.stack([cos, -sin], -1), torch.stack([sin, cos], -1)], -2)
    return turn @ torch.diag_embed(torch.stack([a, b], -1)) @ turn.transpose(-1, -2)


def rough_outlines(circles: Tensor, *, gentle: bool = False) -> tuple[Tensor, Tensor]:
    """Centres (n, 2) and frames (n, 2, 2) of rough outer ellipses: the frame takes the unit circle to the picture."""
    n, kit = len(circles), {"device": circles.device}
    which = (torch.rand(n, **kit) < 0.4).long()
    base = circles[torch.arange(n, **kit), which]
    wild = torch.rand(n, **kit) < (0.0 if gentle else 0.3)
    scale = torch.where(wild, 0.82 + 0.33 * torch.rand(n, **kit), 1 + 0.015 * torch.randn(n, **kit))
    strain = 0.5 * torch.randn(n, 2, 2, **kit) * torch.where(wild, 0.03, 0.012)[:, None, None]
    strain = strain + strain.transpose(1, 2)
    s = stretches(base)
    s = (s + (s @ strain + strain @ s) / 2) * scale[:, None, None]
    shift = torch.randn(n, 2, **kit) * (base[:, 2] * torch.where(wild, 0.025, 0.008))[:, None]
    phase = 2 * math.pi * torch.rand(n, **kit)
    cos, sin = torch.cos(phase), torch.sin(phase)
    flip = torch.where(torch.rand(n, **kit) < 0.5, 1.0, -1.0)
    turn = torch.stack([torch.stack([cos, -sin * flip], -1), torch.stack([sin, cos * flip], -1)], -2)
    return base[:, :2] + shift, s @ turn


def directions(count: int, device: torch.device) -> Tensor:
    """Unit vectors (count, 2); the network's column j looks between input columns 2 j and 2 j + 1 at 2 j."""
    angle = torch.arange(count, device=device) * (2 * math.pi / count)
    return torch.stack([torch.cos(angle), torch.sin(angle)], -1)


def unwrapped(pictures: Tensor, centre: Tensor, frame: Tensor) -> Tensor:
    """Strips (n, 3, ROWS, COLUMNS) of pictures (n, 3, h, w)."""
    rho = torch.linspace(RHO_FIRST, RHO_LAST, ROWS, device=pictures.device)
    at = torch.einsum("nij,cj->nci", frame, directions(COLUMNS, pictures.device))
    points = centre[:, None, None] + rho[None, :, None, None] * at[:, None]
    size = torch.tensor([pictures.shape[3], pictures.shape[2]], device=pictures.device)
    grid = (points * 2 + 1) / size - 1
    return F.grid_sample(pictures, grid, mode="bilinear", padding_mode="zeros", align_corners=False)


def true_radii(circles: Tensor, centre: Tensor, frame: Tensor) -> Tensor:
    """Radius (n, CIRCLES, COLUMNS / STRIDE), in units of the rough ellipse, where each ray meets each circle."""
    ways = torch.einsum("nij,cj->nci", frame, directions(COLUMNS // STRIDE, circles.device))
    back = torch.linalg.inv(stretches(circles))
    from_centre = torch.einsum("nkij,nkj->nki", back, centre[:, None] - circles[..., :2])
    along = torch.einsum("nkij,ncj->nkci", back, ways)
    a = (along**2).sum(-1)
    b = (along * from_centre[:, :, None]).sum(-1)
    c = ((from_centre**2).sum(-1) - 1)[:, :, None]
    return (torch.sqrt((b * b - a * c).clamp(min=0)) - b) / a


def varied(strips: Tensor, radii: Tensor) -> Tensor:
    """Strips in other light, on other benches, through other lenses."""
    n, kit = len(strips), {"device": strips.device}

    def chance(p: float) -> Tensor:
        return (torch.rand(n, 1, 1, 1, **kit) < p).float()

    def even(low: float, high: float, channels: int = 1) -> Tensor:
        return low + (high - low) * torch.rand(n, channels, 1, 1, **kit)

    x = _other_ground(strips, radii, chance, even)
    x = _mirroring_ends(x, radii, chance, even)
    x = _shaded(x, chance, even)
    x = _covered(x, chance)
    x = x * torch.exp(0.12 * torch.randn(n, 3, 1, 1, **kit))
    grey = x.mean(1, keepdim=True)
    pale = even(0, 1) * chance(0.5)
    x = x * (1 - pale) + grey * pale
    x = torch.clamp(x * torch.exp(0.3 * torch.randn(n, 1, 1, 1, **kit)) + 0.05 * torch.randn(n, 1, 1, 1, **kit), 0, 1)
    x = torch.clamp(x, 1e-3, 1) ** torch.exp(0.35 * torch.randn(n, 1, 1, 1, **kit))
    soft = _blurred(x, even(0.6, 3.0) * chance(0.4) + 0.05)
    sharp = soft + (soft - _blurred(soft, even(1.0, 1.6))) * even(0.3, 1.6) * chance(0.3)
    noise = torch.randn_like(sharp)
    noise = torch.where(chance(0.5) > 0, noise, 1.6 * _blurred(noise, even(0.6, 1.0)))
    return torch.clamp(sharp + noise * even(0, 0.05) * chance(0.7), 0, 1)


def _other_ground(x: Tensor, radii: Tensor, chance, even) -> Tensor:
    """Blend the bench outside the OD and the hole inside the bore towards some colour."""
    rows = torch.linspace(RHO_FIRST, RHO_LAST, ROWS, device=x.device)[None, :, None]
    wide = radii.repeat_interleave(STRIDE, dim=2)
    outside = torch.sigmoid((rows - wide[:, 0, None]) / (0.5 * STEP))[:, None]
    inside = torch.sigmoid((wide[:, 3, None] - rows) / (0.5 * STEP))[:, None]
    for mask in (outside, inside):
        share = mask * even(0.2, 0.9) * chance(0.25)
        x = x * (1 - share) + (even(0, 0.8) + even(-0.1, 0.1, 3)) * share
    return x


def _mirroring_ends(x: Tensor, radii: Tensor, chance, even) -> Tensor:
    """Let the last part of a chamfer mirror what lies beyond it, as the steep end of a polished rounded one does."""
    rows = torch.arange(ROWS, device=x.device, dtype=torch.float32)[None, :, None]
    wide = ((radii - RHO_FIRST) / STEP).repeat_interleave(STRIDE, dim=2)
    for end, top, way in ((0, 1, 1.0), (3, 2, -1.0)):
        full = wide[:, end, None]
        band = (full - wide[:, top, None]).abs() * even(0.0, 0.45)[:, 0]
        depth = (full - rows) * way  # inside the edge: positive
        mask = torch.sigmoid(depth / 0.4) * torch.sigmoid((band - depth) / 0.4)
        source = (2 * full - rows).clamp(0, ROWS - 1)
        low = source.floor().long()
        part = (source - low)[:, None]
        mirrored = [x.gather(2, k.clamp(max=ROWS - 1)[:, None].expand(-1, 3, -1, -1)) for k in (low, low + 1)]
        image = (mirrored[0] * (1 - part) + mirrored[1] * part) * even(0.6, 1.0)
        share = mask[:, None] * even(0.4, 1.0) * chance(0.25)
        x = x * (1 - share) + image * share
    return x


def _shaded(x: Tensor, chance, even) -> Tensor:
    """Light that changes around the part and spots of light or dirt."""
    kit = {"device": x.device}
    angle = torch.arange(COLUMNS, **kit) * (2 * math.pi / COLUMNS)
    row = torch.linspace(-1, 1, ROWS, **kit)[None, None, :, None]
    for times in (1, 2, 3):
        x = x * (1 + even(0, 0.35) * chance(0.4) * torch.cos(times * angle - even(0, 6.283)))
    x = x * (1 + even(-0.3, 0.3) * chance(0.4) * row)
    turn = torch.arange(COLUMNS, **kit)[None, None, None, :] / COLUMNS
    for _ in range(4):
        off = torch.remainder(turn - even(0, 1) + 0.5, 1.0) - 0.5
        spot = torch.exp(-((off / even(0.01, 0.12)) ** 2) - ((row - even(-1, 1)) / even(0.02, 0.3)) ** 2)
        x = x + spot * even(-0.5, 0.9) * chance(0.3)
    return x.clamp(min=0)


def _covered(x: Tensor, chance) -> Tensor:
    """Lay sectors of another strip over some."""
    n, kit = len(x), {"device": x.device}
    other = x.roll(1, 0).roll(37, 3)
    column, row = torch.arange(COLUMNS, **kit)[None, None, None], torch.arange(ROWS, **kit)[None, None, :, None]
    for _ in range(2):
        first = torch.randint(0, COLUMNS, (n, 1, 1, 1), **kit)
        long = torch.randint(4, 56, (n, 1, 1, 1), **kit)
        low = torch.randint(-60, ROWS, (n, 1, 1, 1), **kit)
        high = torch.randint(20, 160, (n, 1, 1, 1), **kit)
        inside = ((column - first) % COLUMNS < long) & (row >= low) & (row < low + high)
        cover = inside.float() * chance(0.2)
        x = x * (1 - cover) + other * cover
    return x


def _blurred(x: Tensor, sigma: Tensor) -> Tensor:
    """Blur each strip along the radius by its own sigma (n, 1, 1, 1) in rows, and a quarter of it along the columns.

    As matrix products: a grouped convolution of such shapes takes ten times as long on a GPU.
    """
    rows, columns = (torch.arange(size, device=x.device, dtype=x.dtype) for size in x.shape[2:])
    apart = columns[:, None] - columns[None]
    apart = torch.minimum(apart.abs(), len(columns) - apart.abs())
    down = torch.softmax(-0.5 * ((rows[:, None] - rows[None]) / sigma) ** 2, dim=-1)
    along = torch.softmax(-0.5 * (apart / (0.25 * sigma)) ** 2, dim=-1)
    return down @ x @ along


def normalised(strips: Tensor) -> Tensor:
    """Zero mean and unit deviation over each strip."""
    mean = strips.mean(dim=(1, 2, 3), keepdim=True)
    spread = strips.std(dim=(1, 2, 3), keepdim=True)
    return (strips - mean) / (spread + 0.02)


def loss_of(logits: Tensor, radii: Tensor) -> Tensor:
    """Cross-entropy to a narrow Gaussian about the true radius, and how far the means are off, singly and all round.

    The Gaussian's width is known, so what the network's distributions are wider than it is its own doubt.
    """
    rows = torch.arange(ROWS, device=logits.device, dtype=torch.float32)[None, None, :, None]
    target = ((radii - RHO_FIRST) / STEP)[:, :, None]
    good = ((target > 0) & (target < ROWS - 1)).float()[:, :, 0]
    wanted = torch.exp(-0.5 * ((rows - target) / TARGET_ROWS) ** 2)
    wanted = wanted / wanted.sum(2, keepdim=True).clamp(min=1e-6)
    log_p = F.log_softmax(logits.float(), dim=2)
    cross = -(wanted * log_p).sum(2)
    mean = (log_p.exp() * rows).sum(2, keepdim=True)
    far = F.smooth_l1_loss(mean, target, reduction="none")[:, :, 0]
    all_round = (((mean - target)[:, :, 0] * good).sum(2) / good.sum(2).clamp(min=1)).abs().mean()
    return ((cross + 0.1 * far) * good).sum() / good.sum() + 0.15 * all_round


def load(folders: list[Path], device: torch.device) -> tuple[Tensor, Tensor, list[range]]:
    """All pictures and circles, and for each folder the places of its kept-out file, the first.

    The kept-out ones come first.
    """
    files = [sorted(folder.glob("*.npz")) for folder in folders]
    first = [np.load(of_folder[0]) for of_folder in files]
    ends = np.cumsum([0, *(len(p["circles"]) for p in first)])
    names = [of_folder[0] for of_folder in files] + [f for of_folder in files for f in of_folder[1:]]
    pictures, circles = [], []
    for name in names:
        with np.load(name) as part:
            pictures.append(torch.from_numpy(part["pictures"]).to(device))
            circles.append(torch.from_numpy(part["circles"]).to(device))
    return torch.cat(pictures), torch.cat(circles), [range(a, b) for a, b in pairwise(ends.tolist())]


def batch_of(pictures: Tensor, circles: Tensor, rows: Tensor, *, gentle: bool = False) -> tuple[Tensor, Tensor]:
    """Normalised strips and true radii for picture numbers."""
    centre, frame = rough_outlines(circles[rows], gentle=gentle)
    strips = unwrapped(pictures[rows].permute(0, 3, 1, 2).float() / 255, centre, frame)
    radii = true_radii(circles[rows], centre, frame)
    return normalised(strips if gentle else varied(strips, radii)), radii


def validate(net: Callable[[Tensor], Tensor], pictures: Tensor, circles: Tensor, held: range) -> str:
    """Errors all round of each circle, of bore less OD, and how they compare with the doubt, on unvaried strips.

    In thousandths of the rough radius: medians and 95th percentiles.
    """
    bias, doubt = [], []
    rows = torch.arange(ROWS, device=pictures.device, dtype=torch.float32)[None, None, :, None]
    with torch.no_grad(), torch.random.fork_rng():
        torch.manual_seed(7)
        for first in range(held.start, held.stop, 64):
            numbers = torch.arange(first, min(first + 64, held.stop), device=pictures.device)
            strips, radii = batch_of(pictures, circles, numbers, gentle=True)
            p = net(strips).float().softmax(2)
            mean = (p * rows).sum(2)
            wide = ((p * rows**2).sum(2) - mean**2).clamp(min=0).median(2).values
            bias.append((RHO_FIRST + STEP * mean - radii).mean(2))
            doubt.append(STEP * (wide - TARGET_ROWS**2).clamp(min=0.01).sqrt())
    off, sure = 1000 * torch.cat(bias), 1000 * torch.cat(doubt)
    ratio = (off[:, 3] - off[:, 0]).abs()
    z = (off / sure).abs()
    show = lambda t: [round(x, 2) for x in t.tolist()]  # noqa: E731
    return (
        f"all round {show(off.abs().median(0).values)} 95th {show(off.abs().quantile(0.95, 0))} bore-OD"
        f" {ratio.median():.2f} {ratio.quantile(0.95):.2f} doubt {show(sure.median(0).values)} error over doubt"
        f" {show(z.median(0).values)} 95th {show(z.quantile(0.95, 0))}"
    )


def train(given: argparse.Namespace) -> None:
    """Train for a time, with the learning rate falling to nothing at its end; the weights kept are a running mean."""
    torch.manual_seed(5)
    torch.set_float32_matmul_precision("high")
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    began, report = time.time(), []
    pictures, circles, held = load(given.data, device)
    net = RingNet().to(device, memory_format=torch.channels_last)
    if given.start is not None:
        net.load_state_dict(torch.load(given.start, map_location=device))
    steady = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    optimiser = torch.optim.AdamW(net.parameters(), lr=given.rate, weight_decay=1e-3, fused=device.type == "cuda")
    fast = torch.compile(net) if given.compile else net
    weights, first = sum(p.numel() for p in net.parameters()), held[-1].stop

    def tell(head: str, seen: Callable[[Tensor], Tensor]) -> None:
        report.append(head + " " + " | ".join(validate(seen, pictures, circles, part) for part in held))
        print(report[-1], flush=True)
        (given.out / "validation.txt").write_text("\n".join(report) + "\n", encoding="utf-8")

    print(f"{len(pictures) - first} pictures, {first} kept out, {weights} weights, {time.time() - began:.0f} s")
    for other in given.compare:
        tell(f"{other.name}", file_of(other, device))
    step, told = 0, time.time()
    while (spent := (time.time() - began) / given.seconds) < 1:
        rate = given.rate * min(1.0, (step + 1) / 200) * 0.5 * (1 + math.cos(math.pi * spent))
        for group in optimiser.param_groups:
            group["lr"] = rate
        loss = _step(fast, optimiser, batch_of(pictures, circles, _any(first, len(pictures), given.batch, device)))
        steady.update_parameters(net)
        step += 1
        if step in {20, 500} or step % 2000 == 0 or time.time() - told > given.every:
            told = time.time()
            tell(f"{step:6d} {time.time() - began:5.0f} s loss {loss.item():.3f}", steady.module.eval())
            export(steady.module, given.out)
    tell(f"{step:6d} end", steady.module.eval())
    export(steady.module, given.out)


def _any(first: int, end: int, count: int, device: torch.device) -> Tensor:
    return torch.randint(first, end, (count,), device=device)


def _step(net: Callable[[Tensor], Tensor], optimiser: torch.optim.Optimizer, batch: tuple[Tensor, Tensor]) -> Tensor:
    strips, radii = batch
    with torch.autocast(strips.device.type, torch.bfloat16, enabled=strips.is_cuda):
        logits = net(strips.contiguous(memory_format=torch.channels_last))
    loss = loss_of(logits, radii)
    optimiser.zero_grad(set_to_none=True)
    loss.backward()
    nn.utils.clip_grad_norm_(optimiser.param_groups[0]["params"], 1.0)
    optimiser.step()
    return loss.detach()


def file_of(path: Path, device: torch.device) -> Callable[[Tensor], Tensor]:
    """The network of an ONNX file, to be compared on the same kept-out pictures."""
    import onnxruntime

    session = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    return lambda strips: torch.from_numpy(session.run(None, {"strips": strips.cpu().numpy()})[0]).to(device)


def export(net: RingNet, out: Path) -> None:
    """Write the weights and the ONNX file."""
    net = copy.deepcopy(net).float().cpu().eval()
    torch.save(net.state_dict(), out / "ring_edges.pt")
    torch.onnx.export(
        net, (torch.zeros(1, 3, ROWS, COLUMNS),), str(out / "ring_edges.onnx"), input_names=["strips"],
        output_names=["logits"], opset_version=17, dynamo=False, dynamic_axes={"strips": {0: "n"}, "logits": {0: "n"}},
    )  # fmt: skip


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--data", type=Path, required=True, nargs="+", help="folders that traced.py and scenes.py wrote")
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seconds", type=float, default=240)
    ask.add_argument("--batch", type=int, default=128)
    ask.add_argument("--start", type=Path, help="weights (.pt) to go on from")
    ask.add_argument("--rate", type=float, default=3e-3, help="highest learning rate")
    ask.add_argument("--every", type=float, default=1e9, help="export at least each so many seconds")
    ask.add_argument("--compile", action="store_true", help="compile the network first (about a minute)")
    ask.add_argument("--compare", type=Path, nargs="*", default=[], help="ONNX files to score on the same pictures")
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    train(given)


if __name__ == "__main__":
    main()
