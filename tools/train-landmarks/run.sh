#!/usr/bin/env bash
# Trains the landmark network on all CUDA devices of this machine: run.sh GENERATOR MORPHABLE OUT MINUTES [train.py arguments]
set -euo pipefail
if [ $# -lt 4 ]; then
    echo "usage: run.sh GENERATOR MORPHABLE OUT MINUTES [train.py arguments]" >&2
    exit 2
fi
generator=$(realpath "$1")
morphable=$(realpath "$2")
out=$3
minutes=$4
shift 4
mkdir -p "$out"
here=$(dirname "$(realpath "$0")")
gpus=$(python3 -c 'import torch; print(torch.cuda.device_count())')
export PYTHONUNBUFFERED=1 OMP_NUM_THREADS=2
common=("$here/train.py" --generator "$generator" --morphable "$morphable" --out "$out" --minutes "$minutes" "$@")
if [ "$gpus" -gt 1 ]; then
    python3 -m torch.distributed.run --standalone --nproc_per_node "$gpus" "${common[@]}"
else
    python3 "${common[@]}"
fi
