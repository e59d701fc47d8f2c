"""Random changes to a decoded batch, on its own device: mirror image, depth, noise, blur, cut-outs.

A batch is in random order, so "30 % of the views" are simply its first ones from a random offset: no index lists.
"""
import torch
from torch.nn import functional as F

import contract

DEPTH_GAIN = 0.05
DEPTH_OFFSET = 0.1
CUT_SHARE = 0.30
CUT_SIDE = (0.08, 0.45)  # of the image's side
NORMAL_NOISE_SHARE = 0.40
NORMAL_NOISE = 0.10
BLUR_SHARE = 0.15
BORDER_DROP_SHARE = 0.30
IGNORED_CLASS = -1

MIRROR = torch.tensor(contract.mirror_permutation())
_SIGNS = torch.ones(len(contract.CHANNELS))
_SIGNS[contract.CHANNELS.index("normal_x")] = -1


def augment(batch, probability_mirror=0.5):
    """Changes a batch of records.decode and returns it."""
    mirror(batch, torch.rand(batch["images"].shape[0], device=batch["images"].device) < probability_mirror)
    images = batch["images"]
    count = images.shape[0]
    vary_depth(images)
    blur(images[:round(BLUR_SHARE * count)])
    noisy = round(NORMAL_NOISE_SHARE * count)
    add_normal_noise(images[count - noisy:])
    dropped = round(BORDER_DROP_SHARE * count)
    start = int(torch.randint(0, count - dropped + 1, ()))
    images[start:start + dropped, 5] = 0
    cut(batch, round(CUT_SHARE * count))
    return batch


def mirror(batch, chosen):
    """Mirrors the chosen views (B bool) left to right, with their labels."""
    device = chosen.device
    pick = chosen[:, None, None, None]
    images = batch["images"]
    batch["images"] = torch.where(pick, images.flip(3) * _SIGNS.to(device)[None, :, None, None], images)
    batch["classes"] = torch.where(chosen[:, None, None], batch["classes"].flip(2), batch["classes"])
    batch["atlas_valid"] = torch.where(chosen[:, None, None], batch["atlas_valid"].flip(2), batch["atlas_valid"])
    negate_x = torch.tensor([-1.0, 1.0, 1.0], device=device)[None, :, None, None]
    batch["atlas"] = torch.where(pick, batch["atlas"].flip(3) * negate_x, batch["atlas"])

    order = MIRROR.to(device)
    position = batch["position"]
    mirrored = position[:, order] * torch.tensor([-1.0, 1.0], device=device)
    mirrored = mirrored + torch.tensor([float(contract.INPUT_SIZE), 0.0], device=device)
    batch["position"] = torch.where(chosen[:, None, None], mirrored, position)
    for name in ("depth", "present", "visible"):
        batch[name] = torch.where(chosen[:, None], batch[name][:, order], batch[name])


def vary_depth(images):
    """Scales and shifts the depth of each view's foreground, in place."""
    count, device = images.shape[0], images.device
    gain = 1 + DEPTH_GAIN * (2 * torch.rand(count, 1, 1, device=device) - 1)
    offset = DEPTH_OFFSET * (2 * torch.rand(count, 1, 1, device=device) - 1)
    images[:, 0] = (images[:, 0] * gain + offset) * images[:, 4]


def blur(images):
    """Averages depth and normals over 3 x 3 pixels within the foreground, in place."""
    if images.shape[0] == 0:
        return
    mask = images[:, 4:5]
    covered = F.avg_pool2d(mask, 3, 1, 1).clamp_min(1e-6)
    smooth = F.avg_pool2d(images[:, 0:4] * mask, 3, 1, 1) / covered
    smooth[:, 1:4] = F.normalize(smooth[:, 1:4], dim=1)
    images[:, 0:4] = smooth * mask


def add_normal_noise(images):
    """Adds noise of a random strength to the normals of each view, in place; they stay unit vectors."""
    if images.shape[0] == 0:
        return
    strength = NORMAL_NOISE * torch.rand(images.shape[0], 1, 1, 1, device=images.device)
    normals = images[:, 1:4] + strength * torch.randn_like(images[:, 1:4])
    images[:, 1:4] = F.normalize(normals, dim=1) * images[:, 4:5]


def cut(batch, count):
    """Empties one rectangle of each of the last `count` views; what it held is neither visible nor labelled."""
    if count == 0:
        return
    images = batch["images"][-count:]
    device, size = images.device, contract.INPUT_SIZE
    side = torch.empty(count, 2, device=device).uniform_(*CUT_SIDE) * size
    low = torch.rand(count, 2, device=device) * (size - side)
    high = low + side

    def within(cells):
        centres = (torch.arange(cells, device=device) + 0.5) * (size / cells)
        x = (centres >= low[:, :1]) & (centres < high[:, :1])
        y = (centres >= low[:, 1:]) & (centres < high[:, 1:])
        return y[:, :, None] & x[:, None, :]

    images *= ~within(size)[:, None]
    cells = within(contract.MAP_SIZE)
    batch["classes"][-count:].masked_fill_(cells, IGNORED_CLASS)
    batch["atlas_valid"][-count:] &= ~cells
    position = batch["position"][-count:]
    hidden = ((position >= low[:, None]) & (position < high[:, None])).all(2)
    batch["visible"][-count:] &= ~hidden
