"""The head finder: where heads are in a view of all of a mesh, from any side, how large and how turned.

Output "map", N x 12 x 32 x 32, a column of 12 numbers for each cell of 8 x 8 pixels (finder-contract.txt, of which the
product has the same text and refuses a model with another's hash):
0 logit that the middle between the eye centres lies here; 1-3 front, 4-6 up of the head, view space, not normalised;
7, 8 offset of that middle from the cell's centre in pixels / 8, x right, y down; 9 log(interocular distance / half size);
10 depth of that middle / half size; 11 log scale of the error of front and up.
"""
import hashlib
import math
from pathlib import Path

import torch
from torch import nn
from torch.nn import functional as F

import contract
import export
from network import ConvNorm, Residual, encoded, initialise

CONTRACT = hashlib.sha256((Path(__file__).parent / "finder-contract.txt").read_bytes()).hexdigest()
STEM = 16
ENCODER = (32, 64, 96, 128)  # channels at stride 4, 8, 16, 32
BLOCKS = (1, 1, 2, 2)
CELL, CELLS = 8, contract.INPUT_SIZE // 8
CHANNELS = 12
LOG_SCALE = (-4.0, 1.0)
POSITIVE = 0.6  # of the target, from which on a cell's other numbers are learned


class HeadFinder(nn.Module):
    """Views (N x 6 x 256 x 256) to the map above."""

    def __init__(self):
        super().__init__()
        self.stem = ConvNorm(len(contract.CHANNELS), STEM, size=5, stride=2)
        widths = (STEM,) + ENCODER
        self.down = nn.ModuleList(ConvNorm(a, b, stride=2) for a, b in zip(widths, widths[1:]))
        self.encode = nn.ModuleList(nn.Sequential(*(Residual(c) for _ in range(n))) for c, n in zip(ENCODER, BLOCKS))
        self.lift = nn.ModuleList(ConvNorm(a, b, size=1, relu=False) for a, b in zip(ENCODER[2:], ENCODER[1:]))
        self.decode = nn.ModuleList(Residual(c) for c in ENCODER[1:3])
        self.features = ConvNorm(ENCODER[1], ENCODER[1])
        self.map = nn.Conv2d(ENCODER[1], CHANNELS, 1)
        initialise(self)
        nn.init.normal_(self.map.weight, std=0.01)
        nn.init.zeros_(self.map.bias)
        with torch.no_grad():
            self.map.bias[0] = -4.0
            self.map.bias[9] = -1.5

    def forward(self, views):
        levels = encoded(self, views)
        x = levels[-1]
        for i in (1, 0):
            lifted = F.interpolate(self.lift[i](x), scale_factor=2.0, mode="nearest")
            x = self.decode[i](F.relu(lifted + levels[i + 1]))
        return self.map(self.features(x)).float()


def build(model):
    """ONNX model of a HeadFinder, node by node as export.build."""
    g = export.Graph()
    levels = g.encoder(model)
    x = levels[-1]
    twice = g.weight("twice", [1, 1, 2, 2])
    for i in (1, 0):
        lifted = g.add("Resize", [g.norm(f"lift{i}", x, model.lift[i]), "", twice], mode="nearest",
                       coordinate_transformation_mode="asymmetric", nearest_mode="floor")
        x = g.residual(f"decode{i}", g.add("Relu", [g.add("Add", [lifted, levels[i + 1]])]), model.decode[i])
    g.plain("map", g.norm("features", x, model.features), model.map, "map")
    return export.onnx_model(g, "head-finder", {"map": [CHANNELS, CELLS, CELLS]})


def turn(images, frame):
    """A batch seen anew at random, each view mirrored or not and turned by a multiple of 90 degrees, with its head frame
    (B x 13, see RecordLayout)."""
    size = contract.INPUT_SIZE
    flip = torch.rand(images.shape[0], device=images.device) < 0.5
    signs = torch.ones(len(contract.CHANNELS), 1, 1, device=images.device)
    signs[contract.CHANNELS.index("normal_x")] = -1
    images = torch.where(flip[:, None, None, None], images.flip(3) * signs, images)
    # The mirror image of the subject's right is the mirrored subject's left.
    mirrored = frame * torch.tensor([1.0, -1, -1, -1, 1, 1, -1, 1, 1, -1, 1, 1, 1], device=frame.device)
    mirrored[:, 9] += size
    frame = torch.where(flip[:, None], mirrored, frame)

    images, frame = images.clone(), frame.clone()
    x, y = contract.CHANNELS.index("normal_x"), contract.CHANNELS.index("normal_y")
    for quarter, part in enumerate(torch.arange(images.shape[0], device=images.device).chunk(4)):
        for _ in range(quarter):  # counter-clockwise: (x, y) becomes (-y, x), y up
            seen, known = torch.rot90(images[part], 1, (2, 3)), frame[part]
            turned = seen.clone()
            turned[:, x], turned[:, y] = -seen[:, y], seen[:, x]
            images[part] = turned
            moved = known.clone()
            for axis in (0, 3, 6):
                moved[:, axis], moved[:, axis + 1] = -known[:, axis + 1], known[:, axis]
            moved[:, 9], moved[:, 10] = known[:, 10], size - known[:, 9]
            frame[part] = moved
    return images, frame


def target(frame, is_head):
    """Target of channel 0 (B x 32 x 32): a bump about the middle between the eyes, as wide as its place may be off."""
    centres = (torch.arange(CELLS, device=frame.device) + 0.5) * CELL
    interocular = frame[:, 12] * (contract.INPUT_SIZE / 2)
    sigma = (0.3 * interocular).clamp(0.8 * CELL, 3 * CELL)[:, None, None]
    # Measured from the centre of the cell that holds it, so that one cell has 1.
    at = ((frame[:, 9:11] / CELL).floor() + 0.5) * CELL
    squares = (centres[None, None, :] - at[:, 0, None, None]).square() + (centres[None, :, None] - at[:, 1, None, None]).square()
    return torch.exp(-0.5 * squares / sigma.square()) * is_head[:, None, None]


def loss_terms(out, frame, is_head):
    """Losses by name. frame: B x 13; is_head: B bool."""
    size = contract.INPUT_SIZE
    inside = ((frame[:, 9:11] >= 0) & (frame[:, 9:11] < size)).all(1)
    hot = target(frame, is_head & inside)
    logit = out[:, 0]
    probability = torch.sigmoid(logit)
    # Penalty-reduced focal loss (Law and Deng 2018, section 3.2).
    peak = hot > 0.999
    positive = peak * (1 - probability).square() * F.softplus(-logit)
    negative = ~peak * (1 - hot).pow(4) * probability.square() * F.softplus(logit)
    presence = (positive.sum() + negative.sum()) / peak.sum().clamp_min(1)

    weight = torch.where(hot > POSITIVE, hot, torch.zeros_like(hot))
    total = weight.sum().clamp_min(1)
    centres = (torch.arange(CELLS, device=out.device) + 0.5) * CELL
    interocular = frame[:, 12, None, None].clamp_min(1e-3)

    def mean(values):
        return (values * weight).sum() / total

    aims = [(out[:, first:first + 3] - frame[:, at:at + 3, None, None]).square().sum(1) for first, at in ((1, 6), (4, 3))]
    distance = (aims[0] + aims[1] + 1e-6).sqrt()
    scale = out[:, 11].clamp(*LOG_SCALE)
    across = (out[:, 7] - (frame[:, 9, None, None] - centres[None, None, :]) / CELL).abs()
    down = (out[:, 8] - (frame[:, 10, None, None] - centres[None, :, None]) / CELL).abs()
    pixels = interocular * (size / 2) / CELL
    return {
        "presence": presence,
        "turn": mean(distance * torch.exp(-scale) + scale + distance),
        "place": mean(((across + down) / pixels).clamp(max=4)),
        "size": mean((out[:, 9] - interocular.log()).abs()) * 2,
        "depth": mean(((out[:, 10] - frame[:, 11, None, None]).abs() / interocular).clamp(max=4)) * 0.5,
    }


def proposals(out):
    """Best proposal of each view, B x 14: frame as in the record, without left, then score and scale of the turn's error."""
    batch = out.shape[0]
    score, cell = out[:, 0].flatten(1).max(1)
    column = out.flatten(2)[torch.arange(batch, device=out.device), :, cell]
    x = (cell % CELLS + 0.5 + column[:, 7]) * CELL
    y = (cell // CELLS + 0.5 + column[:, 8]) * CELL
    front = F.normalize(column[:, 1:4], dim=1)
    up = F.normalize(column[:, 4:7] - front * (front * column[:, 4:7]).sum(1, keepdim=True), dim=1)
    return torch.cat((front, up, x[:, None], y[:, None], column[:, 10:11], column[:, 9:10].exp(), torch.sigmoid(score)[:, None],
                      column[:, 11:12]), 1)


def errors(found, frame):
    """(turn in degrees, distance in interocular distances, |log size|) of proposals."""
    front = (found[:, 0:3] * frame[:, 6:9]).sum(1)
    up = (found[:, 3:6] * frame[:, 3:6]).sum(1)
    left = (torch.cross(found[:, 3:6], found[:, 0:3], dim=1) * frame[:, 0:3]).sum(1)
    angle = torch.acos(((front + up + left - 1) / 2).clamp(-1, 1)) * (180 / math.pi)
    half = contract.INPUT_SIZE / 2
    away = torch.stack(((found[:, 6] - frame[:, 9]) / half, (found[:, 7] - frame[:, 10]) / half, found[:, 8] - frame[:, 11]), 1)
    size = frame[:, 12].clamp_min(1e-6)
    return angle, away.norm(dim=1) / size, (found[:, 9] / size).log().abs()
