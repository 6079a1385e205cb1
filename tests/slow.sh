#!/usr/bin/env bash
# The slow proofs: the same properties, random problems and simulations as in tests/all.sh, many more of them; then all pages in
# a browser (tests/look.sh), which needs node and Chromium; drawings of all demos read and audited by a general library, which needs
# python3, as does the verification manual with its random cases (tests/manual.sh); then a city on one machine, on Dask and on Spark
# (tests/city.sh), which needs Linux, python3 and Java; then each reader fuzzed for FUZZ_SECONDS (default 120), which needs a
# nightly compiler.
set -euo pipefail
cd "$(dirname "$0")/.."
export PROPTEST_CASES="${PROPTEST_CASES:-2000}"
export FALLWISE_STUDY=full
cargo test --locked --release --workspace --tests --no-fail-fast

# The core without the standard library: the same unit tests. Then other machines.
cargo test --locked --release --package fallwise --no-default-features --lib
bash tests/targets.sh

# Licences, sources, advisories and unmaintained crates of all that is built.
undenied=
if ! cargo deny --version >/dev/null 2>&1; then
  undenied="cargo-deny is not installed"
elif ! cargo deny --all-features --locked check licenses bans sources; then
  echo "a dependency breaks deny.toml" >&2
  exit 1
elif ! cargo deny --all-features --locked fetch >/dev/null 2>&1; then
  undenied="the list of advisories is not to be had; licences, bans and sources were checked"
else
  cargo deny --all-features --locked check advisories
fi

# The C binding: random calls, valgrind, sanitizers.
bash bindings/c/slow.sh

# The same bits with wider vector instructions, built in a folder of its own.
if grep -qw avx2 /proc/cpuinfo 2>/dev/null; then
  RUSTFLAGS="-C target-cpu=x86-64-v3" cargo test --locked --release -p fallwise-same-bits --target-dir target/v3
fi

# The verification manual, with random cases of 50 digits through every function. The study has run above.
unmade=
if python3 -c 'import venv, ensurepip' >/dev/null 2>&1; then
  FALLWISE_STUDY= bash tests/manual.sh
else
  unmade="python3 with venv is missing"
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
if [ -n "$undenied" ]; then
  printf '\nADVISORIES NOT CHECKED: %s\n' "$undenied"
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
if [ -n "$unmade" ]; then
  printf '\nVERIFICATION MANUAL NOT MADE: %s\n' "$unmade"
fi
if [ "$city" -eq 3 ]; then
  printf '\nCITY NOT SOLVED ON EVERY ENGINE: see above\n'
fi
printf '\nall slow proofs passed%s%s%s%s%s%s\n' "${skipped:+, but for fuzzing, which was skipped}" "${undenied:+, but for advisories}" \
  "$([ "$city" -eq 0 ] || printf ', but for the city')" "${unseen:+, but for the pages, which were not looked at}" \
  "${unread:+, but for the drawings, which were not audited}" "${unmade:+, but for the verification manual, which was not made}"
