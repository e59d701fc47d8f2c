#!/usr/bin/env python3
"""Averages models that were trained from the same one, and measures them and their average on the same held-out views.

    average.py --generator BINARY --morphable DIR --out DIR --version V MODEL.onnx MODEL.onnx ...

Weights of runs that went on from one model may be averaged (Wortsman et al. 2022, "Model soups", section 2; from memory):
what single runs learned by chance cancels out, at no cost in use.
"""
import argparse
import json
import os
import shutil
import tempfile
from pathlib import Path

import torch

import evaluate
import export
import network
import records
import stream
import warm_start


def average(paths):
    """The network whose weights are the means of those of some models. ValueError names a weight that doesn't fit."""
    models = [network.LandmarkNetwork() for _ in paths]
    for model, path in zip(models, paths):
        warm_start.load(model, path)
    states = [model.state_dict() for model in models]
    mean = network.LandmarkNetwork()
    mean.load_state_dict({
        key: torch.stack([state[key] for state in states]).mean(0) if value.is_floating_point() else value
        for key, value in states[0].items()})
    return mean.eval(), [model.eval() for model in models]


def held_out_views(options):
    """Records of heads that no training uses, and their layout."""
    layout = records.Layout.of(options.generator)
    folder = Path(tempfile.mkdtemp(prefix="held-out-"))
    try:
        generator = stream.Generator(options.generator, folder / "views", folder / "log", [
            "--morphable", options.morphable, "--shard-records", 256, "--threads", os.cpu_count() or 1,
            "--seed", options.held_out_seed, "--shards", -(-options.held_out_views // 256), "--held-out"])
        generator.process.wait()
        generator.check()
        return stream.read_all(folder / "views", layout.record_bytes), layout
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ("generator", "morphable", "out", "version"):
        parser.add_argument("--" + name, required=True)
    parser.add_argument("--name", default="landmarks")
    parser.add_argument("--held-out-views", type=int, default=2048)
    parser.add_argument("--held-out-seed", type=int, default=1)
    parser.add_argument("models", nargs="+", help="model.onnx of each run, its model.json beside it")
    options = parser.parse_args()
    held_out, layout = held_out_views(options)
    mean, models = average(options.models)
    out, device = Path(options.out), torch.device("cuda" if torch.cuda.is_available() else "cpu")
    trained = [json.loads(Path(path).with_name("model.json").read_text()) for path in options.models]
    export.export(mean, out, options.name, options.version, records.decode(held_out[:4], layout)["images"], {
        "averageOf": [{"sha256": one["onnx"]["sha256"], "training": one.get("training")} for one in trained]})
    for path, model in [*zip(options.models, models), ("average", mean)]:
        metrics = evaluate.measure(evaluate.predict(model.to(device), held_out, layout, device))
        print(f"{path}\n{evaluate.table(metrics)}\n", flush=True)
    export.write(out / "metrics.json", (json.dumps(metrics, indent=1) + "\n").encode())


if __name__ == "__main__":
    main()
