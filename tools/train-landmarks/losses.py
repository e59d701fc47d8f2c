"""Loss of the landmark network, and the decoding of heat maps that it and the product share."""
import math

import torch
from torch.nn import functional as F

import contract
import network
from augment import IGNORED_CLASS

TARGET_SIGMA = 1.2  # cells, the Gaussian that a heat map should be
HIDDEN_WEIGHT = 0.3  # of a landmark that is on the head but not seen
HEATMAP_WEIGHT = 1.0
POSITION_WEIGHT = 0.5
PRESENCE_WEIGHT = 0.5
DENSE_WEIGHT = 1.0
CLASS_WEIGHT = 0.3
BACKGROUND_WEIGHT = 0.3
FACING_WEIGHT = 0.2
TERMS = ("heatmap", "position", "presence", "dense", "classes", "facing")
# The position's likelihood joins in while the maps form (shares of the schedule).
POSITION_RAMP = (0.02, 0.08)

M, CELL, REACH = contract.MAP_SIZE, contract.CELL, contract.WINDOW // 2


def decode_positions(heatmaps):
    """Position of each landmark in input pixels, N x 63 x 2, differentiable in the logits.

    Expectation of the softmax over the 5 x 5 cells about the largest logit (the first such cell, row by row), those
    outside the map left out.
    """
    count, landmarks = heatmaps.shape[:2]
    flat = heatmaps.reshape(count, landmarks, M * M)
    best = flat.detach().argmax(2)
    steps = torch.arange(-REACH, REACH + 1, device=flat.device)
    x = (best % M)[:, :, None] + steps.repeat(contract.WINDOW)
    y = torch.div(best, M, rounding_mode="floor")[:, :, None] + steps.repeat_interleave(contract.WINDOW)
    inside = (x >= 0) & (x < M) & (y >= 0) & (y < M)
    cells = y.clamp(0, M - 1) * M + x.clamp(0, M - 1)
    logits = flat.gather(2, cells).masked_fill(~inside, -math.inf)
    weights = torch.softmax(logits, 2)
    centres = torch.stack((x, y), 3).to(weights.dtype) * CELL + CELL / 2
    return (weights[..., None] * centres).sum(2)


def laplace(error, log_scale):
    """Negative log-likelihood of a Laplace distribution, up to a constant."""
    return error.abs() * torch.exp(-log_scale) + log_scale


def heatmap_cross_entropy(heatmaps, position):
    """Cross-entropy of each heat map's softmax to a Gaussian at the true position, N x 63."""
    cells = torch.arange(M, device=heatmaps.device) + 0.5
    offsets = (cells - position[..., None] / CELL) / TARGET_SIGMA
    target = torch.softmax(-0.5 * offsets * offsets, 3)  # N x 63 x (x, y) x 64
    along_x = torch.matmul(heatmaps, target[:, :, 0, :, None])[..., 0]
    return torch.logsumexp(heatmaps.flatten(2), 2) - (along_x * target[:, :, 1]).sum(2)


def mean_over(values, weights):
    return (values * weights).sum() / weights.sum().clamp_min(1.0)


def loss_terms(outputs, batch, progress):
    """Weighted terms of the loss by name; their sum is the loss. progress: share of the schedule that is over."""
    weight = batch["visible"].float() + HIDDEN_WEIGHT * (batch["present"] & ~batch["visible"]).float()
    heat = heatmap_cross_entropy(outputs["heatmaps"], batch["position"])
    log_scale = outputs["scales"].clamp(*network.LOG_SCALE_PIXELS)
    error = decode_positions(outputs["heatmaps"]) - batch["position"]
    ramp = min(1.0, max(0.0, (progress - POSITION_RAMP[0]) / (POSITION_RAMP[1] - POSITION_RAMP[0])))
    presence = F.binary_cross_entropy_with_logits(outputs["presence"], batch["visible"].float())

    atlas_log_scale = outputs["dense"][:, 3:4].clamp(*network.LOG_SCALE_ATLAS)
    dense = laplace(outputs["dense"][:, :3] - batch["atlas"], atlas_log_scale).sum(1)
    class_weights = torch.ones(len(contract.CLASSES), device=heat.device)
    class_weights[0] = BACKGROUND_WEIGHT
    classes = F.cross_entropy(outputs["classes"], batch["classes"], class_weights, ignore_index=IGNORED_CLASS)
    facing = F.binary_cross_entropy_with_logits(outputs["facing"][:, 0], batch["facing"])
    return {
        "heatmap": HEATMAP_WEIGHT * mean_over(heat, weight),
        "position": POSITION_WEIGHT * ramp * mean_over(laplace(error, log_scale[..., None]).sum(2), weight),
        "presence": PRESENCE_WEIGHT * presence,
        "dense": DENSE_WEIGHT * mean_over(dense, batch["atlas_valid"].float()),
        "classes": CLASS_WEIGHT * classes,
        "facing": FACING_WEIGHT * facing,
    }
