#!/usr/bin/env bash
# Sums the counters of all TRX files below the given folders: "N passed, N failed, N skipped". Fails when there are none.
# Tests that failed are named on the error stream, each with the beginning of what it said.
set -euo pipefail

counter() { # NAME FILE
    grep -o '<Counters [^>]*>' "$2" | grep -o " $1=\"[0-9]*\"" | grep -o '[0-9]*' | paste -sd+ - | bc_or_zero
}
bc_or_zero() { local sum; read -r sum || true; echo $((${sum:-0})); }

failures() { # FILE
    tr '\n' ' ' <"$1" | sed 's/<UnitTestResult /\n&/g; s/<\/Results>/\n/g' | grep -E '^[^>]*outcome="(Failed|Error|Timeout|Aborted)"' |
        sed -E 's/^<UnitTestResult .*testName="([^"]*)".*<Message>([^<]{0,600}).*$/failed: \1: \2/; s/^<UnitTestResult .*testName="([^"]*)".*/failed: \1/' || true
}

passed=0 failed=0 skipped=0 files=0
while IFS= read -r -d '' file; do
    total=$(counter total "$file")
    ok=$(counter passed "$file")
    bad=$(($(counter failed "$file") + $(counter error "$file") + $(counter timeout "$file") + $(counter aborted "$file")))
    passed=$((passed + ok))
    failed=$((failed + bad))
    skipped=$((skipped + total - ok - bad))
    files=$((files + 1))
    ((bad == 0)) || failures "$file" >&2
done < <(find "$@" -name '*.trx' -print0 2>/dev/null)

((files > 0)) || exit 1
echo "$passed passed, $failed failed, $skipped skipped"
