#!/usr/bin/env bash
# The slow proofs: the same properties, random problems and simulations as in tests/all.sh, many more of them; then all pages in
# a browser (tests/look.sh), which needs node and Chromium; drawings of all demos read and audited by a general library, which needs
# python3; then a city on one machine, on Dask and on Spark (tests/city.sh), which needs Linux, python3 and Java; then each reader fuzzed
# for FUZZ_SECONDS (default 120), which needs a nightly compiler.
set -euo pipefail
cd "$(dirname "$0")/.."
export PROPTEST_CASES="${PROPTEST_CASES:-2000}"
export FALLWISE_STUDY=full
cargo test --locked --release --workspace --tests --no-fail-fast

# The C binding: random calls, valgrind, sanitizers.
bash bindings/c/slow.sh

# The same bits with wider vector instructions, built in a folder of its own.
if grep -qw avx2 /proc/cpuinfo 2>/dev/null; then
  RUSTFLAGS="-C target-cpu=x86-64-v3" cargo test --locked --release -p fallwise-same-bits --target-dir target/v3
fi

unseen=
if command -v node >/dev/null && command -v npm >/dev/null && [ -x "${CHROMIUM:-/usr/bin/chromium}" ]; then
  bash tests/look.sh
else
  unseen="node, npm or Chromium is missing"
fi

unread=
drawings=$(mktemp -d)
trap 'rm -rf "$drawings"' EXIT
if python3 -m venv "$drawings/venv" >/dev/null 2>&1 && "$drawings/venv/bin/pip" install --quiet ezdxf; then
  for job in examples/demos/*/job.toml; do
    name=$(basename "$(dirname "$job")")
    cargo run --locked --release --quiet --example lateral_report -- "$job" --out "$drawings/$name" >/dev/null
  done
  "$drawings/venv/bin/python" tests/dxf_check.py "$drawings"/*/*.dxf
else
  unread="python3 with venv, or the package ezdxf, is not to be had"
fi

# A city on one machine, on Dask and on Spark, workers killed; 3 says that something for it is not to be had.
city=0
bash tests/city.sh || city=$?
[ "$city" -eq 0 ] || [ "$city" -eq 3 ] || exit "$city"

skipped=
if ! cargo +nightly --version >/dev/null 2>&1; then
  skipped="no nightly compiler; \`rustup toolchain install nightly\` brings one"
elif ! cargo fuzz --version >/dev/null 2>&1 && ! cargo install --locked cargo-fuzz; then
  skipped="cargo-fuzz could not be installed"
else
  bash tests/fuzz/run.sh
fi
if [ -n "$unread" ]; then
  printf '\nDRAWINGS NOT AUDITED: %s\n' "$unread"
fi
if [ -n "$skipped" ]; then
  printf '\nNOT FUZZED: %s\n' "$skipped"
fi
if [ -n "$unseen" ]; then
  printf '\nPAGES NOT LOOKED AT: %s\n' "$unseen"
fi
if [ "$city" -eq 3 ]; then
  printf '\nCITY NOT SOLVED ON EVERY ENGINE: see above\n'
fi
printf '\nall slow proofs passed%s%s%s%s\n' "${skipped:+, but for fuzzing, which was skipped}" "$([ "$city" -eq 0 ] || printf ', but for the city')" \
  "${unseen:+, but for the pages, which were not looked at}" "${unread:+, but for the drawings, which were not audited}"
