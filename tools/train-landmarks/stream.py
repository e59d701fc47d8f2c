"""From the generator's shards to a ring of raw records on the device, from which batches are drawn."""
import queue
import shutil
import subprocess
import threading
import time
from pathlib import Path

import torch

SHARD_BUFFERS = 4  # shards read ahead
POLL_SECONDS = 0.02
REDRAW_GROWTH = 1.15  # a permutation is drawn anew when the ring has grown by this factor


class GeneratorError(RuntimeError):
    """The generator stopped; the message holds the end of what it said."""


class Generator:
    """The generator binary as a child process that writes shards into a folder."""

    def __init__(self, binary, folder, log, arguments):
        self.log_path = Path(log)
        self._log = open(self.log_path, "ab")
        Path(folder).mkdir(parents=True, exist_ok=True)
        # The trainer's own threads and the compiler go first.
        polite = ["nice", "-n", "5"] if shutil.which("nice") else []
        command = polite + [str(binary), "generate", "--out", str(folder)] + [str(a) for a in arguments]
        self.process = subprocess.Popen(command, stdout=self._log, stderr=self._log, stdin=subprocess.DEVNULL)

    def check(self):
        """Raises GeneratorError if the generator has failed."""
        code = self.process.poll()
        if code:
            raise GeneratorError(f"the generator ended with code {code}: {self.tail()}")

    def tail(self):
        """The end of what the generator has printed."""
        return self.log_path.read_text(errors="replace")[-1500:].strip()

    def finished(self):
        return self.process.poll() is not None

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.process.kill()
        self._log.close()


class ShardReader(threading.Thread):
    """Reads finished shards into host memory (pinned for CUDA), deletes them, and hands them over in order."""

    def __init__(self, folder, record_bytes, device):
        super().__init__(daemon=True)
        self.folder, self.record_bytes = Path(folder), record_bytes
        self.ready = queue.Queue()
        self.free = queue.Queue()
        self.device = device
        self.failure = None
        self._halt = threading.Event()
        self._buffers = 0
        self.start()

    def run(self):
        try:
            if self.device.type == "cuda":
                torch.cuda.set_device(self.device)  # pinned memory belongs to a device's context
            while not self._halt.is_set():
                fresh = sorted(self.folder.glob("shard-*.bin"))
                if not fresh:
                    time.sleep(POLL_SECONDS)
                for path in fresh:
                    self._read(path)
                    if self._halt.is_set():
                        return
        except Exception as failure:  # handed to the training loop, which raises it
            self.failure = failure

    def _read(self, path):
        size = path.stat().st_size
        if size == 0 or size % self.record_bytes:
            raise ValueError(f"{path.name}: {size} bytes are no whole number of records of {self.record_bytes}")
        buffer = self._buffer(size)
        if buffer is None:
            return
        records = buffer[:size]
        with open(path, "rb") as file:
            if file.readinto(memoryview(records.numpy())) != size:
                raise ValueError(f"{path.name}: ended before {size} bytes")
        path.unlink()
        self.ready.put((buffer, records.view(-1, self.record_bytes)))

    def _buffer(self, size):
        """A host buffer of at least this size; waits while all are in use."""
        while not self._halt.is_set():
            try:
                buffer = self.free.get(timeout=0 if self._buffers < SHARD_BUFFERS else 0.1)
            except queue.Empty:
                if self._buffers >= SHARD_BUFFERS:
                    continue
                self._buffers += 1
                buffer = None
            if buffer is None or buffer.numel() < size:
                buffer = torch.empty(size, dtype=torch.uint8, pin_memory=self.device.type == "cuda")
            return buffer
        return None

    def stop(self):
        self._halt.set()
        self.join(5)


class ReplayRing:
    """The newest records on the device. Batches come from random permutations, so that reuse is even."""

    def __init__(self, capacity, record_bytes, device):
        self.records = torch.empty((capacity, record_bytes), dtype=torch.uint8, device=device)
        self.capacity, self.device = capacity, device
        self.filled = 0
        self.next = 0
        self.received = 0
        self.drawn = 0
        self._order = torch.empty(0, dtype=torch.long)
        self._at = 0
        self._in_flight = []

    def take(self, reader, limit=8):
        """Moves up to `limit` waiting shards into the ring; returns how many. Runs on the training stream, so no batch
        sees half a record."""
        if reader.failure is not None:
            raise reader.failure
        self._recycle(reader)
        taken = 0
        while taken < limit:
            try:
                buffer, records = reader.ready.get_nowait()
            except queue.Empty:
                break
            self.add(records)
            event = None
            if self.device.type == "cuda":
                event = torch.cuda.Event()
                event.record()
            self._in_flight.append((event, buffer))
            taken += 1
        return taken

    def add(self, records):
        """Overwrites the oldest records (n x recordBytes, host)."""
        start = 0
        while start < len(records):
            count = min(len(records) - start, self.capacity - self.next)
            self.records[self.next:self.next + count].copy_(records[start:start + count], non_blocking=True)
            self.next = (self.next + count) % self.capacity
            self.filled = min(self.capacity, self.filled + count)
            start += count
        self.received += len(records)

    def _recycle(self, reader):
        while self._in_flight and (self._in_flight[0][0] is None or self._in_flight[0][0].query()):
            reader.free.put(self._in_flight.pop(0)[1])

    def batch(self, size):
        """Raw records of one batch (size x recordBytes, on the device)."""
        if self._at + size > len(self._order) or self.filled > REDRAW_GROWTH * len(self._order):
            self._order = torch.randperm(self.filled)
            while len(self._order) < size:
                self._order = torch.cat((self._order, torch.randperm(self.filled)))
            self._order = self._order.to(self.device)
            self._at = 0
        chosen = self._order[self._at:self._at + size]
        self._at += size
        self.drawn += size
        return self.records.index_select(0, chosen)

    @property
    def reuse(self):
        """How often a received view has been used on average."""
        return self.drawn / max(1, self.received)


def read_all(folder, record_bytes):
    """All records of a folder's shards (n x recordBytes, host, uint8)."""
    parts = []
    for path in sorted(Path(folder).glob("shard-*.bin")):
        size = path.stat().st_size
        if size == 0 or size % record_bytes:
            raise ValueError(f"{path.name}: {size} bytes are no whole number of records of {record_bytes}")
        parts.append(torch.from_file(str(path), size=size, dtype=torch.uint8).view(-1, record_bytes).clone())
    if not parts:
        raise ValueError("the held-out folder holds no shards")
    return torch.cat(parts)
