"""Measures a network on held-out views: landmark errors, presence, dense map, calibration of the predicted scales."""
import contextlib
import math

import torch

import augment
import contract
import losses
import network
import records

EYES = (contract.LANDMARKS.index("eye_centre_left"), contract.LANDMARKS.index("eye_centre_right"))
CROPS = ("whole", "close")
DENSE_STRIDE = 2  # every second cell of every second row of the dense map is measured
GROUPS = {
    "eye centre": ("eye_centre",), "canthus": ("exocanthion", "endocanthion"), "lid": ("lid_",), "brow": ("brow_", "glabella"),
    "nose": ("nasion", "pronasale", "subnasale", "alare", "nose_bridge", "nostril"),
    "mouth": ("cheilion", "stomion", "labiale", "crista", "lip_", "sublabiale"),
    "chin and jaw": ("pogonion", "menton", "jaw_line", "gonion"), "ear": ("tragion",),
}


@torch.no_grad()
def predict(model, raw, layout, device, autocast=contextlib.nullcontext, batch_size=128, coarse=1):
    """What evaluation needs of each view, on the host: a dictionary of tensors over all records (raw: n x recordBytes)."""
    model.eval()
    parts = []
    for start in range(0, len(raw), batch_size):
        batch = records.decode(raw[start:start + batch_size].to(device), layout)
        with autocast():
            out = model(augment.coarsen(batch["images"], coarse))
        thin = (..., slice(1, None, DENSE_STRIDE), slice(1, None, DENSE_STRIDE))
        correct = batch["classes"] == out["classes"].argmax(1)
        distance = out["dense"][:, :3] - batch["atlas"]
        parts.append({
            "error": losses.decode_positions(out["heatmaps"].float()) - batch["position"],
            "log_scale": out["scales"].clamp(*network.LOG_SCALE_PIXELS),
            "presence": out["presence"], "facing": out["facing"][:, 0],
            "interocular": interocular_pixels(batch),
            "dense_axis": distance[thin].permute(0, 2, 3, 1).half(),
            "dense_log_scale": out["dense"][:, 3][thin].clamp(*network.LOG_SCALE_ATLAS).half(),
            "class_correct": correct[thin], "classes": batch["classes"][thin], "atlas_valid": batch["atlas_valid"][thin],
            **{k: batch[k] for k in ("present", "visible", "kind", "crop")},
            "facing_label": batch["facing"] > 0.5,
        })
    return {key: torch.cat([p[key].cpu() for p in parts]) for key in parts[0]}


def interocular_pixels(batch):
    """Interocular distance in pixels: from the eye centres' labels, from the nominal crop where they aren't labelled."""
    eyes = batch["position"][:, EYES]
    apart = (eyes[:, 0] - eyes[:, 1]).square().sum(1)
    apart = apart + ((batch["depth"][:, EYES[0]] - batch["depth"][:, EYES[1]]) * (contract.INPUT_SIZE / 2)).square()
    nominal = torch.tensor([contract.INPUT_SIZE / 2 / contract.HALF_SIZES[c] for c in CROPS], device=eyes.device)
    known = batch["present"][:, EYES].all(1)
    return torch.where(known, apart.sqrt(), nominal[batch["crop"]])


def auroc(score, label):
    """Area under the ROC curve (rank sum, Mann-Whitney), None when one class is empty."""
    positive = int(label.sum())
    negative = len(label) - positive
    if positive == 0 or negative == 0:
        return None
    values, inverse, counts = torch.unique(score.double(), return_inverse=True, return_counts=True)
    upper = counts.cumsum(0).double()
    ranks = (upper - (counts.double() - 1) / 2)[inverse]
    return float((ranks[label].sum() - positive * (positive + 1) / 2) / (positive * negative))


def summary(values):
    """Median, mean and 95 % quantile, None when there are none."""
    if len(values) == 0:
        return None
    values = values.float()
    return {"median": float(values.median()), "mean": float(values.mean()),
            "p95": float(values.kthvalue(max(1, math.ceil(0.95 * len(values)))).values), "n": len(values)}


def calibration(axis_error, log_scale):
    """Mean of |error| / scale (1 when calibrated) and the shares of axis errors within the 50 % and 90 % limits."""
    if len(axis_error) == 0:
        return None
    ratio = axis_error.float().abs() / torch.exp(log_scale.float())
    return {"mean_ratio": float(ratio.mean()), "within_50": float((ratio < math.log(2)).float().mean()),
            "within_90": float((ratio < math.log(10)).float().mean())}


def measure(p):
    """All figures as a dictionary, ready for metrics.json, from the result of `predict`."""
    pixels = p["error"].norm(dim=2)
    percent = 100 * pixels / p["interocular"][:, None]
    metrics = {"views": len(pixels), "landmarks": {}, "dense": {}}

    def landmarks(name, views, columns=slice(None)):
        seen = p["visible"][:, columns] & views[:, None]
        hidden = p["present"][:, columns] & ~p["visible"][:, columns] & views[:, None]
        metrics["landmarks"][name] = {
            "visible_percent_iod": summary(percent[:, columns][seen]), "hidden_percent_iod": summary(percent[:, columns][hidden]),
            "visible_pixels": summary(pixels[:, columns][seen]),
            "calibration": calibration(p["error"][:, columns][seen], p["log_scale"][:, columns][seen][:, None].expand(-1, 2)),
            "presence_auroc": auroc(p["presence"][:, columns][views].flatten(), p["visible"][:, columns][views].flatten()),
        }

    def dense(name, views):
        valid = p["atlas_valid"] & views[:, None, None]
        axis = p["dense_axis"][valid].float()
        metrics["dense"][name] = {
            "percent_iod": summary(100 * axis.norm(dim=1)),
            "calibration": calibration(axis, p["dense_log_scale"][valid][:, None].expand(-1, 3)),
            "class_accuracy": float(p["class_correct"][views].float().mean()) if views.any() else None,
        }

    every = torch.ones(len(pixels), dtype=torch.bool)
    selections = {"all": every}
    selections.update({name: p["kind"] == i for i, name in enumerate(records.KINDS)})
    selections.update({f"crop {name}": p["crop"] == i for i, name in enumerate(CROPS)})
    for name, views in selections.items():
        landmarks(name, views)
        dense(name, views)
    for name, stems in GROUPS.items():
        landmarks(name, every, [i for i, n in enumerate(contract.LANDMARKS) if n.startswith(stems)])
    metrics["by_landmark"] = {
        n: summary(percent[:, i][p["visible"][:, i]]) for i, n in enumerate(contract.LANDMARKS)}
    metrics["class_accuracy"] = {
        n: float(p["class_correct"][p["classes"] == i].float().mean()) if (p["classes"] == i).any() else None
        for i, n in enumerate(contract.CLASSES)}
    metrics["facing_auroc"] = auroc(p["facing"], p["facing_label"])
    return metrics


def table(metrics):
    """The figures as lines of text."""
    def number(value, key=None, digits=2):
        value = value[key] if value is not None and key is not None else value
        return "-" if value is None else f"{value:.{digits}f}"

    lines = [f"{'landmarks, % of IOD (2-D)':26}{'median':>8}{'mean':>8}{'95 %':>8}{'hidden':>8}{'px':>7}"
             f"{'|e|/b':>7}{'<50 %':>7}{'<90 %':>7}{'presence':>9}{'n':>9}"]
    for name, m in metrics["landmarks"].items():
        v, c = m["visible_percent_iod"], m["calibration"]
        lines.append(f"{name:26}{number(v, 'median'):>8}{number(v, 'mean'):>8}{number(v, 'p95'):>8}"
                     f"{number(m['hidden_percent_iod'], 'median'):>8}{number(m['visible_pixels'], 'median'):>7}"
                     f"{number(c, 'mean_ratio'):>7}{number(c, 'within_50'):>7}{number(c, 'within_90'):>7}"
                     f"{number(m['presence_auroc'], None, 3):>9}{v['n'] if v else 0:>9}")
    lines.append(f"{'dense map, % of IOD':26}{'median':>8}{'mean':>8}{'95 %':>8}{'|e|/b':>15}{'<50 %':>7}{'<90 %':>7}{'classes':>9}")
    for name, m in metrics["dense"].items():
        v, c = m["percent_iod"], m["calibration"]
        lines.append(f"{name:26}{number(v, 'median'):>8}{number(v, 'mean'):>8}{number(v, 'p95'):>8}{number(c, 'mean_ratio'):>15}"
                     f"{number(c, 'within_50'):>7}{number(c, 'within_90'):>7}{number(m['class_accuracy'], None, 3):>9}")
    lines.append("class accuracy: " + ", ".join(f"{n} {number(a, None, 3)}" for n, a in metrics["class_accuracy"].items()))
    lines.append(f"facing AUROC {number(metrics['facing_auroc'], None, 4)}, {metrics['views']} views")
    return "\n".join(lines)
