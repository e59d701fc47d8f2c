#!/usr/bin/env python3
"""Stands in for the generator in smoke tests: the same commands, records of simple blobs with true labels.

A head is an ellipsoid in a random place; its landmarks lie at fixed points of it, each marked by a bump in depth, and the
atlas point of a pixel is its direction from the centre. A network that works learns it within a few hundred steps.
"""
import argparse
import json
import os
import sys
import time
from pathlib import Path

import numpy as np

import contract
import records

S, M, L = contract.INPUT_SIZE, contract.MAP_SIZE, len(contract.LANDMARKS)
BITS = records.BITS_OF_DTYPE


def layout():
    fields, offset = [], 0
    for name, (dtype, count) in records.REQUIRED.items():
        fields.append({"name": name, "dtype": dtype, "shape": [count], "offset": offset})
        offset += count * BITS[dtype] // 8
    return {"recordBytes": (offset + 63) // 64 * 64, "fields": fields}


def landmark_directions():
    """Fixed points on the front of the unit sphere, L x 3, mirrored pairs mirrored."""
    random = np.random.default_rng(7)
    points = random.uniform(-0.75, 0.75, (L, 2))
    for i, j in enumerate(contract.mirror_permutation()):
        if i == j:
            points[i, 0] = 0
        elif j > i:
            points[i, 0] = abs(points[i, 0])
            points[j] = points[i] * (-1, 1)
    points *= np.minimum(1, 0.9 / np.linalg.norm(points, axis=1, keepdims=True))
    return np.concatenate((points, np.sqrt(1 - (points ** 2).sum(1, keepdims=True))), 1)


DIRECTIONS = landmark_directions()


def draw(size, centre, radii, bumps):
    """Depth (nan outside) and unit-sphere points of the ellipsoid at a grid of size x size pixel centres."""
    scale = S / size
    y, x = np.mgrid[0:size, 0:size]
    u = ((x + 0.5) * scale - centre[0]) / radii[0]
    v = (centre[1] - (y + 0.5) * scale) / radii[1]
    rest = 1 - u * u - v * v
    w = np.sqrt(np.maximum(rest, 0))
    depth = w * 0.4
    if bumps is not None:
        for (bx, by), height in bumps:
            d2 = ((x + 0.5) * scale - bx) ** 2 + ((y + 0.5) * scale - by) ** 2
            depth = depth + height * np.exp(-d2 / 18)
    return np.where(rest > 0, depth, np.nan), np.stack((u, v, w), 2)


def record(random, fields, raw):
    """Fills one record (uint8 array)."""
    def put(name, values):
        dtype, count, offset = fields.fields[name]
        raw[offset:offset + count * BITS[dtype] // 8] = np.ascontiguousarray(values, dtype=dtype).view(np.uint8).ravel()

    kind = random.choice(5, p=[0.35, 0.25, 0.25, 0.075, 0.075])
    centre = random.uniform(100, 156, 2)
    radii = random.uniform(55, 85, 2)
    present = random.random(L) < 0.92
    visible = present & (random.random(L) < 0.9)
    xy = centre + DIRECTIONS[:, :2] * radii * (1, -1)
    bumps = [(p, 0.05 + 0.003 * i) for i, p in enumerate(xy) if visible[i]] if kind < 3 else None
    depth, sphere = draw(S, centre, radii, bumps)
    mask = ~np.isnan(depth)
    dy, dx = np.gradient(np.nan_to_num(depth) * S / 2)
    normal = np.stack((-dx, dy, np.ones_like(dx)), 2)
    normal /= np.linalg.norm(normal, axis=2, keepdims=True)
    put("depth", np.where(mask, 1 + np.round((np.clip(np.nan_to_num(depth), -2, 2) + 2) / 4 * 65534), 0))
    put("normal", np.round(normal * 127) * mask[..., None])
    put("border", (sphere[..., 1] > 0.9) & mask)
    cells, cell_sphere = draw(M, centre, radii, None)
    shown = ~np.isnan(cells)
    put("classes", np.where(shown, 1 if kind < 3 else 5, 0))
    put("atlas", np.where(shown[..., None] & (kind < 3), cell_sphere * (1, 1, 1), 0))
    put("landmarks", np.concatenate((xy, DIRECTIONS[:, 2:] * 0.4), 1))
    put("flags", present * records.PRESENT + visible * records.VISIBLE if kind < 3 else np.zeros(L))
    put("facing", [kind < 3])
    put("kind", [kind])
    put("crop", [random.integers(2)])


def generate(options):
    fields = records.Layout(layout())
    out = Path(options.out)
    out.mkdir(parents=True, exist_ok=True)
    random = np.random.default_rng(options.seed + (1 << 20 if options.held_out else 0))
    for shard in range(options.shards):
        while options.max_pending and len(list(out.glob("shard-*.bin"))) >= options.max_pending:
            time.sleep(0.05)
        raw = np.zeros((options.shard_records, fields.record_bytes), np.uint8)
        for row in raw:
            record(random, fields, row)
        path = out / f"shard-{shard:06d}.bin"
        raw.tofile(path.with_suffix(".tmp"))
        os.replace(path.with_suffix(".tmp"), path)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("layout")
    command = commands.add_parser("generate")
    for name, default in (("out", None), ("morphable", ""), ("seed", 0), ("shard-records", 256), ("shards", 4),
                          ("threads", 1), ("max-pending", 0), ("views-per-head", 1)):
        command.add_argument("--" + name, default=default, type=str if name in ("out", "morphable") else int)
    command.add_argument("--held-out", action="store_true")
    options = parser.parse_args()
    if options.command == "layout":
        json.dump(layout(), sys.stdout)
    else:
        generate(options)


if __name__ == "__main__":
    main()
