#!/usr/bin/env python3
"""Trains the landmark network on views that the generator streams, for a given number of minutes; see README.md.

    train.py --generator BINARY --morphable DIR --out DIR --minutes 9.5 [--resume CHECKPOINT | --from-model MODEL]
    torchrun --nproc_per_node 2 train.py ...     the same on two GPUs, each with its own generator
"""
import argparse
import contextlib
import copy
import json
import os
import signal
import sys
import time
import traceback
from pathlib import Path

START = time.monotonic()

import torch
import torch.distributed as dist

import contract
import evaluate
import export
import losses
import network
import records
from source import Source
from trainer import Trainer

REFRESH_BATCHES = 60  # over which batch-norm statistics are measured anew at the end
AGREE_STEPS = 10  # between two looks at the clock (and, with several GPUs, agreements on it)
REPORT_SECONDS = 15.0
CHECKPOINT_SECONDS = 120.0
RESERVE_SECONDS = 18.0  # kept for statistics, validation and export


def parse():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    add = parser.add_argument
    add("--generator", required=True, help="the generator's binary")
    add("--morphable", default="", help="folder of the morphable head, handed to the generator")
    add("--generator-arguments", default="", help="further arguments of `generate`, in one string")
    add("--out", required=True, help="folder for model.onnx, model.json, metrics.json, checkpoint.pt, log.txt")
    add("--minutes", type=float, default=9.5, help="wall-clock minutes from start to finished export")
    add("--resume", help="checkpoint.pt to go on from")
    add("--from-model", help="model.onnx of a release to go on from, where there is no checkpoint any more")
    add("--schedule", default="0:1", help="part FROM:TO of the learning-rate schedule that this run covers")
    add("--learning-rate", type=float, default=2e-3)
    add("--warm-up", type=int, default=200, help="steps over which the learning rate rises")
    add("--weight-decay", type=float, default=0.01)
    add("--batch", type=int, default=256, help="views a step and GPU")
    add("--ring-views", type=int, default=100_000, help="views kept on each GPU (at most 60 %% of its free memory)")
    add("--min-fill", type=int, default=4096, help="views in the ring before training starts")
    add("--shard-records", type=int, default=256)
    add("--held-out-views", type=int, default=2048)
    add("--held-out-seed", type=int, default=1, help="of the held-out heads; the same for runs that are compared")
    add("--max-pending", type=int, default=16, help="shards that may wait for the trainer")
    add("--threads", type=int, default=0, help="of each generator; 0: all cores shared out, one left for each trainer")
    add("--seed", type=int, default=1)
    add("--shards-in", help="folder for shards in transit; default: memory-backed temporary folder")
    add("--max-steps", type=int, default=0, help="stop after so many steps; 0: the clock alone decides")
    add("--compile", choices=("auto", "off"), default="auto", help="auto: torch.compile where it works and is faster")
    add("--name", default="landmarks")
    add("--version", default="1", help="model version, for model.json")
    add("--width", type=float, default=1.0, help="factor on the network's channels, for tests and experiments")
    add("--coarse", type=int, default=1, help="views averaged over squares of so many pixels, for experiments")
    add("--loss", action="append", default=[], metavar="TERM=FACTOR", help="factor on a term of the loss, for experiments")
    add("--smoke", action="store_true", help="tiny run on the CPU, with a narrow network")
    options = parser.parse_args()
    if options.smoke:
        options.batch, options.ring_views, options.min_fill, options.width, options.warm_up = 8, 512, 64, 0.25, 10
        options.shard_records, options.held_out_views, options.threads, options.compile = 32, 32, 1, "off"
    first, last = (float(v) for v in options.schedule.split(":"))
    if not 0 <= first < last <= 1:
        parser.error("--schedule FROM:TO needs 0 <= FROM < TO <= 1")
    if options.resume and options.from_model:
        parser.error("--resume and --from-model exclude each other")
    options.schedule = (first, last)
    try:
        options.loss = {term: float(factor) for term, factor in (pair.split("=") for pair in options.loss)}
    except ValueError:
        parser.error("--loss needs TERM=FACTOR")
    if unknown := options.loss.keys() - losses.TERMS:
        parser.error(f"--loss: no term {', '.join(sorted(unknown))}; there are {', '.join(losses.TERMS)}")
    return options


class Run:
    """One process of the training: its device, its clock, its log."""

    def __init__(self, options):
        self.options = options
        self.rank, self.world = int(os.environ.get("RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
        self.cuda = torch.cuda.is_available() and not options.smoke
        self.device = torch.device("cuda", int(os.environ.get("LOCAL_RANK", 0))) if self.cuda else torch.device("cpu")
        if self.cuda:
            torch.cuda.set_device(self.device)
            torch.set_num_threads(2)
            torch.backends.cudnn.benchmark = True
        if self.world > 1:
            dist.init_process_group("nccl" if self.cuda else "gloo")
        self.deadline = START + 60 * options.minutes
        self.training_end = self.deadline - (5.0 if options.smoke else RESERVE_SECONDS)
        self.out = Path(options.out)
        self.out.mkdir(parents=True, exist_ok=True)
        self._log = open(self.out / "log.txt", "a") if self.rank == 0 else None
        self.stopping = False
        signal.signal(signal.SIGTERM, self._stop)
        signal.signal(signal.SIGINT, self._stop)

    def _stop(self, *_):
        self.stopping = True

    def say(self, text):
        if self._log is not None:
            line = f"[{time.monotonic() - START:6.1f} s] {text}"
            print(line, flush=True)
            print(line, file=self._log, flush=True)

    def autocast(self):
        return torch.autocast("cuda", torch.bfloat16) if self.cuda else contextlib.nullcontext()

    def clock(self, training_start):
        """Share of the training time that is over, the same number in every process."""
        share = (time.monotonic() - training_start) / max(1.0, self.training_end - training_start)
        share = 1.0 if self.stopping else share
        if self.world > 1:
            value = torch.tensor(share, device=self.device)
            dist.all_reduce(value, dist.ReduceOp.MAX)
            share = float(value)
        return share


def train(run, source, trainer, held_out):
    """The training loop; returns when the time for it is over."""
    options = run.options
    first, last = options.schedule
    begin = reported = saved = time.monotonic()
    at_report = (0, source.ring.received)
    while True:
        if trainer.steps % AGREE_STEPS == 0:
            share = run.clock(begin)
            trainer.progress = first + (last - first) * min(1.0, share)
            if share >= 1 or (options.max_steps and trainer.steps >= options.max_steps):
                break
        source.take()
        trainer.step(source.batch())
        now = time.monotonic()
        if now - reported > REPORT_SECONDS:
            means, norm, skipped = trainer.report()
            now = time.monotonic()
            steps, views = trainer.steps - at_report[0], source.ring.received - at_report[1]
            run.say(f"step {trainer.steps} loss {sum(means.values()):.3f} (" + " ".join(f"{k} {v:.3f}" for k, v in means.items())
                    + f") gradient {norm:.2f} rate {trainer.rate:.1e}; {steps / (now - reported):.2f} steps/s, trained"
                    f" {options.batch * steps / (now - reported):.0f} views/s, generated {views / (now - reported):.0f} views/s,"
                    f" ring {source.ring.filled}, reuse {source.ring.reuse:.1f}" + (f", {skipped} skipped" if skipped else ""))
            reported, at_report = now, (trainer.steps, source.ring.received)
        if run.rank == 0 and now - saved > CHECKPOINT_SECONDS:
            saved = now
            trainer.save(run.out / "checkpoint.pt", trainer.averaged())
            found = evaluate.measure(evaluate.predict(trainer.averaged(), held_out[:512], source.layout, run.device, run.autocast, coarse=options.coarse))
            point, dense = found["landmarks"]["all"]["visible_percent_iod"], found["dense"]["all"]["percent_iod"]
            run.say(f"held out (512): landmarks {point}, dense {dense}")


def finish(run, source, trainer, held_out, seconds):
    """Refreshed statistics, checkpoint, validation, export; the model is written before it is measured."""
    options = run.options
    trainer.refresh_statistics(source, 4 if options.smoke else REFRESH_BATCHES)
    trainer.save(run.out / "checkpoint.pt", trainer.ema)
    throughput = {
        "gpus": run.world, "device": torch.cuda.get_device_name(run.device) if run.cuda else "cpu", "steps": trainer.steps,
        "trainingSeconds": round(seconds, 1), "stepsPerSecond": round(trainer.steps / seconds, 3),
        "trainedViewsPerSecond": round(options.batch * run.world * trainer.steps / seconds, 1),
        "generatedViews": source.ring.received * run.world, "sourceFailure": source.failure, "reuse": round(source.ring.reuse, 2)}
    trained = {"training": {**throughput, "schedule": list(options.schedule), "seed": options.seed}}
    model = copy.deepcopy(trainer.ema)
    images = records.decode(held_out[:4], source.layout)["images"]
    description = export.export(model, run.out, options.name, options.version, images, trained)
    run.say(f"model.onnx: {description['network']}")
    metrics = evaluate.measure(evaluate.predict(trainer.ema, held_out, source.layout, run.device, coarse=options.coarse))
    metrics["throughput"] = throughput
    export.write(run.out / "metrics.json", (json.dumps(metrics, indent=1) + "\n").encode())
    run.say("held-out views\n" + evaluate.table(metrics))
    run.say(f"throughput: {throughput}")


def main():
    run = Run(parse())
    source = Source(run)
    try:
        torch.manual_seed(run.options.seed)  # the same first weights in every process
        trainer = Trainer(run)
        torch.manual_seed(run.options.seed * 1000 + run.rank)
        parameters, operations = network.cost(trainer.model)
        run.say(f"{parameters} parameters, {operations / 1e9:.2f} GFLOP a view; {run.world} process(es) on {run.device.type},"
                f" ring {source.ring.capacity} views of {source.layout.record_bytes} bytes, contract {contract.SHA256[:12]}")
        if run.cuda:
            size = contract.INPUT_SIZE
            blank = torch.randn(run.options.batch, len(contract.CHANNELS), size, size, device=run.device)
            with source.filling():
                trainer.choose_forward(blank.contiguous(memory_format=torch.channels_last))
        source.fill()
        if run.options.from_model:
            trainer.settle(source)
        held_out = source.validation() if run.rank == 0 else None
        if run.world > 1:
            dist.barrier()
        run.say(f"training starts with {source.ring.filled} views")
        failed, begin = False, time.monotonic()
        try:
            train(run, source, trainer, held_out)
        except Exception:  # what has been learned is exported all the same
            failed = True
            run.say("training broke off:\n" + traceback.format_exc())
        seconds = time.monotonic() - begin
        if run.world > 1 and not failed:
            dist.destroy_process_group()
        if run.rank == 0:
            finish(run, source, trainer, held_out, seconds)
        return 1 if failed else 0
    finally:
        source.close()


if __name__ == "__main__":
    sys.exit(main())
