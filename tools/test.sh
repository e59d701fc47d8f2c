#!/usr/bin/env bash
# Builds everything and runs all tests. Ends with "N passed, N failed, N skipped" alone on a line.
# As root on Debian it first installs what the tests look for; elsewhere, tests that miss something say so and are skipped.
# With CI=true packages are restored from the lock files alone.
set -euo pipefail
cd "$(dirname "$0")/.."

export DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_NOLOGO=1 MSBUILDDISABLENODEREUSE=1
results=artifacts/test-results
needed_node=20.19.0
say() { echo "test.sh: $*" >&2; }

# --- what the tests look for ------------------------------------------------------------------------------------------
missing=()
command -v assimp >/dev/null || missing+=(assimp-utils)
command -v chromium >/dev/null || missing+=(chromium)
if ((${#missing[@]})); then
    if [[ $(id -u) -eq 0 ]] && command -v apt-get >/dev/null; then
        say "installing ${missing[*]}"
        { apt-get -qq update && DEBIAN_FRONTEND=noninteractive apt-get -qq install -y --no-install-recommends "${missing[@]}"; } >&2 ||
            say "can't install ${missing[*]}; tests that need it are skipped"
    else
        say "not root on Debian: without ${missing[*]}, tests that need it are skipped"
    fi
fi

node=$(node --version 2>/dev/null | sed 's/^v//' || true)
if [[ -n $node && $(printf '%s\n' "$needed_node" "$node" | sort -V | head -n 1) == "$needed_node" ]]; then
    (cd tests/gltf && npm ci --no-audit --no-fund --loglevel=error >&2) ||
        say "npm ci failed in tests/gltf; tests that need the glTF validator are skipped"
else
    say "Node $needed_node or newer isn't installed (${node:-none}); tests that need the glTF validator are skipped"
fi

if [[ -x tools/fetch-test-heads.sh ]]; then
    tools/fetch-test-heads.sh >&2 || say "test heads can't be fetched; tests that need them are skipped"
fi

# --- build and test ---------------------------------------------------------------------------------------------------
dotnet restore AutoPlace.sln >&2
dotnet build AutoPlace.sln --configuration Release --no-restore -nodeReuse:false >&2

rm -rf "$results"
status=0
# One project after the other: each keeps all cores busy, and a browser with half a core draws too slowly for people and tests.
dotnet test --solution AutoPlace.sln --configuration Release --no-build --max-parallel-test-modules 1 \
    --report-xunit-trx --results-directory "$PWD/$results" "$@" >&2 || status=$?

# --- the closing line, from what the tests reported themselves --------------------------------------------------------
line=$(tools/sum-trx.sh "$results") || { say "no test reported anything"; line="0 passed, 0 failed, 0 skipped"; status=1; }
[[ $line == *", 0 failed,"* ]] || status=1
echo "$line"
exit "$status"
