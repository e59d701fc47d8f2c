#!/usr/bin/env python3
"""Trains the head finder on views that the generator streams, on one device, for a given number of minutes.

    train_finder.py --generator BINARY --morphable DIR --out DIR --minutes 9
"""
import argparse
import copy
import hashlib
import json
import math
import os
import shutil
import tempfile
import time
from pathlib import Path

START = time.monotonic()

import torch

import augment
import contract
import evaluate
import export
import finder
import network
import records
import stream

RESERVE_SECONDS = 25.0  # kept for statistics, validation and export
REPORT_SECONDS = 20.0
REFRESH_BATCHES = 60
EMA_STEPS = 500
VIEWS_PER_HEAD = 8


def parse():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    add = parser.add_argument
    for name in ("generator", "morphable", "out"):
        add("--" + name, required=True)
    add("--minutes", type=float, default=9.0, help="wall-clock minutes from start to finished export")
    add("--learning-rate", type=float, default=2e-3)
    add("--warm-up", type=int, default=300)
    add("--batch", type=int, default=256)
    add("--ring-views", type=int, default=80_000)
    add("--min-fill", type=int, default=8192)
    add("--held-out-views", type=int, default=4096)
    add("--max-steps", type=int, default=0)
    add("--seed", type=int, default=1)
    add("--threads", type=int, default=0, help="of the generator; 0: all cores but three")
    add("--version", default="1")
    add("--kinds", default="realistic=0.3,strong=0.22,stylised=0.48,non-head=0.2")
    return parser.parse_args()


def prepared(batch, layout, raw):
    """Images and frames of a decoded batch, varied."""
    images, frame = finder.turn(batch["images"], layout.field(raw, "frame"))
    count = images.shape[0]
    order = torch.randperm(count, device=images.device)
    images, frame, kind = images[order], frame[order], batch["kind"][order]
    augment.blur(images[:count // 6])
    augment.add_normal_noise(images[count * 2 // 3:])
    images[count // 3:count * 2 // 3, 5] = 0
    return images.contiguous(memory_format=torch.channels_last), frame, kind < records.FIRST_NEGATIVE_KIND


@torch.no_grad()
def measure(model, raw, layout, device):
    """Figures of held-out views, each alone and the best proposal of each head's views."""
    found, frames, kinds, numbers = [], [], [], []
    for start in range(0, len(raw), 128):
        part = raw[start:start + 128].to(device)
        batch = records.decode(part, layout)
        found.append(finder.proposals(model(batch["images"])).cpu())
        frames.append(layout.field(part, "frame").cpu())
        kinds.append(batch["kind"].cpu())
        numbers.append(layout.field(part, "head").view(-1).cpu())
    found, frames, kinds, numbers = (torch.cat(v) for v in (found, frames, kinds, numbers))
    is_head = kinds < records.FIRST_NEGATIVE_KIND
    inside = ((frames[:, 9:11] >= 0) & (frames[:, 9:11] < contract.INPUT_SIZE)).all(1)
    seen = is_head & inside
    angle, away, size = finder.errors(found, frames)
    good = (angle < 30) & (away < 0.7) & (size < 0.3)

    def quantiles(values):
        return [round(float(v), 3) for v in torch.quantile(values, torch.tensor([0.5, 0.9]))]

    figures = {"auroc": round(evaluate.auroc(found[:, 10][seen | ~is_head], seen[seen | ~is_head]), 4), "views": {}, "heads": {}}
    for name, chosen in (("all", seen), *((records.KINDS[k], seen & (kinds == k)) for k in range(3))):
        figures["views"][name] = {"count": int(chosen.sum()), "degrees": quantiles(angle[chosen]), "away": quantiles(away[chosen]),
                                  "size": quantiles(size[chosen]), "good": round(float(good[chosen].float().mean()), 4)}
    rank = found[:, 10] - 0.3 * found[:, 11].clamp(*finder.LOG_SCALE).exp()
    hits, count, best_scores, non_head_scores = [0, 0, 0, 0], 0, [], []
    for number in numbers.unique():
        of = numbers == number
        if not bool(is_head[of].all()):
            non_head_scores.append(float(found[of, 10].max()))
            continue
        order = rank[of].argsort(descending=True)
        ranked = good[of][order]
        best_scores.append(float(found[of, 10].max()))
        count += 1
        for k in range(4):
            hits[k] += bool(ranked[:2 ** k].any())
    figures["heads"] = {"count": count, "good among first 1, 2, 4, 8": [round(h / max(1, count), 4) for h in hits]}
    scores, others = torch.tensor(best_scores), torch.tensor(non_head_scores)
    for percent in (0.5, 1, 2, 5):
        least = torch.quantile(scores, percent / 100)
        figures["heads"][f"without a head above the score that {percent} % of heads don't reach ({float(least):.3f})"] = round(
            float((others >= least).float().mean()), 4)
    return figures


def main():
    options = parse()
    out = Path(options.out)
    out.mkdir(parents=True, exist_ok=True)
    log = open(out / "log.txt", "a")

    def say(text):
        line = f"[{time.monotonic() - START:6.1f} s] {text}"
        print(line, flush=True)
        print(line, file=log, flush=True)

    cuda = torch.cuda.is_available()
    device = torch.device("cuda", 0) if cuda else torch.device("cpu")
    torch.backends.cudnn.benchmark = cuda
    torch.manual_seed(options.seed)
    layout = records.Layout.of(options.generator)
    folder = Path(tempfile.mkdtemp(prefix="shards-", dir="/dev/shm" if os.path.isdir("/dev/shm") else None))
    cores = os.cpu_count() or 1
    shared = ["--morphable", options.morphable, "--survey", "--views-per-head", VIEWS_PER_HEAD, "--shard-records", 256,
              "--kinds", options.kinds, "--threads", options.threads or max(1, cores - 3)]
    held = stream.Generator(options.generator, folder / "held-out", out / "generator-held-out.log", shared + [
        "--seed", 1, "--shards", -(-options.held_out_views // 256), "--held-out"])
    generator = stream.Generator(options.generator, folder / "train", out / "generator.log", shared + [
        "--seed", options.seed, "--shards", 1_000_000, "--max-pending", 24])
    reader = stream.ShardReader(folder / "train", layout.record_bytes, device)
    free = torch.cuda.mem_get_info(device)[0] if cuda else 2 << 30
    ring = stream.ReplayRing(min(options.ring_views, int(0.6 * free / layout.record_bytes)), layout.record_bytes, device)
    try:
        model = finder.HeadFinder().to(device).to(memory_format=torch.channels_last)
        average = copy.deepcopy(model)
        decayed, plain = ([p for p in model.parameters() if (p.ndim > 1) == many] for many in (True, False))
        optimizer = torch.optim.AdamW(
            [{"params": decayed, "weight_decay": 0.01}, {"params": plain, "weight_decay": 0.0}],
            lr=options.learning_rate, betas=(0.9, 0.99))
        say(f"{sum(p.numel() for p in model.parameters())} parameters on {device}, ring {ring.capacity}, {cores} cores")
        while ring.filled < options.min_fill:
            if not ring.take(reader):
                generator.check()
                time.sleep(0.05)
        while not held.finished():
            ring.take(reader)
            time.sleep(0.05)
        held.check()
        held_out = stream.read_all(folder / "held-out", layout.record_bytes)
        say(f"training starts with {ring.filled} views")
        begin = reported = time.monotonic()
        end = START + 60 * options.minutes - RESERVE_SECONDS
        sums, steps, summed = {}, 0, 0

        def batch():
            raw = ring.batch(options.batch)
            return prepared(records.decode(raw, layout), layout, raw)

        while time.monotonic() < end and (options.max_steps == 0 or steps < options.max_steps):
            ring.take(reader)
            share = max((time.monotonic() - begin) / max(1.0, end - begin), steps / options.max_steps if options.max_steps else 0)
            rate = options.learning_rate * (0.005 + 0.995 * 0.5 * (1 + math.cos(math.pi * min(1, share)))) * min(1, (steps + 1) / options.warm_up)
            for group in optimizer.param_groups:
                group["lr"] = rate
            images, frame, is_head = batch()
            model.train()
            with torch.autocast("cuda", torch.bfloat16, enabled=cuda):
                predicted = model(images)
            terms = finder.loss_terms(predicted, frame, is_head)
            optimizer.zero_grad(set_to_none=True)
            sum(terms.values()).backward()
            norm = torch.nn.utils.clip_grad_norm_(model.parameters(), 5.0)
            if bool(torch.isfinite(norm)):
                optimizer.step()
            steps += 1
            with torch.no_grad():
                for a, p in zip(average.parameters(), model.parameters()):
                    a.lerp_(p, max(1 / EMA_STEPS, 9 / (10 + steps)))
            for name, value in terms.items():
                sums[name] = sums.get(name, 0) + value.detach()
            summed += 1
            if time.monotonic() - reported > REPORT_SECONDS:
                reported = time.monotonic()
                say(f"step {steps} " + " ".join(f"{k} {float(v) / summed:.3f}" for k, v in sums.items())
                    + f" rate {rate:.1e}, generated {ring.received}, reuse {ring.reuse:.1f}, {steps / (reported - begin):.1f} steps/s")
                sums, summed = {}, 0

        norms = [m for m in average.modules() if isinstance(m, torch.nn.BatchNorm2d)]
        for one in norms:
            one.reset_running_stats()
            one.momentum = None
        average.train()
        with torch.no_grad(), torch.autocast("cuda", torch.bfloat16, enabled=cuda):
            for _ in range(REFRESH_BATCHES):
                average(batch()[0])
        average.eval()
        trained = {"device": torch.cuda.get_device_name(device) if cuda else "cpu", "cores": cores, "steps": steps, "batch": options.batch,
                   "seconds": round(time.monotonic() - begin, 1), "generatedViews": ring.received, "reuse": round(ring.reuse, 2), "seed": options.seed}
        write(average, out, options.version, records.decode(held_out[:4].to(device), layout)["images"], trained)
        figures = measure(average, held_out, layout, device)
        export.write(out / "metrics.json", (json.dumps({**figures, "training": trained}, indent=1) + "\n").encode())
        say(json.dumps(figures, indent=1))
        say(str(trained))
    finally:
        reader.stop()
        generator.stop()
        held.stop()
        shutil.rmtree(folder, ignore_errors=True)


@torch.no_grad()
def write(model, out, version, views, trained):
    """model.onnx, which agrees with the network on these views, and model.json."""
    plain = copy.deepcopy(model).float().cpu().eval().to(memory_format=torch.contiguous_format)
    content = finder.build(plain).SerializeToString()
    views = views.cpu().contiguous()
    agreement = export.compare_with_runtime(content, views.numpy(), {"map": plain(views).numpy()})
    export.write(out / "model.onnx", content)
    parameters, operations = network.cost(plain)
    description = {
        "format": "autoplace.head-finder", "version": 1, "name": "head-finder", "modelVersion": version, "contract": finder.CONTRACT,
        "onnx": {"file": "model.onnx", "sha256": hashlib.sha256(content).hexdigest()},
        "input": {"name": contract.INPUT, "size": contract.INPUT_SIZE, "channels": contract.CHANNELS},
        "outputs": {"map": [finder.CHANNELS, finder.CELLS, finder.CELLS]},
        "network": {"parameters": parameters, "gflopPerView": round(operations / 1e9, 3), "runtimeAgreement": agreement},
        "training": trained,
    }
    export.write(out / "model.json", (json.dumps(description, indent=2) + "\n").encode())


if __name__ == "__main__":
    main()
