#!/usr/bin/env bash
# Places a head by the service and prints its joints: place.sh ADDRESS HEAD
set -euo pipefail
address=$1 head=$2
[[ -z ${AUTOPLACE_API_KEY:-} ]] || set -- -H "X-Api-Key: $AUTOPLACE_API_KEY"
[[ -n ${AUTOPLACE_API_KEY:-} ]] || set --
ask() { curl --silent --show-error --fail-with-body "$@"; }
id() { sed -n 's/^{"id":"\([0-9a-f]*\)".*/\1/p'; }

uploaded=$(ask "$@" -F "file=@$head" "$address/v1/heads" | id)
placement=$(ask "$@" -X POST "$address/v1/heads/$uploaded/placements" | id)
ended=
# The stream of events stays open: whoever has heard enough hangs up.
while [[ -z $ended ]] && IFS= read -r line; do
    [[ $line =~ \"state\":\"(placed|failed|cancelled)\" ]] && ended=${BASH_REMATCH[1]}
done < <(exec curl --silent --show-error --fail-with-body --no-buffer "$@" "$address/v1/placements/$placement/events")
kill $! 2> /dev/null || true
[[ $ended == placed ]] || { ask "$@" "$address/v1/placements/$placement" >&2; exit 1; }
ask "$@" "$address/v1/placements/$placement/files/joints.csv"
