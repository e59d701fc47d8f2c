"""The landmark network: an encoder with residual blocks, a decoder with skips, and its heads (see README.md)."""
import torch
from torch import nn
from torch.nn import functional as F

import contract

STEM = 32
ENCODER = (56, 88, 120, 144, 160)  # channels at stride 4, 8, 16, 32, 64
ENCODER_BLOCKS = (1, 1, 2, 1, 1)
DECODER = (64, 88, 112, 136)  # channels at stride 4, 8, 16, 32
HEAD = 64  # channels of the features that a head reads
LOCAL = 48  # channels of the features read at each landmark

# Log scales are kept within these limits: Laplace scale 0.05 px to 200 px, and 0.0005 IOD to 5 IOD.
LOG_SCALE_PIXELS = (-3.0, 5.3)
LOG_SCALE_ATLAS = (-7.6, 1.6)


def _scaled(channels, width):
    return max(4, round(channels * width))


class ConvNorm(nn.Module):
    """Convolution, batch norm, and a ReLU where asked."""

    def __init__(self, inputs, outputs, size=3, stride=1, relu=True):
        super().__init__()
        self.conv = nn.Conv2d(inputs, outputs, size, stride, size // 2, bias=False)
        self.norm = nn.BatchNorm2d(outputs)
        self.relu = relu

    def forward(self, x):
        x = self.norm(self.conv(x))
        return F.relu(x) if self.relu else x

    def folded(self):
        """Weight and bias of the one convolution that equals both, as double."""
        gain = self.norm.weight.double() / torch.sqrt(self.norm.running_var.double() + self.norm.eps)
        weight = self.conv.weight.double() * gain[:, None, None, None]
        return weight, self.norm.bias.double() - self.norm.running_mean.double() * gain


class Residual(nn.Module):
    """Two 3x3 convolutions around which the input passes."""

    def __init__(self, channels):
        super().__init__()
        self.first = ConvNorm(channels, channels)
        self.second = ConvNorm(channels, channels, relu=False)

    def forward(self, x):
        return F.relu(x + self.second(self.first(x)))


def encoded(model, views):
    """What each level of an encoder (stem, down, encode) makes of views, the coarsest last."""
    x = model.stem(views)
    levels = []
    for down, encode in zip(model.down, model.encode):
        x = encode(down(x))
        levels.append(x)
    return levels


def initialise(model):
    """Random weights of all convolutions (He et al. 2015, eq. 14)."""
    for module in model.modules():
        if isinstance(module, nn.Conv2d):
            nn.init.kaiming_normal_(module.weight, mode="fan_out", nonlinearity="relu")


class LandmarkNetwork(nn.Module):
    """Views (N x 6 x 256 x 256) to the six outputs of the contract, as a dictionary."""

    def __init__(self, width=1.0):
        """width: factor on all channel counts, for tests; the product's network has 1."""
        super().__init__()
        landmarks, classes = len(contract.LANDMARKS), len(contract.CLASSES)
        stem, head_width, local_width = (_scaled(c, width) for c in (STEM, HEAD, LOCAL))
        encoder, decoder = [_scaled(c, width) for c in ENCODER], [_scaled(c, width) for c in DECODER]
        self.stem = ConvNorm(len(contract.CHANNELS), stem, size=5, stride=2)
        widths = [stem] + encoder
        self.down = nn.ModuleList(ConvNorm(a, b, stride=2) for a, b in zip(widths, widths[1:]))
        self.encode = nn.ModuleList(
            nn.Sequential(*(Residual(c) for _ in range(n))) for c, n in zip(encoder, ENCODER_BLOCKS))
        above = decoder[1:] + [encoder[-1]]
        self.lift = nn.ModuleList(ConvNorm(a, c, size=1, relu=False) for a, c in zip(above, decoder))
        self.skip = nn.ModuleList(ConvNorm(e, c, size=1, relu=False) for e, c in zip(encoder, decoder))
        self.decode = nn.ModuleList(Residual(c) for c in decoder)

        self.heat_features = ConvNorm(decoder[0], head_width)
        self.heat = nn.Conv2d(head_width, landmarks, 1)
        self.dense_features = ConvNorm(decoder[0], head_width)
        self.dense = nn.Conv2d(head_width, 4, 1)
        self.classes = nn.Conv2d(head_width, classes, 1)

        # What is at a landmark decides its scale and presence: features averaged under its heat map, the heat map's
        # peak, and the pooled bottleneck.
        self.local = nn.Conv2d(head_width, local_width, 1)
        self.pooled = nn.Linear(encoder[-1], local_width)
        self.landmark_bias = nn.Parameter(torch.zeros(landmarks, local_width))
        self.peak_gain = nn.Parameter(torch.zeros(1, local_width))
        self.at_landmark = nn.Linear(local_width, local_width)
        self.scale_weight = nn.Parameter(torch.randn(landmarks, local_width) * 0.05)
        self.scale_bias = nn.Parameter(torch.full((landmarks,), 1.5))
        self.presence_weight = nn.Parameter(torch.randn(landmarks, local_width) * 0.05)
        self.presence_bias = nn.Parameter(torch.zeros(landmarks))
        self.facing = nn.Linear(encoder[-1], 1)

        initialise(self)
        for head in (self.heat, self.dense, self.classes):
            nn.init.normal_(head.weight, std=0.01)
            nn.init.zeros_(head.bias)

    def forward(self, views):
        levels = encoded(self, views)
        x = levels[-1]
        pooled = x.mean((2, 3))
        for i in reversed(range(len(DECODER))):
            lifted = F.interpolate(self.lift[i](x), scale_factor=2.0, mode="nearest")
            x = self.decode[i](F.relu(lifted + self.skip[i](levels[i])))

        heat_features = self.heat_features(x)
        heatmaps = self.heat(heat_features).float().contiguous()
        dense_features = self.dense_features(x)
        scales, presence = self.landmark_heads(heatmaps, self.local(heat_features), pooled)
        return {
            "heatmaps": heatmaps,
            "scales": scales,
            "presence": presence,
            "dense": self.dense(dense_features).float(),
            "classes": self.classes(dense_features).float(),
            "facing": self.facing(pooled).float(),
        }

    def landmark_heads(self, heatmaps, features, pooled):
        """Log scale and presence logit of each landmark, N x 63 each."""
        # The heat maps get their gradient from the position losses alone.
        weights = torch.softmax(heatmaps.detach().flatten(2), 2)
        local = torch.matmul(weights.to(features.dtype), features.flatten(2).transpose(1, 2))
        peak = torch.log(weights.amax(2, keepdim=True) + 1e-6).to(features.dtype)
        context = self.pooled(pooled)[:, None, :]
        hidden = F.relu(local + self.landmark_bias + peak * self.peak_gain + context)
        hidden = F.relu(self.at_landmark(hidden)).float()
        scales = (hidden * self.scale_weight).sum(2) + self.scale_bias
        presence = (hidden * self.presence_weight).sum(2) + self.presence_bias
        return scales, presence


def cost(network):
    """(parameters, floating-point operations of one view counting a multiply-add as two)."""
    operations = 0

    def count(module, inputs, output):
        nonlocal operations
        if isinstance(module, nn.Conv2d):
            operations += 2 * module.weight[0].numel() * output[0].numel()
        else:
            operations += 2 * module.in_features * output[0].numel()

    hooks = [m.register_forward_hook(count) for m in network.modules() if isinstance(m, (nn.Conv2d, nn.Linear))]
    size = contract.INPUT_SIZE
    training = network.training
    network.eval()
    with torch.no_grad():
        network(torch.zeros(1, len(contract.CHANNELS), size, size, device=next(network.parameters()).device))
    network.train(training)
    for hook in hooks:
        hook.remove()
    if hasattr(network, "local"):
        operations += 2 * len(contract.LANDMARKS) * contract.MAP_SIZE ** 2 * network.local.out_channels
    return sum(p.numel() for p in network.parameters()), operations
