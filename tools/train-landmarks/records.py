"""Records as the generator writes them: their layout, and how a batch of raw bytes becomes tensors."""
import json
import subprocess

import torch

import contract

BITS_OF_DTYPE = {"uint8": 8, "int8": 8, "uint16": 16, "float16": 16, "int32": 32, "float32": 32}
# Torch has no arithmetic on uint16, so it is read as int16 and widened.
TORCH_DTYPES = {"uint8": torch.uint8, "int8": torch.int8, "uint16": torch.int16, "float16": torch.float16,
                "int32": torch.int32, "float32": torch.float32}
PRESENT, VISIBLE = 1, 2
KINDS = ("realistic", "warp", "stylised", "other frame", "no head")
FIRST_NEGATIVE_KIND = 3
DEPTH_STEPS = 65534.0

S, M, L = contract.INPUT_SIZE, contract.MAP_SIZE, len(contract.LANDMARKS)
REQUIRED = {"depth": ("uint16", S * S), "normal": ("int8", S * S * 3), "border": ("uint8", S * S),
            "classes": ("uint8", M * M), "atlas": ("float16", M * M * 3), "landmarks": ("float32", L * 3),
            "flags": ("uint8", L), "facing": ("uint8", 1), "kind": ("uint8", 1), "crop": ("uint8", 1)}


class Layout:
    """Where each field lies in a record.

    description: {"recordBytes": n, "fields": [{"name", "dtype", "shape", "offset"}]}, as `layout` prints it.
    Raises ValueError, naming the field, when a field is missing or isn't what the trainer expects.
    """

    def __init__(self, description):
        self.record_bytes = int(description["recordBytes"])
        self.fields = {}
        for field in description["fields"]:
            dtype, shape, count = field["dtype"], field["shape"], 1
            for n in shape if isinstance(shape, list) else [shape]:
                count *= int(n)
            self.fields[field["name"]] = (dtype, count, int(field["offset"]))
        for name, (dtype, count) in REQUIRED.items():
            found = self.fields.get(name)
            if found is None or found[:2] != (dtype, count):
                raise ValueError(f"record layout: field '{name}' should be {dtype} x {count}, is {found}")
            if found[2] % (BITS_OF_DTYPE[dtype] // 8) or found[2] + count * BITS_OF_DTYPE[dtype] // 8 > self.record_bytes:
                raise ValueError(f"record layout: field '{name}' at offset {found[2]} is unaligned or outside the record")

    @staticmethod
    def of(generator):
        """Layout that a generator binary prints."""
        printed = subprocess.run([generator, "layout"], check=True, capture_output=True, text=True).stdout
        return Layout(json.loads(printed))

    def field(self, raw, name):
        """Field of raw records (B x recordBytes, uint8) as B x count."""
        dtype, count, offset = self.fields[name]
        part = raw[:, offset:offset + count * BITS_OF_DTYPE[dtype] // 8].contiguous()
        return part.view(TORCH_DTYPES[dtype])


def decode(raw, layout):
    """Raw records (B x recordBytes, uint8) to a dictionary of tensors on the same device.

    images: B x 6 x 256 x 256 float32, channels of the contract; classes: B x 64 x 64 int64; atlas: B x 3 x 64 x 64 (IOD);
    atlas_valid: B x 64 x 64 bool; position: B x 63 x 2 pixels; depth: B x 63, z over half size; present, visible:
    B x 63 bool; facing: B float32; kind, crop: B int64.
    """
    batch = raw.shape[0]
    steps = layout.field(raw, "depth").view(batch, 1, S, S).to(torch.int32) & 0xFFFF
    mask = steps > 0
    images = torch.empty(batch, len(contract.CHANNELS), S, S, device=raw.device)
    images[:, 0:1] = torch.where(mask, (steps - 1).float() * (4 / DEPTH_STEPS) - 2, torch.zeros((), device=raw.device))
    images[:, 1:4] = layout.field(raw, "normal").view(batch, S, S, 3).permute(0, 3, 1, 2) * (1 / 127.0)
    images[:, 4:5] = mask
    images[:, 5] = layout.field(raw, "border").view(batch, S, S)

    classes = layout.field(raw, "classes").view(batch, M, M).long()
    kind = layout.field(raw, "kind").view(batch).long()
    valid = (classes == contract.ATLAS_CLASSES[0]) | (classes == contract.ATLAS_CLASSES[1])
    flags = layout.field(raw, "flags")
    landmarks = layout.field(raw, "landmarks").view(batch, L, 3)
    inside = ((landmarks[:, :, :2] >= 0) & (landmarks[:, :, :2] < S)).all(2)
    positive = (kind < FIRST_NEGATIVE_KIND)[:, None]
    present = ((flags & PRESENT) != 0) & inside & positive
    return {
        "images": images,
        "classes": classes,
        "atlas": layout.field(raw, "atlas").view(batch, M, M, 3).permute(0, 3, 1, 2).float(),
        "atlas_valid": valid & positive[:, :, None],
        "position": landmarks[:, :, :2].contiguous(),
        "depth": landmarks[:, :, 2].contiguous(),
        "present": present,
        "visible": present & ((flags & VISIBLE) != 0),
        "facing": layout.field(raw, "facing").view(batch).float(),
        "kind": kind,
        "crop": layout.field(raw, "crop").view(batch).long(),
    }
