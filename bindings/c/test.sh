#!/usr/bin/env bash
# Builds the library as it is installed, installs it into target/c/prefix, and tests it there: header alone in each
# language, tests and examples in C and C++, exported names, binary interface. Needs cargo and a C and C++ compiler
# (CC, CXX); clang, cmake and cffi are tried where they are found. The slow tests are in slow.sh.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
out="$root/target/c"
prefix="$out/prefix"
CC=${CC:-cc}
CXX=${CXX:-c++}
rm -rf "$prefix" "$out/bin"
mkdir -p "$out/bin"

step() { printf '\n-- c: %s\n' "$1"; }
missing=()

step "build and install"
"$here/install.sh" "$prefix"
export LD_LIBRARY_PATH="$prefix/lib${LD_LIBRARY_PATH:+:$LD_LIBRARY_PATH}"
export DYLD_LIBRARY_PATH="$prefix/lib"
include="$prefix/include/fallwise"
strict="-Wall -Wextra -Wpedantic -Werror"
flags="-I$include -I$here/tests/c"
libs="-L$prefix/lib -lfallwise -lm -lpthread"

step "the header alone"
compilers=("$CC")
if command -v clang >/dev/null; then compilers+=(clang); else missing+=("clang"); fi
for compiler in "${compilers[@]}"; do
  for std in c99 c11 c17; do
    # shellcheck disable=SC2086 # several flags
    printf '#include "fallwise.h"\n#include "fallwise.h"\n' | "$compiler" -x c -std=$std $strict $flags -fsyntax-only -
  done
done
compilers=("$CXX")
if command -v clang++ >/dev/null; then compilers+=(clang++); fi
for compiler in "${compilers[@]}"; do
  for header in fallwise.h fallwise.hpp; do
    # shellcheck disable=SC2086
    printf '#include "%s"\n#include "%s"\n' $header $header | "$compiler" -x c++ -std=c++17 $strict $flags -fsyntax-only -
  done
done

if command -v nm >/dev/null && [ "$(uname -s)" = Linux ]; then
  step "exported names and soname"
  nm -D --defined-only "$prefix/lib/libfallwise.so" | awk '{ print $NF }' | sort >"$out/exported.txt"
  if grep -v '^fw_' "$out/exported.txt"; then echo "these are exported too" >&2; exit 1; fi
  # What the header declares, and nothing else.
  grep -o '\bfw_[a-z0-9_]*(' "$here/tests/c/layout.c" | tr -d '(' | sort -u >"$out/declared.txt"
  diff "$out/declared.txt" "$out/exported.txt"
  abi=$(sed -n 's/^#define FW_ABI_VERSION \([0-9]*\)/\1/p' "$include/fallwise.h")
  if command -v readelf >/dev/null; then
    readelf -d "$prefix/lib/libfallwise.so" | grep -q "soname: \[libfallwise.so.$abi\]"
  fi
fi

step "the binary interface"
# shellcheck disable=SC2086
"$CC" -std=c11 $strict $flags "$here/tests/c/layout.c" -o "$out/bin/layout"
"$out/bin/layout" >"$out/abi.txt"
if ! diff "$here/abi.txt" "$out/abi.txt" >"$out/abi.diff"; then
  # With UPDATE=1 a new interface is accepted: where something is taken away or changed, only under a new number.
  if [ -z "${UPDATE:-}" ]; then
    cat "$out/abi.diff"
    echo "the binary interface changed: raise FW_ABI_VERSION unless it only grew, then UPDATE=1 bash bindings/c/test.sh" >&2
    exit 1
  fi
  was=$(sed -n 's/^constant FW_ABI_VERSION //p' "$here/abi.txt" 2>/dev/null || true)
  is=$(sed -n 's/^constant FW_ABI_VERSION //p' "$out/abi.txt")
  # The library's own version may change; a struct may grow, so that its size is larger.
  gone=$(grep '^< ' "$out/abi.diff" | grep -v -e '^< constant FW_VERSION_' -e '^< struct ' || true)
  if [ -n "$gone" ] && [ "$was" = "$is" ] && [ -n "$was" ]; then
    printf '%s\n' "$gone"
    echo "these are gone or changed: raise FW_ABI_VERSION first" >&2
    exit 1
  fi
  cp "$out/abi.txt" "$here/abi.txt"
  echo "abi.txt was written"
fi

step "what the Rust program writes of the demos"
# As tests/all.sh has built it: nothing is compiled twice. LATERAL_REPORT names a program that was built otherwise.
report=${LATERAL_REPORT:-$root/target/release/examples/lateral_report}
if [ -z "${LATERAL_REPORT:-}" ]; then
  cargo build --manifest-path "$root/Cargo.toml" --locked --release --quiet -p fallwise-examples --example lateral_report
fi
expected="$out/expected"
rm -rf "$expected"
mkdir -p "$expected"
pairs=()
for job in "$root"/examples/demos/*/job.toml; do
  folder=$(dirname "$job")
  name=$(basename "$folder")
  "$report" "$job" --out "$expected/$name" >/dev/null
  pairs+=("$folder" "$expected/$name")
done

step "tests in C"
for test in happy errors nulls numbers demos threads; do
  # shellcheck disable=SC2086
  "$CC" -std=c11 $strict $flags -g "$here/tests/c/$test.c" $libs -o "$out/bin/$test"
done
# shellcheck disable=SC2086 # The same as C++.
"$CXX" -x c++ -std=c++17 -Wall -Wextra -Werror $flags "$here/tests/c/happy.c" -x none $libs -o "$out/bin/happy-cpp"
demos="$root/examples/demos"
"$out/bin/happy" "$demos"
"$out/bin/happy-cpp" "$demos"
"$out/bin/errors" "$demos"
"$out/bin/nulls"
"$out/bin/numbers"
"$out/bin/threads" "$demos/two-bellies"
"$out/bin/demos" "${pairs[@]}"

step "the static library"
static=$(sed -n 's/^Libs.private: //p' "$prefix/lib/pkgconfig/fallwise.pc")
# shellcheck disable=SC2086
"$CC" -std=c11 $strict $flags "$here/tests/c/nulls.c" "$prefix/lib/libfallwise.a" $static -o "$out/bin/nulls-static"
"$out/bin/nulls-static"

step "the guide's program, and the examples"
sed -n '/^```c$/,/^```$/p' "$here/README.md" | sed '/^```/d' >"$out/guide.c"
# shellcheck disable=SC2086
"$CC" -std=c99 $strict $flags "$out/guide.c" $libs -o "$out/bin/guide"
(cd "$demos/two-bellies" && "$out/bin/guide")
# shellcheck disable=SC2086
"$CC" -std=c99 $strict $flags "$here/examples/lateral.c" $libs -o "$out/bin/lateral"
"$out/bin/lateral" "$demos/two-bellies/job.toml" >"$out/lateral.txt"
diff "$here/examples/lateral.txt" "$out/lateral.txt"
# shellcheck disable=SC2086
"$CC" -std=c99 $strict $flags "$here/examples/live.c" $libs -o "$out/bin/live"
"$out/bin/live" >"$out/live.txt"
diff "$here/examples/live.txt" "$out/live.txt"
# shellcheck disable=SC2086
"$CXX" -std=c++17 $strict $flags "$here/examples/lateral.cpp" $libs -o "$out/bin/lateral-cpp"
"$out/bin/lateral-cpp"
if command -v pkg-config >/dev/null; then
  export PKG_CONFIG_PATH="$prefix/lib/pkgconfig"
  pkg-config --exact-version="$(sed -n 's/^#define FW_VERSION_STRING "\(.*\)"/\1/p' "$include/fallwise.h")" fallwise
  # shellcheck disable=SC2046
  "$CC" "$here/examples/lateral.c" $(pkg-config --cflags --libs fallwise) -lm -o "$out/bin/lateral-pkg"
  "$out/bin/lateral-pkg" "$demos/by-hand/job.toml" >/dev/null
else
  missing+=("pkg-config")
fi
if command -v cmake >/dev/null; then
  cmake -S "$here/examples" -B "$out/cmake" -DCMAKE_PREFIX_PATH="$prefix" >/dev/null
  cmake --build "$out/cmake" >/dev/null
  "$out/cmake/lateral" "$demos/by-hand/job.toml" >/dev/null
else
  missing+=("cmake")
fi
if python3 -c "import cffi" 2>/dev/null; then
  python3 "$here/examples/lateral_cffi.py" "$prefix" "$demos/two-bellies/job.toml"
else
  missing+=("python3 with cffi")
fi

for tool in "${missing[@]}"; do printf 'NOT TRIED, not found: %s\n' "$tool"; done
printf '\nc: all tests passed\n'
