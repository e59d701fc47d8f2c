"""Network, averaged network and optimizer: one training step, final statistics, checkpoints."""
import copy
import math
import os
import time

import torch
import torch.distributed as dist

import contract
import export
import losses
import network
import warm_start

FINAL_RATE = 0.005  # of the peak learning rate, at the end of the cosine
EMA_STEPS = 500
GRADIENT_NORM = 5.0
TIMING_STEPS = 6


class Trainer:
    """Network, averaged network, optimizer and one step of them."""

    def __init__(self, run):
        self.run, options = run, run.options
        self.model = network.LandmarkNetwork(options.width).to(run.device).to(memory_format=torch.channels_last)
        if options.resume:
            export.load_weights(self.model, options.resume)
            run.say(f"resumed from {options.resume}")
        if options.from_model:
            warm_start.load(self.model, options.from_model)
            run.say(f"started from {options.from_model}")
        self.parameters = [p for p in self.model.parameters()]
        self._share_gradient()
        self.ema = copy.deepcopy(self.model)
        self.ema_parameters = [p for p in self.ema.parameters()]
        decayed = [p for p in self.parameters if p.ndim > 1]
        plain = [p for p in self.parameters if p.ndim <= 1]
        self.optimizer = torch.optim.AdamW(
            [{"params": decayed, "weight_decay": options.weight_decay}, {"params": plain, "weight_decay": 0.0}],
            lr=options.learning_rate, betas=(0.9, 0.99), **({"fused": True} if run.cuda else {}))
        self.forward = self.model
        self.steps, self.rate_gain, self.progress = 0, 1.0, options.schedule[0]
        self.skipped, self.norms = torch.zeros(2, device=run.device).unbind()
        self.sums, self.summed = {}, 0

    def _share_gradient(self):
        """Makes every gradient a view of one flat tensor: one all-reduce, one norm."""
        self.gradient = torch.zeros(sum(p.numel() for p in self.parameters), device=self.run.device)
        offset = 0
        for p in self.parameters:
            p.grad = torch.as_strided(self.gradient, p.size(), p.stride(), offset)
            offset += p.numel()

    def settle(self, source):
        """After --from-model: batch norms measure what real views put into them; what the network computes stays the same."""
        warm_start.settle(self.model, (source.batch()["images"] for _ in range(warm_start.BATCHES)))
        with torch.no_grad():
            for average, p in zip(self.ema_parameters, self.parameters):
                average.copy_(p)

    def step(self, batch):
        self.model.train()
        self._set_rate()
        self.gradient.zero_()
        with self.run.autocast():
            outputs = self.forward(batch["images"])
        terms = losses.loss_terms(outputs, batch, self.progress)
        terms = {name: value * self.run.options.loss.get(name, 1.0) for name, value in terms.items()}
        sum(terms.values()).backward()
        if self.run.world > 1:
            dist.all_reduce(self.gradient)
            self.gradient /= self.run.world
        # A step whose gradient isn't finite changes nothing but the moments' decay.
        norm = torch.linalg.vector_norm(self.gradient)
        finite = torch.isfinite(norm)
        clip = (GRADIENT_NORM / norm.clamp_min(GRADIENT_NORM))
        self.gradient.copy_(torch.where(finite, self.gradient * clip, torch.zeros_like(self.gradient)))
        self.skipped += (~finite).float()
        self.norms += torch.where(finite, norm, torch.zeros_like(norm))
        self.optimizer.step()
        self._average()
        self.steps += 1
        for name, value in terms.items():
            self.sums[name] = self.sums.get(name, 0) + value.detach()
        self.summed += 1

    def _set_rate(self):
        cosine = 0.5 * (1 + math.cos(math.pi * self.progress))
        rate = self.run.options.learning_rate * (FINAL_RATE + (1 - FINAL_RATE) * cosine)
        rate *= self.rate_gain * min(1.0, (self.steps + 1) / self.run.options.warm_up)
        for group in self.optimizer.param_groups:
            group["lr"] = rate
        self.rate = rate

    @torch.no_grad()
    def _average(self):
        weight = max(1 / EMA_STEPS, 9 / (10 + self.steps))
        torch._foreach_mul_(self.ema_parameters, 1 - weight)
        torch._foreach_add_(self.ema_parameters, self.parameters, alpha=weight)

    def report(self):
        """(mean loss terms, mean gradient norm, steps skipped) since the last report. Returns to the averaged weights when most steps were not finite."""
        means = {name: float(value) / self.summed for name, value in self.sums.items()}
        skipped, norm, summed = float(self.skipped), float(self.norms) / self.summed, self.summed
        self.sums, self.summed = {}, 0
        self.skipped.zero_()
        self.norms.zero_()
        if skipped > 0.5 * summed:
            self.run.say("most gradients were not finite: back to the averaged weights at half the rate")
            with torch.no_grad():
                for p, average in zip(self.parameters, self.ema_parameters):
                    p.copy_(average)
            self.optimizer.state.clear()
            self.rate_gain *= 0.5
        return means, norm, int(skipped)

    def choose_forward(self, images):
        """Takes torch.compile's version of the network if it compiles, runs and is faster."""
        def seconds(forward):
            for i in range(TIMING_STEPS + 2):
                if i == 2:
                    torch.cuda.synchronize()
                    begin = time.monotonic()
                with self.run.autocast():
                    outputs = forward(images)
                sum(v.float().mean() for v in outputs.values()).backward()
            torch.cuda.synchronize()
            self.gradient.zero_()
            return (time.monotonic() - begin) / TIMING_STEPS

        self.model.train()
        buffers = {k: v.clone() for k, v in self.model.named_buffers()}
        plain = seconds(self.model)
        text = f"forward and backward: {1000 * plain:.1f} ms"
        if self.run.options.compile == "auto":
            try:
                compiled = torch.compile(self.model)
                fast = seconds(compiled)
                text += f", compiled {1000 * fast:.1f} ms"
                if fast < plain:
                    self.forward = compiled
            except Exception as failure:  # any failure of the compiler only costs speed
                text += f", not compiled ({type(failure).__name__}: {str(failure)[:200]})"
        for name, buffer in self.model.named_buffers():
            buffer.copy_(buffers[name])
        self.run.say(text)

    @torch.no_grad()
    def refresh_statistics(self, source, count):
        """Measures the averaged network's batch-norm statistics anew."""
        norms = [m for m in self.ema.modules() if isinstance(m, torch.nn.BatchNorm2d)]
        for norm in norms:
            norm.reset_running_stats()
            norm.momentum = None  # cumulative mean
        self.ema.train()
        for _ in range(count):
            with self.run.autocast():
                self.ema(source.batch()["images"])
        self.ema.eval()

    @torch.no_grad()
    def averaged(self):
        """The averaged network with the running batch-norm statistics of the one in training."""
        for own, live in zip(self.ema.buffers(), self.model.buffers()):
            own.copy_(live)
        return self.ema

    def save(self, path, model):
        """Weights as float16 (statistics as they are): 6 MB, enough to resume or to export."""
        keep = {k: v.detach().cpu() for k, v in model.state_dict().items()}
        keep = {k: v.half() if v.is_floating_point() and "running" not in k else v.contiguous() for k, v in keep.items()}
        state = {"contract": contract.SHA256, "progress": self.progress, "steps": self.steps, "weights": keep}
        torch.save(state, str(path) + ".tmp")
        os.replace(str(path) + ".tmp", path)
