"""The contract between the trainer and the product: contract.txt, which both sides hash.

The product builds the same text from its own constants and refuses a model with another hash.
"""
import hashlib
from pathlib import Path

TEXT = (Path(__file__).parent / "contract.txt").read_text(encoding="utf-8")
SHA256 = hashlib.sha256(TEXT.encode("utf-8")).hexdigest()


def _named(kind):
    """Names of the contract's lines "KIND INDEX NAME", in order."""
    rows = [line.split() for line in TEXT.splitlines() if line.startswith(kind + " ")]
    names = [row[2] for row in rows]
    if [int(row[1]) for row in rows] != list(range(len(rows))):
        raise ValueError(f"contract.txt: lines of '{kind}' are not numbered 0, 1, 2 ...")
    return names


CHANNELS = _named("channel")
LANDMARKS = _named("landmark")
CLASSES = _named("class")
INPUT = "views"
OUTPUTS = [line.split()[1] for line in TEXT.splitlines() if line.startswith("output ")]
INPUT_SIZE = 256
MAP_SIZE = 64
CELL = INPUT_SIZE // MAP_SIZE
WINDOW = 5
HALF_SIZES = {"whole": 2.0, "close": 1.35}
VIEWS = {
    "whole": {"halfSize": 2.0, "centre": [0, -0.55, -0.5], "yaw": [-35, 0, 35]},
    "close": {"halfSize": 1.35, "centre": [0, -0.70, 0.30], "yaw": [-35, 0, 35]},
}

# Classes whose cells carry an atlas point: skin and eyeball.
ATLAS_CLASSES = (CLASSES.index("head_skin"), CLASSES.index("eyeball"))


def mirror_permutation():
    """For each landmark, the index of its mirror image; its own for a landmark of the midline."""
    def mirrored(name):
        if name.endswith("_left"):
            return name[:-5] + "_right"
        if name.endswith("_right"):
            return name[:-6] + "_left"
        return name

    return [LANDMARKS.index(mirrored(name)) for name in LANDMARKS]
