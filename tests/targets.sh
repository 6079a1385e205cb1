#!/usr/bin/env bash
# The same on other machines, as far as this one can tell. Where programs can run (32-bit x86; ARM in an emulator): the core's unit
# tests, and the hashes of tests/same_bits. Where they cannot: whether all that is handed out compiles. `rustup target add`
# brings a target; linking for 32-bit x86 needs gcc that takes -m32, ARM needs aarch64-linux-gnu-gcc and qemu-aarch64.
set -euo pipefail
cd "$(dirname "$0")/.."
untried=()

installed() { rustup target list --installed 2>/dev/null | grep -qx "$1"; }
step() { printf '\n== %s\n' "$1"; }

# Runs what is the same to the bit on every machine.
run() {
  cargo test --locked --release --quiet --target "$1" --package fallwise --lib
  cargo test --locked --release --quiet --target "$1" --package fallwise-same-bits
}

links() { printf 'int main(void) { return 0; }' | "$@" -x c - -o "$(mktemp)" 2>/dev/null; }

target=i686-unknown-linux-gnu
if installed $target && links cc -m32; then
  step "$target: tests and hashes"
  run $target
else
  untried+=("$target")
fi

target=aarch64-unknown-linux-gnu
if installed $target && links aarch64-linux-gnu-gcc && command -v qemu-aarch64 >/dev/null; then
  step "$target: tests and hashes, in an emulator"
  CARGO_TARGET_AARCH64_UNKNOWN_LINUX_GNU_LINKER=aarch64-linux-gnu-gcc \
    CARGO_TARGET_AARCH64_UNKNOWN_LINUX_GNU_RUNNER="qemu-aarch64 -L /usr/aarch64-linux-gnu" run $target
else
  untried+=("$target")
fi

for target in x86_64-pc-windows-gnu aarch64-apple-darwin; do
  if installed $target; then
    step "$target: compiles"
    cargo check --locked --quiet --target $target --package fallwise-c
  else
    untried+=("$target")
  fi
done

# Without an operating system, and in a page: the core alone.
for target in thumbv7em-none-eabihf wasm32-unknown-unknown; do
  if installed $target; then
    step "$target: the core compiles"
    cargo check --locked --quiet --target $target --package fallwise --no-default-features
  else
    untried+=("$target")
  fi
done

for target in "${untried[@]}"; do printf 'NOT TRIED: %s\n' "$target"; done
printf '\ntargets: all that was tried passed\n'
