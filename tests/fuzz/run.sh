#!/usr/bin/env bash
# Fuzzes whatever takes bytes from outside: `run.sh [log|job|rulebook|result|language|quantity|photo|live]...`, all of them without a
# name, each for FUZZ_SECONDS (default 120).
# Starts from the corpus; new inputs go to tests/fuzz/found (not committed). An input that fails a check, takes more than
# ten seconds or fills the memory stays in tests/fuzz/artifacts, and the run fails.
# `run.sh minimise [target]...` takes into the corpus what of found and corpus it takes to cover the code.
set -euo pipefail
cd "$(dirname "$0")"

# What the seeds' longest log and a large job need, and no more: small inputs are mutated faster.
longest=65536
# Ten seconds are hundreds of times what the slowest seed takes. 64 MB in one piece are a thousand times the longest input;
# 1 GB altogether is three times what the fuzzer itself comes to hold. The checks bound what a reader holds by the length
# of its own input; these two catch the rest.
limits=(-max_len="$longest" -timeout=10 -malloc_limit_mb=64 -rss_limit_mb=1024)

minimise=no
if [ "${1:-}" = minimise ]; then
  minimise=yes
  shift
fi
if [ $# -gt 0 ]; then targets=("$@"); else targets=(log job rulebook result language quantity photo live); fi

# Without the tracing of compares, which makes an input take five times as long; the dictionaries make up for it.
fuzz() { cargo +nightly fuzz run --fuzz-dir . --no-trace-compares "$@"; }

for target in "${targets[@]}"; do
  corpus="corpus/$target" found="found/$target"
  mkdir -p "$found" "artifacts/$target"
  if [ "$minimise" = yes ]; then
    kept=$(mktemp -d)
    trap 'rm -rf "$kept"' EXIT
    # Few inputs that cover all branches between them; how often each is taken (counters) would keep ten times as many.
    fuzz "$target" "$kept" "$corpus" "$found" -- -set_cover_merge=1 -use_counters=0 "${limits[@]}" \
      -artifact_prefix="artifacts/$target/"
    # Made-up names are digests; a file with another name is the input of a fault that was mended, and stays.
    for file in "$corpus"/*; do
      [[ ! "${file##*/}" =~ ^[0-9a-f]{40}$ ]] || rm "$file"
    done
    cp "$kept"/* "$corpus"
  else
    words=()
    [ ! -e "dictionaries/$target.dict" ] || words=(-dict="dictionaries/$target.dict")
    fuzz "$target" "$found" "$corpus" -- "${limits[@]}" "${words[@]}" \
      -max_total_time="${FUZZ_SECONDS:-120}" -print_final_stats=1 -artifact_prefix="artifacts/$target/"
  fi
done
