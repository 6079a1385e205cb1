#!/usr/bin/env bash
# The slow proofs: the same properties, random problems and simulations as in tests/all.sh, many more of them; then each
# reader fuzzed for FUZZ_SECONDS (default 120), which needs a nightly compiler.
set -euo pipefail
cd "$(dirname "$0")/.."
export PROPTEST_CASES="${PROPTEST_CASES:-2000}"
export FALLWISE_STUDY=full
cargo test --locked --release --workspace --tests --no-fail-fast

skipped=
if ! cargo +nightly --version >/dev/null 2>&1; then
  skipped="no nightly compiler; \`rustup toolchain install nightly\` brings one"
elif ! cargo fuzz --version >/dev/null 2>&1 && ! cargo install --locked cargo-fuzz; then
  skipped="cargo-fuzz could not be installed"
else
  bash tests/fuzz/run.sh
fi
if [ -n "$skipped" ]; then
  printf '\nNOT FUZZED: %s\n' "$skipped"
fi
printf '\nall slow proofs passed%s\n' "${skipped:+, but for fuzzing, which was skipped}"
