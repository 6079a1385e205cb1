#!/usr/bin/env bash
# Builds the wheel and tests it where it will be used: in a clean environment, not in the source folder. Needs cargo and a CPython of
# 3.11 or newer; fetches the rest, in the versions of the requirements files. On every other CPython found, a short run of the same wheel.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
out="$root/target/python"
mkdir -p "$out"

step() { printf '\n-- python: %s\n' "$1"; }

# Every CPython that will do, newest of each minor version.
found() {
  local python
  for minor in 11 12 13 14; do
    for python in "python3.$minor" "$HOME"/.pyenv/versions/3."$minor".*/bin/python; do
      if command -v "$python" >/dev/null 2>&1 && "$python" -c "import sys, venv; assert sys.version_info[:2] == (3, $minor) and \
sys.implementation.name == 'cpython'" 2>/dev/null; then
        command -v "$python"
        break
      fi
    done
  done
}
mapfile -t pythons < <(found)
[ ${#pythons[@]} -gt 0 ] || { echo "no CPython of 3.11 or newer was found" >&2; exit 1; }

# An environment with what a requirements file lists; made anew only where the file has changed.
environment() {
  local folder=$1 python=$2 requirements=$3
  if ! cmp -s "$requirements" "$folder/requirements.txt" || ! "$folder/bin/python" -c "" 2>/dev/null; then
    rm -rf "$folder"
    "$python" -m venv "$folder"
    "$folder/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps -r "$requirements"
    cp "$requirements" "$folder/requirements.txt"
  fi
}

# The wheel alone, in place of the one before; what it depends on is there.
install() {
  "$1/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps --no-index --force-reinstall "$2"
}

step "the wheel"
environment "$out/build" "${pythons[0]}" "$here/requirements-build.txt"
rm -rf "$out/wheels"
"$out/build/bin/maturin" build --locked --release --quiet --manifest-path "$here/Cargo.toml" --out "$out/wheels" >/dev/null
wheel=$(ls "$out"/wheels/*.whl)
printf '%s: %s bytes\n' "$(basename "$wheel")" "$(stat -c %s "$wheel" 2>/dev/null || stat -f %z "$wheel")"

step "what the Rust programs write of the demos"
# LATERAL_REPORT and LATERAL_COMPARE name programs that are built already.
report=${LATERAL_REPORT:-$root/target/release/examples/lateral_report}
compare=${LATERAL_COMPARE:-$root/target/release/examples/lateral_compare}
if [ -z "${LATERAL_REPORT:-}" ] || [ -z "${LATERAL_COMPARE:-}" ]; then
  cargo build --manifest-path "$root/Cargo.toml" --locked --release --quiet -p fallwise-examples --example lateral_report --example lateral_compare
fi
expected="$out/expected"
rm -rf "$expected"
mkdir -p "$expected"
demos="$root/examples/demos"
for job in "$demos"/*/job.toml; do
  name=$(basename "$(dirname "$job")")
  "$report" "$job" --out "$expected/$name" >"$expected/$name.txt"
done
"$report" "$demos/good-lateral/job.toml" --redact --out "$expected/redacted" >/dev/null
"$compare" "$demos/before-relay/job.toml" "$demos/after-relay/job.toml" --same-head --out "$expected/compare" >/dev/null
export FALLWISE_EXPECTED="$expected"

step "the documentation"
environment "$out/docs" "${pythons[0]}" "$here/requirements-docs.txt"
install "$out/docs" "$wheel"
site="$out/site"
rm -rf "$site"
# Every warning is an error, also a name that no page has (docs/conf.py lists those that none can have).
"$out/docs/bin/sphinx-build" -W --keep-going -n -q -E -b html -d "$out/site-read" "$here/docs" "$site"
export FALLWISE_SITE="$site"
printf 'built: %s\n' "$site/index.html"

step "style, types, stubs and tests on $("${pythons[0]}" --version)"
environment "$out/test" "${pythons[0]}" "$here/requirements-test.txt"
install "$out/test" "$wheel"
bin="$out/test/bin"
(
  cd "$here"
  benches="$root/benches/peers"
  city=("$root/examples/city" "$root/tests/city")
  "$bin/ruff" format --quiet --no-cache --config pyproject.toml --check python tests docs/conf.py docs/extension "$benches" "${city[@]}"
  # Examples on pages, as wide as a page is.
  "$bin/ruff" format --quiet --no-cache --config pyproject.toml --line-length 92 --check docs/*.md docs/howto docs/explanation
  "$bin/ruff" check --quiet --no-cache --config pyproject.toml python tests docs "$benches" "${city[@]}"
  # Notebooks go by a file of their own beside them.
  "$bin/ruff" format --quiet --no-cache --check "$root/examples/notebooks"
  "$bin/ruff" check --quiet --no-cache "$root/examples/notebooks"
  "$bin/mypy" --cache-dir "$out/mypy" python tests "$benches"
  # Programs that import each other from the folder that they lie in.
  MYPYPATH="$root/examples/city" "$bin/mypy" --cache-dir "$out/mypy" "${city[@]}"
  "$bin/basedpyright" --pythonpath "$bin/python" --project pyproject.toml
)
cd "$out"
"$bin/python" -m mypy.stubtest fallwise --mypy-config-file "$here/pyproject.toml" --allowlist "$here/tests/stubtest_allow.txt"
"$bin/python" -m pytest -q -c "$here/pyproject.toml" --rootdir "$here" -p no:cacheprovider "$here/tests"

for python in "${pythons[@]:1}"; do
  step "a short run on $("$python" --version)"
  folder="$out/smoke-$(basename "$("$python" -c "import sys; print('%d.%d' % sys.version_info[:2])")")"
  environment "$folder" "$python" "$here/requirements-smoke.txt"
  install "$folder" "$wheel"
  "$folder/bin/python" -m pytest -q -c "$here/pyproject.toml" --rootdir "$here" -p no:cacheprovider \
    "$here/tests/test_lateral.py" "$here/tests/test_table.py" "$here/tests/test_arrays.py" "$here/tests/test_errors.py"
done

if [ -n "${FALLWISE_SDIST:-}" ]; then
  step "the source distribution, built by itself"
  rm -rf "$out/sdist"
  "$out/build/bin/maturin" sdist --manifest-path "$here/Cargo.toml" --out "$out/sdist" >/dev/null
  PATH="$out/build/bin:$PATH" CARGO_TARGET_DIR="$root/target" "$out/build/bin/python" -m pip wheel --quiet --no-deps --no-build-isolation \
    --wheel-dir "$out/sdist/wheels" "$out"/sdist/*.tar.gz
  install "$out/test" "$(ls "$out"/sdist/wheels/*.whl)"
  "$bin/python" -c "import fallwise; print(fallwise.__version__)"
fi

printf '\npython: all tests passed\n'
