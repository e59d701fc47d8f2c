"""Going on from a released model: batch norm is folded in it, so it is put between the network's layers anew."""
import json
from pathlib import Path

import onnx
import torch
import torch.distributed as dist
from onnx import numpy_helper

import contract

BATCHES = 4  # of each process, over which batch norms measure what goes into them


def load(model, path):
    """Loads model.onnx of export.py (its model.json beside it) into a network of the same shape.

    Batch norms do nothing but add the folded bias until `settle` has measured their inputs; in evaluation the network
    computes what the model does, before and after. ValueError names the weight that is missing or has another shape.
    """
    description = json.loads(Path(path).with_name("model.json").read_text())
    if description["contract"] != contract.SHA256:
        raise ValueError(f"{path}: made for contract {description['contract']}, this is {contract.SHA256}")
    stored = {w.name: torch.from_numpy(numpy_helper.to_array(w).copy()) for w in onnx.load(str(path)).graph.initializer}

    def take(name, target):
        if name not in stored or stored[name].shape != target.shape:
            raise ValueError(f"{path}: '{name}' should be {tuple(target.shape)}, is {tuple(stored[name].shape) if name in stored else None}")
        target.copy_(stored[name])

    with torch.no_grad():
        for name, module in _normed(model):
            take(name + ".weight", module.conv.weight)
            take(name + ".bias", module.norm.bias)
            _rescale(module)
        for name in ("heat", "dense", "classes", "local"):
            take(name + ".weight", getattr(model, name).weight)
            take(name + ".bias", getattr(model, name).bias)
        for name in ("pooled", "at_landmark", "facing"):
            take(name + ".weight", getattr(model, name).weight.t())
            take(name + ".bias", getattr(model, name).bias)
        for name, parameter in (("landmark_bias", model.landmark_bias), ("peak_gain", model.peak_gain),
                                ("scales.weight", model.scale_weight), ("scales.bias", model.scale_bias),
                                ("presence.weight", model.presence_weight), ("presence.bias", model.presence_bias)):
            take(name, parameter)


@torch.no_grad()
def settle(model, batches):
    """Gives every batch norm the mean and variance of its own input over batches of images, and the gain and bias that
    undo both, so that the network in evaluation stays what it was. All processes of a training measure together."""
    norms = [m for m in model.modules() if isinstance(m, torch.nn.BatchNorm2d)]
    sums = {norm: torch.zeros(3, norm.num_features, dtype=torch.float64, device=norm.weight.device) for norm in norms}

    def measure(norm, inputs):
        x = inputs[0].double()
        sums[norm] += torch.stack((torch.full_like(sums[norm][0], x[:, 0].numel()), x.sum((0, 2, 3)), x.square().sum((0, 2, 3))))

    hooks = [norm.register_forward_pre_hook(measure) for norm in norms]
    training = model.training
    model.eval()
    for images in batches:
        model(images)
    model.train(training)
    for hook in hooks:
        hook.remove()
    for norm in norms:
        if dist.is_available() and dist.is_initialized():
            dist.all_reduce(sums[norm])
        count, total, squares = sums[norm]
        mean = total / count
        variance = (squares / count - mean.square()).clamp_min(0)
        gain = norm.weight.double() / torch.sqrt(norm.running_var.double() + norm.eps)
        norm.bias.copy_(norm.bias.double() + (mean - norm.running_mean.double()) * gain)
        norm.weight.copy_(gain * torch.sqrt(variance + norm.eps))
        norm.running_mean.copy_(mean)
        norm.running_var.copy_(variance)


def _rescale(module):
    """Brings each filter to the length of a new one, so that a step turns it as far as one; the norm undoes it."""
    weight = module.conv.weight
    lengths = weight.flatten(1).norm(dim=1)
    wanted = (2 * weight.shape[1] / weight.shape[0]) ** 0.5
    factors = torch.where(lengths > 1e-6 * wanted, wanted / lengths, torch.ones_like(lengths))
    weight.mul_(factors[:, None, None, None])
    module.norm.running_mean.zero_()
    module.norm.running_var.fill_(1)
    module.norm.weight.copy_((1 + module.norm.eps) ** 0.5 / factors)


def _normed(model):
    """(name in the graph that export.py builds, layer) of every layer with batch norm."""
    yield "stem", model.stem
    for i, (down, encode) in enumerate(zip(model.down, model.encode)):
        yield f"down{i}", down
        for j, block in enumerate(encode):
            yield from _both(f"encode{i}.{j}", block)
    for i, (lift, skip, decode) in enumerate(zip(model.lift, model.skip, model.decode)):
        yield f"lift{i}", lift
        yield f"skip{i}", skip
        yield from _both(f"decode{i}", decode)
    yield "heat_features", model.heat_features
    yield "dense_features", model.dense_features


def _both(name, block):
    yield name + ".first", block.first
    yield name + ".second", block.second
