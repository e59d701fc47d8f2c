#!/usr/bin/env bash
# Places every mesh of a folder of things that are no heads and says which are taken for one; about five seconds each.
#
#   tools/check-non-heads.sh [FOLDER]      default: artifacts/test-heads/non-heads, which tools/fetch-test-heads.sh fills
#
# Fails when one is. Uses the release build of autoplace, or what AUTOPLACE names.
set -uo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
folder=${1:-$root/artifacts/test-heads/non-heads}
autoplace=${AUTOPLACE:-$(find "$root/artifacts/bin/AutoPlace.Cli" -path '*release*' -name autoplace -type f | head -n 1)}
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT

total=0 taken=0
for mesh in "$folder"/*; do
    [[ -f $mesh ]] || continue
    total=$((total + 1))
    said=$("$autoplace" place "$mesh" -o "$out/placement" 2>&1 > /dev/null)
    code=$?
    if ((code == 4)); then
        echo "$said"
    else
        taken=$((taken + 1))
        echo "$(basename "$mesh"): exit code $code where 4 should be${said:+: $said}"
    fi
    rm -rf "$out/placement"
done
echo "$taken of $total taken for a head or not read"
((total > 0 && taken == 0))
