#!/usr/bin/env bash
# Every page and picture in a real browser: an accessibility checker, widths from phone to desk, 200 % zoom, light and dark, paper.
# Needs node with npm, and Chromium (CHROMIUM names it, default /usr/bin/chromium). Screenshots and PDFs stay in the folder given,
# or in a new one of the system's.
set -euo pipefail
cd "$(dirname "$0")/.."
out=$(realpath -m "${1:-$(mktemp -d)}")
mkdir -p "$out"
rm -rf "$out/pages" "$out/seen"
for job in examples/demos/*/job.toml; do
  name=$(basename "$(dirname "$job")")
  cargo run --locked --release --quiet --example lateral_report -- "$job" --out "$out/pages/$name" >/dev/null
done
cargo run --locked --release --quiet --example lateral_compare -- examples/demos/before-relay/job.toml \
  examples/demos/after-relay/job.toml --same-head --out "$out/pages/before-and-after" >/dev/null
FALLWISE_PAGES="$out/pages" cargo test --locked --release --quiet -p fallwise-tests --test main pages:: >/dev/null
npm ci --prefix tests/look --no-audit --no-fund --silent
node tests/look/look.mjs "$out/pages" "$out/seen"
printf 'looked at: %s\n' "$out/seen"
