#!/usr/bin/env python3
"""Writes a trained network as model.onnx (opset 17, batch norm folded), model.json and decode samples.

The graph is written node by node, not traced, so that it doesn't depend on an exporter's version.
"""
import argparse
import hashlib
import json
import os
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

import contract
import losses
import network

OPSET, IR_VERSION = 17, 8
MAX_MODEL_BYTES = 16_000_000
# Largest difference between PyTorch and ONNX Runtime, both in float32, over an output's largest magnitude.
AGREEMENT = 2e-4
SAMPLE_MAPS = 12


class Graph:
    """Collects nodes and weights."""

    def __init__(self):
        self.nodes, self.weights = [], {}

    def add(self, operation, inputs, output=None, **attributes):
        output = output or f"t{len(self.nodes)}"
        self.nodes.append(helper.make_node(operation, list(inputs), [output], **attributes))
        return output

    def weight(self, name, values, dtype=np.float32):
        array = values.detach().cpu().numpy() if isinstance(values, torch.Tensor) else np.asarray(values)
        self.weights[name] = numpy_helper.from_array(np.ascontiguousarray(array, dtype=dtype), name)
        return name

    def convolution(self, name, x, weight, bias, stride=1, relu=False, output=None):
        inputs = [x, self.weight(name + ".weight", weight), self.weight(name + ".bias", bias)]
        pad = weight.shape[2] // 2
        result = self.add("Conv", inputs, None if relu else output, kernel_shape=list(weight.shape[2:]),
                          strides=[stride, stride], pads=[pad] * 4)
        return self.add("Relu", [result], output) if relu else result

    def norm(self, name, x, module):
        weight, bias = module.folded()
        return self.convolution(name, x, weight, bias, module.conv.stride[0], module.relu)

    def plain(self, name, x, module, output=None):
        return self.convolution(name, x, module.weight, module.bias, output=output)

    def residual(self, name, x, module):
        inner = self.norm(name + ".second", self.norm(name + ".first", x, module.first), module.second)
        return self.add("Relu", [self.add("Add", [x, inner])])

    def encoder(self, model):
        """Stem and levels of a network that has them as network.LandmarkNetwork does; the outputs of the levels."""
        x = self.norm("stem", contract.INPUT, model.stem)
        levels = []
        for i, (down, encode) in enumerate(zip(model.down, model.encode)):
            x = self.norm(f"down{i}", x, down)
            for j, block in enumerate(encode):
                x = self.residual(f"encode{i}.{j}", x, block)
            levels.append(x)
        return levels

    def linear(self, name, x, module, output=None):
        """Last axis times the layer's weight, plus its bias."""
        product = self.add("MatMul", [x, self.weight(name + ".weight", module.weight.t())])
        return self.add("Add", [product, self.weight(name + ".bias", module.bias)], output)


def build(model):
    """ONNX model of a LandmarkNetwork; its weights are read as they are, batch norm in its inference form."""
    g = Graph()
    levels = g.encoder(model)
    x = levels[-1]
    pooled = g.add("Flatten", [g.add("GlobalAveragePool", [x])], axis=1)
    twice = g.weight("twice", [1, 1, 2, 2])
    for i in reversed(range(len(network.DECODER))):
        lifted = g.add("Resize", [g.norm(f"lift{i}", x, model.lift[i]), "", twice], mode="nearest",
                       coordinate_transformation_mode="asymmetric", nearest_mode="floor")
        joined = g.add("Relu", [g.add("Add", [lifted, g.norm(f"skip{i}", levels[i], model.skip[i])])])
        x = g.residual(f"decode{i}", joined, model.decode[i])

    heat_features = g.norm("heat_features", x, model.heat_features)
    heatmaps = g.plain("heat", heat_features, model.heat, "heatmaps")
    dense_features = g.norm("dense_features", x, model.dense_features)
    g.plain("dense", dense_features, model.dense, "dense")
    g.plain("classes", dense_features, model.classes, "classes")
    landmark_heads(g, model, heatmaps, g.plain("local", heat_features, model.local), pooled)
    g.linear("facing", pooled, model.facing, "facing")

    count, cells = len(contract.LANDMARKS), contract.MAP_SIZE
    shapes = {"heatmaps": [count, cells, cells], "scales": [count], "presence": [count], "dense": [4, cells, cells],
              "classes": [len(contract.CLASSES), cells, cells], "facing": [1]}
    return onnx_model(g, "landmarks", {name: shapes[name] for name in contract.OUTPUTS})


def onnx_model(g, name, outputs):
    """Checked ONNX model of a graph on views; outputs: shape of one view's by name."""
    value, size = helper.make_tensor_value_info, contract.INPUT_SIZE
    graph = helper.make_graph(
        g.nodes, name, [value(contract.INPUT, TensorProto.FLOAT, ["N", len(contract.CHANNELS), size, size])],
        [value(key, TensorProto.FLOAT, ["N"] + shape) for key, shape in outputs.items()], list(g.weights.values()))
    model = helper.make_model(graph, producer_name="autoplace", opset_imports=[helper.make_opsetid("", OPSET)])
    model.ir_version = IR_VERSION
    onnx.checker.check_model(model)
    return model


def landmark_heads(g, model, heatmaps, features, pooled):
    """Nodes of LandmarkNetwork.landmark_heads."""
    rows = g.weight("rows", [0, 0, -1], np.int64)
    weights = g.add("Softmax", [g.add("Reshape", [heatmaps, rows])], axis=2)
    columns = g.add("Transpose", [g.add("Reshape", [features, rows])], perm=[0, 2, 1])
    local = g.add("MatMul", [weights, columns])
    largest = g.add("ReduceMax", [weights], axes=[2], keepdims=1)
    peak = g.add("Log", [g.add("Add", [largest, g.weight("floor", 1e-6)])])
    context = g.add("Unsqueeze", [g.linear("pooled", pooled, model.pooled), g.weight("axis1", [1], np.int64)])
    hidden = g.add("Add", [local, g.weight("landmark_bias", model.landmark_bias)])
    hidden = g.add("Add", [hidden, g.add("Mul", [peak, g.weight("peak_gain", model.peak_gain)])])
    hidden = g.add("Relu", [g.add("Add", [hidden, context])])
    hidden = g.add("Relu", [g.linear("at_landmark", hidden, model.at_landmark)])
    axes = g.weight("axis2", [2], np.int64)
    for output, weight, bias in (("scales", model.scale_weight, model.scale_bias),
                                 ("presence", model.presence_weight, model.presence_bias)):
        product = g.add("Mul", [hidden, g.weight(output + ".weight", weight)])
        total = g.add("ReduceSum", [product, axes], keepdims=0)
        g.add("Add", [total, g.weight(output + ".bias", bias)], output)


def write(path, content):
    """Writes bytes under a temporary name, then renames."""
    path = Path(path)
    temporary = path.with_name(path.name + ".tmp")
    temporary.write_bytes(content)
    os.replace(temporary, path)


def export(model, folder, name, version, views=None, extra=None):
    """Writes model.onnx, model.json and, with views (N x 6 x 256 x 256), decode-samples.bin; returns model.json's content.

    Where ONNX Runtime is installed its outputs must agree with the network's; RuntimeError names the output that doesn't.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    model = model.float().cpu().eval()
    content = build(model).SerializeToString()
    if len(content) > MAX_MODEL_BYTES:
        raise RuntimeError(f"model.onnx would have {len(content)} bytes, more than {MAX_MODEL_BYTES}")
    if views is None:
        views = procedural_views(2)
    with torch.no_grad():
        outputs = {key: value.numpy() for key, value in model(views).items()}
    agreement = compare_with_runtime(content, views.numpy(), outputs)
    write(folder / "model.onnx", content)
    parameters, operations = network.cost(model)
    description = {
        "format": "autoplace.landmark-model", "version": 1, "name": name, "modelVersion": version, "contract": contract.SHA256,
        "onnx": {"file": "model.onnx", "sha256": hashlib.sha256(content).hexdigest()},
        "input": {"name": contract.INPUT, "size": contract.INPUT_SIZE, "channels": contract.CHANNELS},
        "landmarks": contract.LANDMARKS, "classes": contract.CLASSES,
        "outputs": {key: list(outputs[key].shape[1:]) for key in contract.OUTPUTS},
        "views": contract.VIEWS, "decode": {"window": contract.WINDOW, "cell": contract.CELL},
        "network": {"parameters": parameters, "gflopPerView": round(operations / 1e9, 3), "runtimeAgreement": agreement},
    }
    description.update(extra or {})
    write(folder / "model.json", (json.dumps(description, indent=2) + "\n").encode())
    write(folder / "decode-samples.bin", decode_samples(outputs["heatmaps"]))
    return description


def compare_with_runtime(content, views, outputs):
    """Largest relative difference from ONNX Runtime by output; None where it isn't installed."""
    try:
        import onnxruntime
    except ImportError:
        print("export: onnxruntime is not installed, agreement is not checked", file=sys.stderr)
        return None
    session = onnxruntime.InferenceSession(content, providers=["CPUExecutionProvider"])
    keys = list(outputs)
    found = dict(zip(keys, session.run(keys, {contract.INPUT: views})))
    differences = {}
    for key in keys:
        magnitude = max(1.0, float(np.abs(outputs[key]).max()))
        differences[key] = float(np.abs(found[key] - outputs[key]).max()) / magnitude
        if not differences[key] <= AGREEMENT:
            raise RuntimeError(f"ONNX Runtime's '{key}' differs from the network's by {differences[key]:.2e} of its range")
    return differences


def decode_samples(heatmaps):
    """Heat maps with their decoded positions: int32 count, int32 size, then for each float32 logits, x, y (pixels)."""
    maps = torch.from_numpy(heatmaps)
    positions = losses.decode_positions(maps).numpy()
    flat, points = heatmaps.reshape(-1, contract.MAP_SIZE ** 2), positions.reshape(-1, 2)
    chosen = np.linspace(0, len(flat) - 1, min(SAMPLE_MAPS, len(flat))).astype(int)
    rows = np.concatenate((flat[chosen], points[chosen]), 1).astype("<f4")
    return np.array([len(chosen), contract.MAP_SIZE], "<i4").tobytes() + rows.tobytes()


def procedural_views(count):
    """Views by formula, the same in any language: value = frac(0.618034 c + 0.37 n + x y / 977 + (x + 2 y) / 256)."""
    n, c, y, x = np.ogrid[:count, :len(contract.CHANNELS), :contract.INPUT_SIZE, :contract.INPUT_SIZE]
    value = 0.618034 * c + 0.37 * n + x * y / 977.0 + (x + 2 * y) / 256.0
    return torch.from_numpy((value - np.floor(value)).astype(np.float32))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("checkpoint", help="checkpoint.pt of train.py")
    parser.add_argument("--out", required=True)
    parser.add_argument("--name", default="landmarks")
    parser.add_argument("--version", default="1")
    options = parser.parse_args()
    model = network.LandmarkNetwork()
    load_weights(model, options.checkpoint)
    print(json.dumps(export(model, options.out, options.name, options.version)["network"], indent=2))


def load_weights(model, path):
    """Loads a checkpoint's weights (kept as float16) into a network of the same shape."""
    state = torch.load(path, map_location="cpu")
    if state["contract"] != contract.SHA256:
        raise ValueError(f"{path}: made for contract {state['contract']}, this is {contract.SHA256}")
    model.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in state["weights"].items()})


if __name__ == "__main__":
    main()
