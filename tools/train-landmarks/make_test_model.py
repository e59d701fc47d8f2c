#!/usr/bin/env python3
"""Writes a narrow network with random weights for the product's tests, with what PyTorch says of one view of a formula.

    make_test_model.py --out ../../tests/AutoPlace.Tests/Landmarks/TinyModel
"""
import argparse
import json
from pathlib import Path

import torch

import contract
import export
import losses
import network

WIDTH = 0.125
CELLS = (0, 63, 1000, 2080, 4095)  # of the dense map and classes, row by row


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", required=True)
    options = parser.parse_args()
    torch.manual_seed(3)
    model = network.LandmarkNetwork(WIDTH)
    with torch.no_grad():
        for head in (model.heat, model.dense, model.classes):
            head.weight.normal_()  # far from flat, so that largest logits are clear
        model.train()
        for _ in range(20):
            model(torch.rand(2, len(contract.CHANNELS), contract.INPUT_SIZE, contract.INPUT_SIZE))
        model.eval()
        view = export.procedural_views(1)
        export.export(model, options.out, "tiny", "0", view)
        outputs = model(view)
        positions = losses.decode_positions(outputs["heatmaps"])[0]
    flat = {name: outputs[name][0].flatten(1)[:, CELLS].t().tolist() for name in ("dense", "classes")}
    expected = {"positions": positions.tolist(), "scales": outputs["scales"][0].tolist(), "presence": outputs["presence"][0].tolist(),
                "facing": outputs["facing"][0, 0].item(), "cells": list(CELLS), **flat}
    export.write(Path(options.out) / "expected.json", (json.dumps(expected) + "\n").encode())


if __name__ == "__main__":
    main()
