#!/usr/bin/env python3
"""Trains variants side by side, one on each CUDA device, on equal clocks, and compares them on the same held-out views.

    experiments.py --generator BINARY --morphable DIR --out DIR --minutes 4.5 [LIST]

LIST has a variant a line: its name, a colon, arguments of train.py (`experiments.txt` is the one of the model card).
Each variant leaves what a training leaves, in a folder of its name; the table is printed and written to `table.txt`.
"""
import argparse
import json
import os
import queue
import shlex
import subprocess
import sys
import threading
from pathlib import Path

import torch

HERE = Path(__file__).resolve().parent
COLUMNS = ("all", "realistic", "warp", "stylised")


def variants(path):
    lines = [line.strip() for line in open(path) if line.strip() and not line.startswith("#")]
    return [(name.strip(), shlex.split(arguments)) for name, arguments in (line.split(":", 1) for line in lines)]


def train(name, arguments, device, options, threads):
    out = Path(options.out) / name
    out.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, str(HERE / "train.py"), "--generator", options.generator, "--morphable", options.morphable,
               "--out", str(out), "--minutes", str(options.minutes), "--threads", str(threads), *arguments]
    with open(out / "output.txt", "w") as output:
        code = subprocess.call(command, stdout=output, stderr=subprocess.STDOUT,
                               env={**os.environ, "CUDA_VISIBLE_DEVICES": str(device), "OMP_NUM_THREADS": "2"})
    print(f"{name}: ended with {code}", flush=True)


def row(name, folder):
    try:
        metrics = json.loads((folder / "metrics.json").read_text())
    except OSError as failure:
        return f"{name:22} no figures: {failure}"
    cells = []
    for kind in COLUMNS:
        point, dense = metrics["landmarks"][kind]["visible_percent_iod"], metrics["dense"][kind]["percent_iod"]
        cells.append(f"{point['median']:6.2f} /{point['mean']:5.2f} /{dense['median']:5.2f}")
    return f"{name:22}" + " |".join(cells) + f" | {metrics['throughput']['steps']} steps, reuse {metrics['throughput']['reuse']}"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ("generator", "morphable", "out"):
        parser.add_argument("--" + name, required=True)
    parser.add_argument("--minutes", type=float, default=4.5, help="of each variant, from start to finished export")
    parser.add_argument("list", nargs="?", default=HERE / "experiments.txt")
    options = parser.parse_args()
    devices = torch.cuda.device_count()
    if devices == 0:
        parser.error("no CUDA device")
    threads = max(1, (os.cpu_count() or 1) // devices - 1)
    waiting = queue.SimpleQueue()
    chosen = variants(options.list)
    for variant in chosen:
        waiting.put(variant)

    def work(device):
        while True:
            try:
                name, arguments = waiting.get_nowait()
            except queue.Empty:
                return
            train(name, arguments, device, options, threads)

    workers = [threading.Thread(target=work, args=(device,)) for device in range(devices)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    header = "landmarks median / mean, dense median, % of IOD: " + ", ".join(COLUMNS)
    text = "\n".join([header] + [row(name, Path(options.out) / name) for name, _ in chosen])
    print(text)
    (Path(options.out) / "table.txt").write_text(text + "\n")


if __name__ == "__main__":
    main()
