"""Where one training process gets its batches: generator, reader, ring, held-out views."""
import os
import shutil
import tempfile
import threading
import time
from pathlib import Path

import torch

import augment
import records
import stream

MEMORY_FOLDER = "/dev/shm"


class Source:
    """Generator, reader, ring and held-out views of one process."""

    def __init__(self, run):
        options = run.options
        self.run, self.failure = run, None
        self.layout = records.Layout.of(options.generator)
        self.folder = Path(options.shards_in or tempfile.mkdtemp(prefix="shards-", dir=self._memory_folder()))
        cores = os.cpu_count() or 1
        threads = options.threads or max(1, cores // run.world - 1)
        shared = ["--morphable", options.morphable, "--shard-records", options.shard_records, "--threads", threads]
        shared += options.generator_arguments.split()
        training = self.folder / f"train-{run.rank}"
        self.generator = stream.Generator(options.generator, training, self.folder / f"generator-{run.rank}.log", shared + [
            "--seed", options.seed + 7919 * run.rank, "--shards", 1_000_000, "--max-pending", options.max_pending])
        self.reader = stream.ShardReader(training, self.layout.record_bytes, run.device)
        self.held_out = None
        if run.rank == 0:
            count = -(-options.held_out_views // options.shard_records)
            self.held_out = stream.Generator(options.generator, self.folder / "held-out", self.folder / "generator-held-out.log",
                                             shared + ["--seed", options.held_out_seed, "--shards", count, "--held-out"])
        self.ring = stream.ReplayRing(self._capacity(options.ring_views), self.layout.record_bytes, run.device)

    def _memory_folder(self):
        """Memory-backed folder with room for all shards in transit, None if there is none."""
        options = self.run.options
        views = (options.max_pending + 4) * options.shard_records * self.run.world + options.held_out_views
        roomy = os.path.isdir(MEMORY_FOLDER) and shutil.disk_usage(MEMORY_FOLDER).free > views * self.layout.record_bytes
        return MEMORY_FOLDER if roomy else None

    def _capacity(self, wanted):
        if not self.run.cuda:
            return wanted
        free, _ = torch.cuda.mem_get_info(self.run.device)
        return min(wanted, int(0.6 * free / self.layout.record_bytes))

    def fill(self):
        """Waits until the ring holds enough to start."""
        while self.ring.filled < self.run.options.min_fill:
            if not self.ring.take(self.reader):
                self.generator.check()
                if self.generator.finished() and self.reader.ready.empty():
                    raise stream.GeneratorError(f"the generator ended after {self.ring.filled} views: {self.generator.tail()}")
                if time.monotonic() > self.run.training_end:
                    raise stream.GeneratorError(
                        f"only {self.ring.filled} of {self.run.options.min_fill} views came in time: {self.generator.tail()}")
                time.sleep(0.02)

    def take(self):
        """Moves waiting shards into the ring. A generator that fails later on doesn't end the training: what the ring
        holds is used on, and the failure is reported."""
        if self.failure is not None:
            return
        try:
            if not self.ring.take(self.reader):
                self.generator.check()
        except (stream.GeneratorError, ValueError, OSError) as failure:
            self.failure = str(failure)
            self.run.say(f"no more views: {failure}")

    def filling(self):
        """Context in which a thread moves shards into the ring, while the main thread is busy with something else."""
        return _Filling(self)

    def validation(self):
        """The held-out records; waits for them. Rank 0 only."""
        while not self.held_out.finished():
            time.sleep(0.1)
        self.held_out.check()
        return stream.read_all(self.folder / "held-out", self.layout.record_bytes)

    def batch(self):
        batch = records.decode(self.ring.batch(self.run.options.batch), self.layout)
        batch = augment.augment(batch)
        batch["images"] = augment.coarsen(batch["images"], self.run.options.coarse)
        batch["images"] = batch["images"].contiguous(memory_format=torch.channels_last)
        return batch

    def close(self):
        self.reader.stop()
        for generator in (self.generator, self.held_out):
            if generator is not None:
                generator.stop()
                self.run.say(f"{generator.log_path.name}: {generator.tail()[-600:]}")
        shutil.rmtree(self.folder, ignore_errors=True)


class _Filling:
    def __init__(self, source):
        self.source, self.done = source, threading.Event()
        self.thread = threading.Thread(target=self._work, daemon=True)

    def _work(self):
        if self.source.run.cuda:
            torch.cuda.set_device(self.source.run.device)
        while not self.done.is_set() and self.source.reader.failure is None:
            if not self.source.ring.take(self.source.reader):
                time.sleep(stream.POLL_SECONDS)

    def __enter__(self):
        self.thread.start()

    def __exit__(self, *_):
        self.done.set()
        self.thread.join()
