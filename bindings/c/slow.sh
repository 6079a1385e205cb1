#!/usr/bin/env bash
# The slow tests of the C binding, after test.sh: thousands of random sequences of calls; a panic that stays inside;
# memory by valgrind, by AddressSanitizer and UndefinedBehaviorSanitizer, threads by ThreadSanitizer (of the C
# compiler: they see the programs, and the memory that both sides hand over; the library itself is Rust). Each is
# tried where it is found. SEQUENCES says how many.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
out="$root/target/c"
prefix="$out/prefix"
CC=${CC:-cc}
demos="$root/examples/demos"
missing=()
step() { printf '\n-- c, slow: %s\n' "$1"; }

[ -e "$prefix/lib/libfallwise.a" ] || "$here/install.sh" "$prefix"
mkdir -p "$out/bin"
flags="-std=c11 -Wall -Wextra -g -I$prefix/include/fallwise -I$here/tests/c"
static="$prefix/lib/libfallwise.a $(sed -n 's/^Libs.private: //p' "$prefix/lib/pkgconfig/fallwise.pc") -lm"

step "random sequences of calls"
# shellcheck disable=SC2086 # several flags
"$CC" $flags "$here/tests/c/random.c" $static -o "$out/bin/random"
"$out/bin/random" "$demos/two-bellies" "${SEQUENCES:-5000}"

step "what a call costs"
# shellcheck disable=SC2086
"$CC" $flags -O1 "$here/tests/c/overhead.c" $static -o "$out/bin/overhead"
"$out/bin/overhead" "$demos/two-bellies"

step "a panic stays inside"
# The library with a function that panics; the one without is built again by the next install.
cargo build --manifest-path "$root/Cargo.toml" --locked --release --quiet -p fallwise-c --features test-panic
panicking=${static/"$prefix/lib/libfallwise.a"/"$root/target/release/libfallwise_c.a"}
# shellcheck disable=SC2086
"$CC" $flags "$here/tests/c/panic.c" $panicking -o "$out/bin/panic"
"$out/bin/panic" 2>/dev/null

step "the smallest library"
FW_PROFILE=lean CARGO_FLAGS=--no-default-features "$here/install.sh" "$out/lean"
# shellcheck disable=SC2086
"$CC" $flags "$here/tests/c/lean.c" ${static/"$prefix/lib/libfallwise.a"/"$out/lean/lib/libfallwise.a"} -o "$out/bin/lean"
"$out/bin/lean"

# The tests, for a tool.
build() { # SUFFIX FLAGS
  local test
  for test in happy errors nulls threads random; do
    # shellcheck disable=SC2086
    "$CC" $flags $2 "$here/tests/c/$test.c" $static -o "$out/bin/$test-$1"
  done
}

if command -v valgrind >/dev/null; then
  step "valgrind: no byte lost, none read that was not written"
  build plain ""
  for test in "happy-plain $demos" "errors-plain $demos" "nulls-plain" "random-plain $demos/two-bellies 15"; do
    # shellcheck disable=SC2086
    valgrind --quiet --error-exitcode=9 --leak-check=full --show-leak-kinds=definite,indirect,possible "$out"/bin/$test
  done
else
  missing+=("valgrind")
fi

for sanitizer in address,undefined thread; do
  name=${sanitizer%,*}
  if ! printf 'int main(void) { return 0; }' | "$CC" -x c -fsanitize=$sanitizer -o "$out/bin/sanitized" - 2>/dev/null ||
    ! "$out/bin/sanitized"; then
    missing+=("-fsanitize=$sanitizer")
    continue
  fi
  step "-fsanitize=$sanitizer"
  build "$name" "-fsanitize=$sanitizer -fno-sanitize-recover=all"
  if [ "$name" = address ]; then
    "$out/bin/happy-address" "$demos"
    "$out/bin/errors-address" "$demos"
    "$out/bin/nulls-address"
    "$out/bin/random-address" "$demos/two-bellies" 500
  fi
  "$out/bin/threads-$name" "$demos/two-bellies"
done

for tool in "${missing[@]}"; do printf 'NOT TRIED, not found: %s\n' "$tool"; done
printf '\nc: all slow tests passed%s\n' "${missing:+, but for what was not found}"
