#!/usr/bin/env bash
# Every test of the project, in the order in which a fault is cheapest to find. Needs cargo, a C and C++ compiler, and a CPython
# of 3.11 or newer; fetches the rest itself.
# The slow proofs are in tests/slow.sh.
set -euo pipefail
cd "$(dirname "$0")/.."

step() { printf '\n== %s\n' "$1"; }

# A minimal toolchain comes without these two.
for tool in rustfmt clippy; do
  cargo "${tool/rustfmt/fmt}" --version >/dev/null 2>&1 || rustup component add "$tool"
done

step "format"
cargo fmt --all --check

step "lints"
cargo clippy --locked --workspace --all-targets --quiet -- -D warnings
# The core without the standard library.
cargo clippy --locked --package fallwise --no-default-features --quiet -- -D warnings

step "documentation"
RUSTDOCFLAGS="-D warnings" cargo doc --locked --workspace --no-deps --quiet

step "unit, property, published, golden and end-to-end tests"
# The Python binding has no test in Rust: its own step below builds and tests it.
cargo test --locked --workspace --exclude fallwise-python --quiet

step "programs, C library and Python module in the release profile"
# All at once, so that what they have in common is built once, and by the steps below not again.
together="--package fallwise-python"
cargo build --locked --release --quiet $together --package fallwise-examples --package fallwise-c --lib --examples
programs=$PWD/target/release/examples
export CARGO_FLAGS="$together" LATERAL_REPORT="$programs/lateral_report" LATERAL_COMPARE="$programs/lateral_compare"

step "the main job on every demo"
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
for job in examples/demos/*/job.toml; do
  name=$(basename "$(dirname "$job")")
  "$LATERAL_REPORT" "$job" --out "$out/$name" >"$out/$name.txt"
  head -n 1 "$out/$name.txt"
  for file in result.json segments.csv pools.csv findings.csv next.csv ties.csv notes.csv path.csv budget.csv covariance.csv \
    inputs.csv profile.dxf profile.svg report.html owner.html inspector.html estimator.html; do
    [ -s "$out/$name/$file" ] || { echo "missing: $name/$file" >&2; exit 1; }
  done
done

step "drawing and map where the plan is determined; the same job for sharing"
for file in plan.dxf path.geojson; do
  [ -s "$out/good-lateral/$file" ] || { echo "missing: good-lateral/$file" >&2; exit 1; }
done
"$LATERAL_REPORT" examples/demos/good-lateral/job.toml --redact --out "$out/redacted" >"$out/redacted.txt"
[ -s "$out/redacted/job-redacted.toml" ] || { echo "missing: redacted/job-redacted.toml" >&2; exit 1; }
if grep -rqi "harrowmere\|lantern" "$out/redacted"; then echo "the redacted folder names the site" >&2; exit 1; fi

step "two surveys beside each other"
relay=examples/demos/after-relay/job.toml
"$LATERAL_COMPARE" examples/demos/before-relay/job.toml "$relay" --same-head --out "$out/compare" >"$out/compare.txt"
head -n 1 "$out/compare.txt"
for file in comparison.json changes.csv heights.csv bellies.csv cautions.txt as-left.svg as-left.html \
  before-and-after.html; do
  [ -s "$out/compare/$file" ] || { echo "missing: compare/$file" >&2; exit 1; }
done

step "the C binding: header, install, tests in C and C++"
bash bindings/c/test.sh

step "the Python binding: wheel, types, stubs, tests"
bash bindings/python/test.sh

step "the same bits in the release profile"
cargo test --locked --release --quiet $together --package fallwise-same-bits --test same_bits

printf '\nall tests passed\n'
