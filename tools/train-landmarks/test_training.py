"""Checks of the trainer's parts: python3 -m unittest"""
import json
import math
import tempfile
import unittest
from pathlib import Path

import numpy as np
import torch

import augment
import average
import contract
import evaluate
import export
import fake_records
import finder
import losses
import network
import records
import stream
import warm_start


def batch_of(count, seed=0):
    layout = records.Layout(fake_records.layout())
    random = np.random.default_rng(seed)
    raw = np.zeros((count, layout.record_bytes), np.uint8)
    for row in raw:
        fake_records.record(random, layout, row)
    return records.decode(torch.from_numpy(raw), layout), torch.from_numpy(raw), layout


def gaussian_map(x, y, sigma=1.2):
    """Logits of a Gaussian (cells) at input pixel (x, y)."""
    centres = (torch.arange(contract.MAP_SIZE) + 0.5) * contract.CELL
    squared = (centres[None, :] - x) ** 2 + (centres[:, None] - y) ** 2
    return -squared / (2 * (sigma * contract.CELL) ** 2)


class Decoding(unittest.TestCase):
    def test_narrow_blob_is_decoded_to_its_centre(self):
        maps = torch.stack([gaussian_map(100.7, 61.2, 0.6), gaussian_map(201.1, 30.9, 0.6)])[None]
        found = losses.decode_positions(maps)[0]
        self.assertTrue(torch.allclose(found, torch.tensor([[100.7, 61.2], [201.1, 30.9]]), atol=0.05), found)

    def test_window_is_cut_at_the_border(self):
        maps = torch.full((1, 1, 64, 64), -50.0)
        maps[0, 0, 0, 63] = 0.0
        self.assertTrue(torch.allclose(losses.decode_positions(maps)[0, 0], torch.tensor([254.0, 2.0]), atol=1e-4))

    def test_cross_entropy_is_least_at_the_target(self):
        position = torch.tensor([[[100.7, 61.2]]])
        at, beside = (losses.heatmap_cross_entropy(gaussian_map(x, 61.2)[None, None], position) for x in (100.7, 106.0))
        self.assertLess(float(at), float(beside))
        entropy = math.log(2 * math.pi * math.e * losses.TARGET_SIGMA ** 2)  # of a continuous Gaussian, in cells
        self.assertAlmostEqual(float(at), entropy, delta=0.01)


class Augmentation(unittest.TestCase):
    def test_mirror_twice_is_nothing(self):
        batch, _, _ = batch_of(6)
        before = {k: v.clone() for k, v in batch.items()}
        every = torch.ones(6, dtype=torch.bool)
        augment.mirror(batch, every)
        self.assertFalse(torch.equal(batch["images"], before["images"]))
        augment.mirror(batch, every)
        for name, value in before.items():
            self.assertTrue(torch.allclose(batch[name].double(), value.double(), atol=1e-4), name)

    def test_mirrored_atlas_stays_on_the_mirrored_pixel(self):
        """In the blobs a cell's atlas x is proportional to its distance from the centre, so both flips must agree."""
        batch, _, _ = batch_of(6)
        augment.mirror(batch, torch.ones(6, dtype=torch.bool))
        for i in range(6):
            valid = batch["atlas_valid"][i]
            if valid.any():
                columns = torch.arange(contract.MAP_SIZE).expand(contract.MAP_SIZE, -1)[valid].float()
                x = batch["atlas"][i, 0][valid]
                self.assertGreater(float(np.corrcoef(columns, x)[0, 1]), 0.999)

    def test_cut_views_lose_what_was_cut(self):
        batch, _, _ = batch_of(8)
        augment.cut(batch, 8)
        ignored = batch["classes"] == augment.IGNORED_CLASS
        self.assertTrue(ignored.any())
        self.assertFalse((batch["atlas_valid"] & ignored).any())

    def test_normals_stay_unit_vectors(self):
        batch, _, _ = batch_of(8)
        images = augment.augment(batch)["images"]
        length = images[:, 1:4].norm(dim=1)[images[:, 4] > 0]
        self.assertLess(float((length - 1).abs().max()), 0.02)


class Ring(unittest.TestCase):
    def test_newest_records_stay_and_use_is_even(self):
        ring = stream.ReplayRing(10, 4, torch.device("cpu"))
        for i in range(3):
            ring.add(torch.full((4, 4), i, dtype=torch.uint8))
        self.assertEqual(sorted(ring.records[:, 0].tolist()), [0, 0, 1, 1, 1, 1, 2, 2, 2, 2])
        drawn = torch.cat([ring.batch(5)[:, 0] for _ in range(2)])
        self.assertEqual(sorted(drawn.tolist()), [0, 0, 1, 1, 1, 1, 2, 2, 2, 2])


class Learning(unittest.TestCase):
    def test_narrow_network_learns_a_batch(self):
        torch.manual_seed(0)
        batch, _, _ = batch_of(6)
        model = network.LandmarkNetwork(0.25)
        optimizer = torch.optim.AdamW(model.parameters(), lr=3e-3)
        first = last = None
        for step in range(25):
            terms = losses.loss_terms(model(batch["images"]), batch, 1.0)
            last = {k: float(v) for k, v in terms.items()}
            first = first or last
            optimizer.zero_grad()
            sum(terms.values()).backward()
            optimizer.step()
        for name in first:
            self.assertLess(last[name], first[name], name)

    def test_folded_batch_norm_equals_the_network(self):
        torch.manual_seed(1)
        norm = network.ConvNorm(5, 7, stride=2)
        norm.train()
        norm(torch.randn(4, 5, 16, 16) * 3 + 1)
        norm.eval()
        x = torch.randn(2, 5, 16, 16)
        weight, bias = norm.folded()
        folded = torch.relu(torch.nn.functional.conv2d(x.double(), weight, bias, stride=2, padding=1))
        self.assertTrue(torch.allclose(folded.float(), norm(x), atol=1e-5))


class Export(unittest.TestCase):
    def test_graph_is_valid_and_has_the_contracts_outputs(self):
        model = export.build(network.LandmarkNetwork(0.125).eval())
        self.assertEqual([o.name for o in model.graph.output], contract.OUTPUTS)
        self.assertEqual(model.opset_import[0].version, export.OPSET)


class WarmStart(unittest.TestCase):
    def test_network_started_from_a_model_computes_the_same(self):
        torch.manual_seed(4)
        images = batch_of(4)[0]["images"]
        released = network.LandmarkNetwork(0.125)
        with torch.no_grad():
            for module in released.modules():
                if isinstance(module, torch.nn.BatchNorm2d):
                    module.weight.uniform_(0.3, 1.5)
                    module.bias.normal_(0, 0.3)
            for _ in range(10):
                released.train()(images)  # statistics that aren't those of a new network
        started = network.LandmarkNetwork(0.125)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "model.onnx"
            path.write_bytes(export.build(released.eval()).SerializeToString())
            path.with_name("model.json").write_text(json.dumps({"contract": contract.SHA256}))
            warm_start.load(started, path)
        self.assert_same(released, started.eval(), images, 1e-4)
        warm_start.settle(started, [images])
        self.assert_same(released, started.eval(), images, 1e-4)
        # The statistics are those of the images, so with them it computes the same in training, too.
        self.assert_same(released, started.train(), images, 1e-3)

    def assert_same(self, expected, found, images, tolerance):
        with torch.no_grad():
            expected, found = expected(images), found(images)
        for name, value in expected.items():
            difference = float((found[name] - value).abs().max() / value.abs().max())
            self.assertLess(difference, tolerance, name)


class Average(unittest.TestCase):
    def test_weights_are_the_means_of_those_of_the_models(self):
        torch.manual_seed(6)
        with tempfile.TemporaryDirectory() as folder:
            paths = [Path(folder) / name / "model.onnx" for name in ("a", "b")]
            for path in paths:
                path.parent.mkdir()
                path.write_bytes(export.build(network.LandmarkNetwork().eval()).SerializeToString())
                path.with_name("model.json").write_text(json.dumps({"contract": contract.SHA256}))
            mean, models = average.average(paths)
            alone, _ = average.average(paths[:1] * 2)
        for key, value in mean.state_dict().items():
            if value.is_floating_point():
                halves = [model.state_dict()[key] for model in models]
                torch.testing.assert_close(value, (halves[0] + halves[1]) / 2, msg=key)
                torch.testing.assert_close(alone.state_dict()[key], halves[0], msg=key)


class Evaluation(unittest.TestCase):
    def test_auroc_by_pairs(self):
        score, label = torch.tensor([0.1, 0.4, 0.35, 0.8, 0.4]), torch.tensor([False, False, True, True, True])
        pairs = [(1.0 if p > n else 0.5 if p == n else 0.0) for p in score[label] for n in score[~label]]
        self.assertAlmostEqual(evaluate.auroc(score, label), sum(pairs) / len(pairs))

    def test_calibration_of_a_true_laplace_distribution(self):
        error = torch.distributions.Laplace(0.0, 2.0).sample((200_000,))
        found = evaluate.calibration(error, torch.full((200_000,), math.log(2.0)))
        self.assertAlmostEqual(found["mean_ratio"], 1, delta=0.02)
        self.assertAlmostEqual(found["within_50"], 0.5, delta=0.01)
        self.assertAlmostEqual(found["within_90"], 0.9, delta=0.01)


class Finder(unittest.TestCase):
    def heads(self, count):
        """Frames of heads (count x 13), and views whose only pixel shows where the head is and bears its front as normal."""
        axes = torch.linalg.qr(torch.randn(count, 3, 3, dtype=torch.float64))[0].float()
        axes = axes * torch.linalg.det(axes)[:, None, None].sign()
        place = torch.randint(0, contract.INPUT_SIZE, (count, 2))
        frame = torch.cat((axes.flatten(1), place + 0.5, torch.rand(count, 2) * 0.2 + 0.1), 1)
        images = torch.zeros(count, len(contract.CHANNELS), contract.INPUT_SIZE, contract.INPUT_SIZE)
        rows, (x, y) = torch.arange(count), place.unbind(1)
        images[rows, 4, y, x] = 1
        images[rows, 1:4, y, x] = axes[:, 2]
        return images, frame

    def test_turned_views_keep_their_heads(self):
        torch.manual_seed(1)
        images, frame = finder.turn(*self.heads(40))
        left, up, front = frame[:, 0:3], frame[:, 3:6], frame[:, 6:9]
        torch.testing.assert_close(torch.cross(up, front, dim=1), left)
        for view, known in zip(images, frame):
            (y, x), = view[4].nonzero().tolist()
            self.assertEqual([x + 0.5, y + 0.5], known[9:11].tolist())
            torch.testing.assert_close(view[1:4, y, x], known[6:9])

    def test_map_that_says_the_truth_is_read_as_the_truth_and_costs_least(self):
        torch.manual_seed(2)
        _, frame = self.heads(6)
        is_head = torch.ones(6, dtype=torch.bool)
        true = self.map_of(frame)
        angle, away, size = finder.errors(finder.proposals(true), frame)
        self.assertLess(float(angle.max()), 0.1)
        self.assertLess(float(away.max()), 1e-3)
        self.assertLess(float(size.max()), 1e-4)
        least = {name: float(value) for name, value in finder.loss_terms(true, frame, is_head).items()}
        for plane, term in ((1, "turn"), (5, "turn"), (7, "place"), (9, "size"), (10, "depth")):
            worse = true.clone()
            worse[:, plane] += 0.3
            self.assertGreater(float(finder.loss_terms(worse, frame, is_head)[term]), least[term] + 0.01, term)

    def map_of(self, frame):
        """The map that says of each cell what a view of such a head should."""
        centres = (torch.arange(finder.CELLS) + 0.5) * finder.CELL
        out = torch.zeros(len(frame), finder.CHANNELS, finder.CELLS, finder.CELLS)
        out[:, 0] = 20 * (finder.target(frame, torch.ones(len(frame), dtype=torch.bool)) > 0.999) - 10
        out[:, 1:4], out[:, 4:7] = frame[:, 6:9, None, None], frame[:, 3:6, None, None]
        out[:, 7] = (frame[:, 9, None, None] - centres[None, None, :]) / finder.CELL
        out[:, 8] = (frame[:, 10, None, None] - centres[None, :, None]) / finder.CELL
        out[:, 9], out[:, 10] = frame[:, 12, None, None].log(), frame[:, 11, None, None]
        return out


if __name__ == "__main__":
    unittest.main()
