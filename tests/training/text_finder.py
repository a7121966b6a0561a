"""Train the finder of texts: from a whole straightened face to where texts stand on it and how high.

    python tests/training/text_finder.py --fonts FONTS --keep KEEP --out OUT --render 230 --seconds 560 --seed 61

Traces made-up parts with real text around them (mark_scenes.py) for ``--render`` seconds, their whole faces, develops
them on the GPU as a phone does, straightens each as the product does with a rough outer edge and bore, keeps them in
KEEP for a later run, and trains on all that lie there for the rest of ``--seconds``. Needs PyTorch with CUDA, nvcc and
onnx; the product needs none of them. OUT gets text_finder.onnx, text_finder.pt and validation.txt. FONTS is a folder of
font files; ``--held-fonts`` names another for the faces that are kept out.

What the network sees: grey values (n, 1, rows, columns), row 0 just beyond the outer edge, `RADIUS_ROWS` rows for the
outer radius and `COLUMNS` columns for one turn, both multiples of `GRAIN`; some columns of the turn are repeated at
both ends. What it answers (n, 3, rows / 2, columns / 2), for each place: the logit of "halfway up a text"; the
logarithm of its capitals' height by `USUAL_ROWS`; how far below the place their middle lies, by `USUAL_ROWS`.
"""

from __future__ import annotations

import argparse
import copy
import math
import sys
import time
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F  # noqa: N812  (its usual name)

sys.path.insert(0, str(Path(__file__).resolve().parent))

import mark_reader
import mark_scenes
import traced

RADIUS_ROWS, COLUMNS, GRAIN = 240, 816, 16
"""Half of what screener/vision/marks/face_strip.py straightens to."""
BEYOND = 0.02
KEPT_ROWS = 176
ROOM = 64
"""Columns repeated at both ends, so that text there is seen whole."""
USUAL_ROWS = 14.0
FINE = 2
"""The face is sampled this much finer and averaged, as the product does."""
FIELDS = ("theta", "span", "first", "middle", "last", "capital", "px")
MOST_TEXTS = mark_scenes.MOST_TEXTS


class Step(nn.Module):
    """Two convolutions about a short cut."""

    def __init__(self, inward: int, outward: int, stride: int = 1) -> None:
        super().__init__()
        self.first = nn.Sequential(
            nn.Conv2d(inward, outward, 3, stride, 1, bias=False), nn.BatchNorm2d(outward), nn.ReLU()
        )
        self.second = nn.Sequential(nn.Conv2d(outward, outward, 3, 1, 1, bias=False), nn.BatchNorm2d(outward))
        self.past = nn.Conv2d(inward, outward, 1)
        self.stride = stride

    def forward(self, x: Tensor) -> Tensor:
        past = F.avg_pool2d(x, self.stride) if self.stride > 1 else x
        return F.relu(self.second(self.first(x)) + self.past(past))


class FinderNet(nn.Module):
    """From grey values 0-255 (n, 1, rows, columns) to (n, 3, rows / 2, columns / 2)."""

    def __init__(self) -> None:
        super().__init__()
        self.stem = nn.Sequential(nn.Conv2d(3, 16, 3, 1, 1, bias=False), nn.BatchNorm2d(16), nn.ReLU())
        self.down = nn.ModuleList([Step(16, 32, 2), Step(32, 64, 2), Step(64, 96, 2), Step(96, 128, 2)])
        self.deepest = Step(128, 128)
        self.up = nn.ModuleList([Step(128 + 96, 96), Step(96 + 64, 64), Step(64 + 32, 32)])
        self.head = nn.Conv2d(32, 3, 1)

    def forward(self, x: Tensor) -> Tensor:
        x = self.stem(mark_reader.looks(x / 255))
        levels = []
        for step in self.down:
            x = step(x)
            levels.append(x)
        x = self.deepest(x)
        for step, beside in zip(self.up, reversed(levels[:-1]), strict=True):
            x = step(torch.cat([F.interpolate(x, scale_factor=2.0, mode="nearest"), beside], 1))
        return self.head(x)


# --- faces ---


def face_rings(made: list[mark_scenes.MarkedScene]) -> np.ndarray:
    """(n, 2, 5): a little beyond the outer edge and within the bore."""
    rings = np.stack([m.circles[[0, 3]] for m in made]).astype(np.float32)
    rings[:, 0, 2:4] *= 1.06
    rings[:, 1, 2:4] *= 0.9
    return rings


def faces(made: list[mark_scenes.MarkedScene], tracer: traced.Tracer, seed: int, device: torch.device) -> dict:
    """Trace, develop and straighten whole faces; ``places`` (n, MOST_TEXTS, fields of `FIELDS`), nan: no text."""
    n, side = len(made), mark_reader.FRAME.side_px
    grey, outer, inner = mark_reader.photographed(made, face_rings(made), tracer, seed, device)
    ratio = torch.sqrt(inner[:, 2] * inner[:, 3] / (outer[:, 2] * outer[:, 3]))
    r = 1 + BEYOND - torch.arange(KEPT_ROWS * FINE, device=device)[None] / (RADIUS_ROWS * FINE)
    r = torch.maximum(r, ratio[:, None])
    t = 2 * math.pi * torch.arange(COLUMNS * FINE, device=device) / (COLUMNS * FINE)
    kept = []
    for part in torch.arange(n, device=device).split(8):
        here = torch.broadcast_tensors(r[part][:, :, None], t[None, None])
        at = mark_reader.ring_points(outer[part], inner[part], here[0], here[1])
        seen = F.grid_sample(grey[part][:, None], (at * 2 + 1) / side - 1, padding_mode="border", align_corners=False)
        kept.append(F.avg_pool2d(seen, FINE)[:, 0].round().clamp(0, 255).to(torch.uint8))
    owner, rho, theta, ends = mark_reader.text_places(made, outer, inner)
    capital = torch.tensor([m.capital_share for m in made], device=device)[owner]
    px = capital * torch.sqrt(outer[owner, 2] * outer[owner, 3])
    places = torch.full((n, MOST_TEXTS, len(FIELDS)), float("nan"), device=device)
    nth = torch.cat([torch.arange(len(m.texts), device=device) for m in made])
    places[owner, nth] = torch.stack([theta[:, 0], ends, rho[:, 0], rho[:, 1], rho[:, 2], capital, px], 1)
    looks = torch.cat(kept)
    # Now and then a part lies in the dark: nothing is to be learned there.
    good = looks.float().flatten(1).std(1) > 2
    return {"faces": looks[good].cpu(), "places": places[good].cpu(), "texts": [""] * int(good.sum())}


# --- training ---


def load(names: list[Path], device: torch.device) -> dict:
    """All faces of some files."""
    parts = [torch.load(name) for name in names]
    return {k: torch.cat([p[k] for p in parts]).to(device) for k in ("faces", "places")}


def shown(data: dict, rows: Tensor, turn: Tensor, tall: float) -> Tensor:
    """Faces (k, 1, rows, COLUMNS + 2 ROOM), 0 to 255, turned by whole columns (k,) and ``tall`` times as high."""
    columns = (torch.arange(-ROOM, COLUMNS + ROOM, device=rows.device)[None] + turn[:, None]) % COLUMNS
    x = data["faces"][rows].float()
    x = torch.gather(x, 2, columns[:, None].expand(-1, x.shape[1], -1))[:, None]
    high = round(KEPT_ROWS * tall / GRAIN) * GRAIN
    return x if high == KEPT_ROWS else F.interpolate(x, (high, x.shape[3]), mode="bilinear", align_corners=False)


def wanted(data: dict, rows: Tensor, turn: Tensor, high: int) -> tuple[Tensor, Tensor, Tensor]:
    """What is to be answered for `shown`: (k, 3, high / 2, columns / 2), where text stands, where nothing counts."""
    kit, tall = {"device": rows.device}, high / KEPT_ROWS
    row = (2 * torch.arange(high // 2, **kit) + 0.5)[None, None, :, None]
    column = (2 * torch.arange(COLUMNS // 2 + ROOM, **kit) + 0.5)[None, :] - ROOM + turn[:, None]
    theta = (column * 2 * math.pi / COLUMNS)[:, None, None, :]
    field = {name: data["places"][rows][:, :, i, None, None] for i, name in enumerate(FIELDS)}
    along = torch.remainder(theta - field["theta"] + math.pi - field["span"] / 2, 2 * math.pi)
    along = along - math.pi + field["span"] / 2
    u = (along / field["span"].clamp(min=1e-3) * 2 - 1).clamp(-1.3, 1.3)
    bend = (field["first"] + field["last"]) / 2 - field["middle"]
    rho = field["middle"] + (field["last"] - field["first"]) / 2 * u + bend * u * u
    middle = ((1 + BEYOND - rho) * RADIUS_ROWS + 0.5) * tall - 0.5
    capital = field["capital"] * RADIUS_ROWS * tall
    off = (middle - row) / capital
    slack = 0.25 * field["capital"] / field["middle"]
    inside = (along > -slack) & (along < field["span"] + slack)
    well_inside = (along > 0) & (along < field["span"])
    core = well_inside & (off.abs() < 0.27)
    unsure = inside & (off.abs() < 0.42) & ~core
    which = core.float().argmax(1, keepdim=True)
    pick = lambda v: torch.gather(v.expand_as(off), 1, which)  # noqa: E731
    answer = torch.cat(
        [core.any(1, keepdim=True).float(), pick(torch.log(capital / USUAL_ROWS)), pick((middle - row) / USUAL_ROWS)],
        1,
    )  # fmt: skip
    text = core.any(1, keepdim=True)
    ends = torch.ones(answer.shape[3], dtype=torch.bool, **kit)
    ends[ROOM // 2 : -ROOM // 2] = False
    return answer, text, (unsure.any(1, keepdim=True) & ~text) | ends


def loss_of(out: Tensor, answer: Tensor, text: Tensor, nothing: Tensor) -> Tensor:
    """Places of text against the others, and what is said of the text."""
    counts = (~nothing).float()
    weight = counts * torch.where(text, 3.0, 1.0)
    found = (F.binary_cross_entropy_with_logits(out[:, :1], answer[:, :1], reduction="none") * weight).sum()
    found = found / counts.sum()
    inked = text & ~nothing
    sure = inked.float()
    say = F.smooth_l1_loss(out[:, 1:], answer[:, 1:].nan_to_num(), beta=0.1, reduction="none") * sure
    return found + 0.1 * say.sum() / sure.sum().clamp(min=1)


def validate(net: nn.Module, data: dict, batch: int = 32) -> str:
    """Texts found, by the height of their capitals in the picture, and places found beside texts."""
    found: dict[str, list[bool]] = {}
    heights: list[Tensor] = []
    spare = inked = 0.0
    with torch.no_grad():
        for rows in torch.arange(len(data["faces"]), device=data["faces"].device).split(batch):
            turn = torch.zeros(len(rows), dtype=torch.long, device=rows.device)
            x = shown(data, rows, turn, 1.0)
            out = net(x)
            answer, text, nothing = wanted(data, rows, turn, x.shape[2])
            said = (out[:, :1] > 0) & ~nothing
            spare += float((said & ~text).sum())
            inked += float((text & ~nothing).sum())
            hit = said & text
            heights.append((out[:, 1:2] - answer[:, 1:2])[hit].abs())
            for i, face in enumerate(rows.tolist()):
                for place in data["places"][face]:
                    if torch.isnan(place[0]):
                        continue
                    alone = {"places": place[None, None]}
                    mine = wanted(alone, torch.zeros(1, dtype=torch.long, device=rows.device), turn[:1], x.shape[2])[1]
                    px = float(place[FIELDS.index("px")])
                    name = "<11" if px < 11 else "11-14" if px < 14 else "14-20" if px < 20 else ">20"
                    share = float((said[i] & mine[0]).sum() / mine.sum().clamp(min=1))
                    found.setdefault(name, []).append(share > 0.6)
    line = "  ".join(f"{k} {np.mean(v):.3f} of {len(v)}" for k, v in sorted(found.items()))
    return f"{line}  log height {torch.cat(heights).mean():.3f}  beside {spare / max(1.0, inked):.3f}"


def fit(given: argparse.Namespace, began: float) -> None:
    """Train the finder."""
    device = mark_reader.train_device()
    data, held = mark_reader.split(given, load, device)
    print(f"{len(data['faces'])} faces, {time.time() - began:.0f} s", flush=True)
    dice = np.random.default_rng(given.seed)

    def loss_of_a_batch(net: nn.Module) -> Tensor:
        rows = torch.randint(len(data["faces"]), (given.batch,), device=device)
        turn = torch.randint(COLUMNS // 2, (given.batch,), device=device) * 2
        x = shown(data, rows, turn, float(dice.uniform(0.8, 1.3)))
        answer, text, nothing = wanted(data, rows, turn, x.shape[2])
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            out = net(mark_reader.varied(x).to(memory_format=torch.channels_last))
        return loss_of(out.float(), answer, text, nothing)

    telling = mark_reader.Telling(held, validate, export)
    mark_reader.train_for_the_rest(FinderNet(), given, began, loss_of_a_batch, telling)


def export(net: nn.Module, out: Path) -> None:
    """Write the weights and the ONNX file."""
    net = copy.deepcopy(net).float().cpu().eval().to(memory_format=torch.contiguous_format)
    torch.save(net.state_dict(), out / "text_finder.pt")
    file = out / "text_finder.onnx"
    torch.onnx.export(
        net, (torch.zeros(1, 1, KEPT_ROWS, COLUMNS + 2 * ROOM),), str(file), input_names=["grey"],
        output_names=["places"], opset_version=17, dynamo=False,
        dynamic_axes={"grey": {2: "rows", 3: "columns"}, "places": {2: "rows", 3: "columns"}},
    )  # fmt: skip
    mark_reader.halve(file)


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    mark_reader.ask_for_all(ask, "faces")
    ask.add_argument("--batch", type=int, default=48)
    given = ask.parse_args()
    began = time.time()
    mark_reader.render_all(given, faces, began)
    fit(given, began)


if __name__ == "__main__":
    main()
