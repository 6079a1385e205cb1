#!/usr/bin/env bash
# The slow proofs: the same properties, random problems and simulations as in tests/all.sh, many more of them.
set -euo pipefail
cd "$(dirname "$0")/.."
export PROPTEST_CASES="${PROPTEST_CASES:-2000}"
export FALLWISE_STUDY=full
cargo test --locked --release --workspace --tests --no-fail-fast
printf '\nall slow proofs passed\n'
