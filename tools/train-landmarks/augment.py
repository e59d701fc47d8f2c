"""Random changes to a decoded batch, on its own device: mirror image, depth, noise, blur, cut-outs.

A batch is in random order, so "30 % of the views" are simply its first ones from a random offset: no index lists.
"""
import functools

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


@functools.lru_cache(None)
def _mirror_constants(device):
    """Landmark order, signs of the planes, signs of the atlas, factor and offset of positions; made once for a device, as
    a copy from the host would hold up each step."""
    signs = torch.ones(1, len(contract.CHANNELS), 1, 1)
    signs[0, contract.CHANNELS.index("normal_x")] = -1
    constants = (torch.tensor(contract.mirror_permutation()), signs, torch.tensor([-1.0, 1.0, 1.0])[None, :, None, None],
                 torch.tensor([-1.0, 1.0]), torch.tensor([float(contract.INPUT_SIZE), 0.0]))
    return tuple(c.to(device) for c in constants)


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
    order, signs, atlas_signs, factor, offset = _mirror_constants(chosen.device)
    pick = chosen[:, None, None, None]
    images = batch["images"]
    batch["images"] = torch.where(pick, images.flip(3) * signs, images)
    batch["classes"] = torch.where(chosen[:, None, None], batch["classes"].flip(2), batch["classes"])
    batch["atlas_valid"] = torch.where(chosen[:, None, None], batch["atlas_valid"].flip(2), batch["atlas_valid"])
    batch["atlas"] = torch.where(pick, batch["atlas"].flip(3) * atlas_signs, batch["atlas"])

    position = batch["position"]
    batch["position"] = torch.where(chosen[:, None, None], position[:, order] * factor + offset, position)
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


def coarsen(images, size):
    """What views (N x 6 x 256 x 256) of fewer pixels would show, at the old size: means over size x size pixels."""
    return images if size == 1 else F.interpolate(F.avg_pool2d(images, size), scale_factor=float(size), mode="nearest")


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
