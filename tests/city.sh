#!/usr/bin/env bash
# A city of laterals solved on one machine, on Dask and on Spark by the programs of examples/city, each engine once more with a worker
# killed in the midst: the same bits every time. Needs Linux, a CPython of 3.11 or newer and, for Spark, a Java of 17 or newer; fetches
# the rest, in the versions of tests/city/requirements.txt. What is not to be had is said, and that part left out (status 3).
# Everything stays in the folder given, or in a new one that goes when it is done.
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD

left_out() {
  printf '\nCITY LEFT OUT: %s\n' "$1"
  exit 3
}

[ "$(uname)" = Linux ] || left_out "worker processes are looked up as Linux has them"
python=$(command -v "${PYTHON:-python3}") || left_out "there is no python3"
"$python" -c 'import sys, venv; assert sys.version_info >= (3, 11)' 2>/dev/null || left_out "$python is older than 3.11 or has no venv"

if [ $# -gt 0 ]; then
  mkdir -p "$1"
  work=$(cd "$1" && pwd)
else
  work=$(mktemp -d)
  trap 'rm -rf "$work"' EXIT
fi

# The environment stays beside what else is built, and is made anew only where the versions have changed.
venv="$root/target/python/city"
mkdir -p "$root/target/python"
if ! cmp -s tests/city/requirements.txt "$venv/requirements.txt" || ! "$venv/bin/python" -c "" 2>/dev/null; then
  rm -rf "$venv"
  "$python" -m venv "$venv"
  "$venv/bin/pip" install --quiet --disable-pip-version-check --no-deps -r tests/city/requirements.txt || left_out "a package is not to be had"
  cp tests/city/requirements.txt "$venv/requirements.txt"
fi
wheel=${FALLWISE_WHEEL:-}
if [ -z "$wheel" ]; then
  "$venv/bin/maturin" build --locked --release --quiet --manifest-path bindings/python/Cargo.toml --out "$work/wheel" >/dev/null
  wheel=$(ls "$work"/wheel/*.whl)
fi
"$venv/bin/pip" install --quiet --disable-pip-version-check --no-deps --no-index --force-reinstall "$wheel"

# What the engines listen on is for this machine alone; what they lay down goes with the folder.
export SPARK_LOCAL_DIRS="$work/spark-local" DASK_TEMPORARY_DIRECTORY="$work/dask-local"
spark=()
if ! java -version >/dev/null 2>&1 && [ ! -x "${JAVA_HOME:-}/bin/java" ]; then
  spark=(--without-spark)
fi
"$venv/bin/python" tests/city/check.py "$work" "${spark[@]}"
[ ${#spark[@]} -eq 0 ] || left_out "not on Spark, since there is no Java; on one machine and on Dask it is the same to the bit"
printf '\nthe city is the same to the bit on one machine, on Dask and on Spark\n'
