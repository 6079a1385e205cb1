#!/usr/bin/env bash
# Builds the library in the release profile and installs it: install.sh PREFIX. Header, shared and static library,
# pkg-config file, CMake package, module map. DESTDIR is put before every path. CARGO_FLAGS is handed to cargo, such
# as "--no-default-features"; FW_PROFILE names another profile, such as "lean". Needs cargo.
set -euo pipefail
[ $# -eq 1 ] || { echo "usage: install.sh PREFIX" >&2; exit 2; }
case $1 in
  /*) prefix=$1 ;;
  *) prefix=$PWD/$1 ;;
esac
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
to=${DESTDIR:-}$prefix
profile=${FW_PROFILE:-release}
version=$(sed -n 's/^version = "\(.*\)"/\1/p' "$root/Cargo.toml" | head -n 1)
abi=$(sed -n 's/^pub const FW_ABI_VERSION: u32 = \([0-9]*\);/\1/p' "$here/src/version.rs")

cargo="--manifest-path $root/Cargo.toml --locked --profile $profile --quiet -p fallwise-c ${CARGO_FLAGS:-}"
if [ "$profile" = lean ]; then
  # One kind at a time: what is also built for Rust is not optimised as a whole.
  for kind in staticlib cdylib; do
    # shellcheck disable=SC2086 # several flags
    cargo rustc $cargo --lib --crate-type $kind
  done
else
  # shellcheck disable=SC2086
  cargo build $cargo
fi
built=${CARGO_TARGET_DIR:-$root/target}/$profile

mkdir -p "$to/include/fallwise" "$to/lib/pkgconfig" "$to/lib/cmake/fallwise"
install -m 644 "$here/include/fallwise.h" "$here/include/fallwise.hpp" "$to/include/fallwise/"
cat >"$to/include/fallwise/module.modulemap" <<EOF
module Fallwise [system] {
  header "fallwise.h"
  link "fallwise"
  export *
}
EOF
install -m 644 "$built/libfallwise_c.a" "$to/lib/libfallwise.a"
case $(uname -s) in
  Darwin)
    install -m 755 "$built/libfallwise_c.dylib" "$to/lib/libfallwise.$version.dylib"
    install_name_tool -id "$prefix/lib/libfallwise.$abi.dylib" "$to/lib/libfallwise.$version.dylib"
    ln -sf "libfallwise.$version.dylib" "$to/lib/libfallwise.$abi.dylib"
    ln -sf "libfallwise.$abi.dylib" "$to/lib/libfallwise.dylib"
    shared=libfallwise.$version.dylib
    ;;
  *)
    # Its soname is written by the build (build.rs).
    install -m 755 "$built/libfallwise_c.so" "$to/lib/libfallwise.so.$version"
    ln -sf "libfallwise.so.$version" "$to/lib/libfallwise.so.$abi"
    ln -sf "libfallwise.so.$abi" "$to/lib/libfallwise.so"
    shared=libfallwise.so.$version
    ;;
esac
# What a program needs beside the static library: `cargo rustc -p fallwise-c --crate-type staticlib -- --print
# native-static-libs`.
private="-lgcc_s -lutil -lrt -lpthread -lm -ldl -lc"
cat >"$to/lib/pkgconfig/fallwise.pc" <<EOF
prefix=$prefix
includedir=\${prefix}/include/fallwise
libdir=\${prefix}/lib

Name: fallwise
Description: How a drain falls, where it holds water and whether it meets its slope rule
Version: $version
Cflags: -I\${includedir}
Libs: -L\${libdir} -lfallwise
Libs.private: $private
EOF
cat >"$to/lib/cmake/fallwise/fallwise-config.cmake" <<EOF
# find_package(fallwise): the targets fallwise::fallwise (shared) and fallwise::static.
get_filename_component(_fallwise_prefix "\${CMAKE_CURRENT_LIST_DIR}/../../.." ABSOLUTE)
if(NOT TARGET fallwise::fallwise)
  add_library(fallwise::fallwise SHARED IMPORTED)
  set_target_properties(fallwise::fallwise PROPERTIES
    IMPORTED_LOCATION "\${_fallwise_prefix}/lib/$shared"
    IMPORTED_SONAME "libfallwise.so.$abi"
    INTERFACE_INCLUDE_DIRECTORIES "\${_fallwise_prefix}/include/fallwise")
  add_library(fallwise::static STATIC IMPORTED)
  set_target_properties(fallwise::static PROPERTIES
    IMPORTED_LOCATION "\${_fallwise_prefix}/lib/libfallwise.a"
    INTERFACE_INCLUDE_DIRECTORIES "\${_fallwise_prefix}/include/fallwise"
    INTERFACE_LINK_LIBRARIES "pthread;m;dl")
endif()
unset(_fallwise_prefix)
EOF
cat >"$to/lib/cmake/fallwise/fallwise-config-version.cmake" <<EOF
set(PACKAGE_VERSION "$version")
# Before 1.0 a change of the second number may break.
if(PACKAGE_FIND_VERSION VERSION_GREATER PACKAGE_VERSION)
  set(PACKAGE_VERSION_COMPATIBLE FALSE)
elseif("\${PACKAGE_FIND_VERSION_MAJOR}.\${PACKAGE_FIND_VERSION_MINOR}" STREQUAL "${version%.*}"
    OR PACKAGE_FIND_VERSION STREQUAL "")
  set(PACKAGE_VERSION_COMPATIBLE TRUE)
  if(PACKAGE_FIND_VERSION VERSION_EQUAL PACKAGE_VERSION)
    set(PACKAGE_VERSION_EXACT TRUE)
  endif()
else()
  set(PACKAGE_VERSION_COMPATIBLE FALSE)
endif()
EOF
# What debuggers read of the Rust sources is ten times the library; FW_DEBUG=1 keeps it.
if [ -z "${FW_DEBUG:-}" ] && command -v strip >/dev/null; then
  if [ "$(uname -s)" = Darwin ]; then strip -x "$to/lib/$shared"; else strip --strip-unneeded "$to/lib/$shared"; fi
  strip -S "$to/lib/libfallwise.a"
fi
printf 'installed fallwise %s (ABI %s) in %s: %s bytes shared\n' "$version" "$abi" "$to" \
  "$(stat -c %s "$to/lib/$shared" 2>/dev/null || stat -f %z "$to/lib/$shared")"
