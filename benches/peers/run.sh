#!/usr/bin/env bash
# fallwise beside what a user would combine instead: builds the wheel, fetches the packages in the versions of requirements.txt into an
# environment of their own, and runs. `--help` lists the options. Needs cargo and a CPython of 3.11 or newer (PYTHON names another);
# FALLWISE_WHEEL names a wheel that is there already.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
out="$root/target/peers"
mkdir -p "$out"

python=${PYTHON:-}
for name in python3.11 python3.12 python3.13 python3.14; do
  [ -n "$python" ] || ! "$name" -c "" 2>/dev/null || python=$name
done
[ -n "$python" ] || { echo "no CPython of 3.11 or newer was found" >&2; exit 1; }

pip() { "$1/bin/python" -m pip --quiet --disable-pip-version-check "${@:2}"; }

# What a requirements file lists, made anew only where the file has changed. A package that cannot be had leaves the others alone.
environment() {
  local folder=$1 requirements=$2 line
  if ! cmp -s "$requirements" "$folder/requirements.txt" || ! "$folder/bin/python" -c "" 2>/dev/null; then
    rm -rf "$folder"
    "$python" -m venv "$folder"
    if ! pip "$folder" install --no-deps -r "$requirements"; then
      grep -v '^#' "$requirements" | while read -r line; do
        pip "$folder" install --no-deps "$line" || echo "could not be had: $line" >&2
      done
    fi
    cp "$requirements" "$folder/requirements.txt"
  fi
}

wheel=${FALLWISE_WHEEL:-}
if [ -z "$wheel" ]; then
  environment "$out/build" "$root/bindings/python/requirements-build.txt"
  rm -rf "$out/wheels"
  "$out/build/bin/maturin" build --locked --release --quiet --manifest-path "$root/bindings/python/Cargo.toml" --out "$out/wheels" >/dev/null
  wheel=$(ls "$out"/wheels/*.whl)
fi
environment "$out/environment" "$here/requirements.txt"
pip "$out/environment" install --no-deps --no-index --force-reinstall "$wheel"

PYTHONPATH="$root/benches" exec "$out/environment/bin/python" -m peers "$@"
