#!/usr/bin/env bash
# Sums the counters of all TRX files below the given folders: "N passed, N failed, N skipped". Fails when there are none.
set -euo pipefail

counter() { # NAME FILE
    grep -o '<Counters [^>]*>' "$2" | grep -o " $1=\"[0-9]*\"" | grep -o '[0-9]*' | paste -sd+ - | bc_or_zero
}
bc_or_zero() { local sum; read -r sum || true; echo $((${sum:-0})); }

passed=0 failed=0 skipped=0 files=0
while IFS= read -r -d '' file; do
    total=$(counter total "$file")
    ok=$(counter passed "$file")
    bad=$(($(counter failed "$file") + $(counter error "$file") + $(counter timeout "$file") + $(counter aborted "$file")))
    passed=$((passed + ok))
    failed=$((failed + bad))
    skipped=$((skipped + total - ok - bad))
    files=$((files + 1))
done < <(find "$@" -name '*.trx' -print0 2>/dev/null)

((files > 0)) || exit 1
echo "$passed passed, $failed failed, $skipped skipped"
