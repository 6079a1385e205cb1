#!/usr/bin/env bash
# The verification manual: every reference case, the worst of random cases of 50 digits and more, coverage and power, as one page.
#
#   bash tests/manual.sh [--date YYYY-MM-DD] [--cases N] [--out FOLDER]
#
# Writes target/manual/verification.html. Needs python3 with venv; fetches what tests/manual/requirements.txt names. The date is that of the
# last commit unless it is given. Random cases: 10,000 a function unless --cases says otherwise, kept in target/manual/cases for the next
# time. The coverage study is made with 40 laterals a row, or with all 500 where FALLWISE_STUDY=full is set. FALLWISE_PROFILE=dev takes what
# `cargo test` has built instead of the release profile: the figures are the same bits.
set -euo pipefail
cd "$(dirname "$0")/.."

date=$(git log -1 --format=%cs 2>/dev/null || true)
cases=10000
out=target/manual
while [ $# -gt 0 ]; do
  case "$1" in
    --date) date=$2 ;;
    --cases) cases=$2 ;;
    --out) out=$2 ;;
    *) sed -n '2,10p' "$0" >&2; exit 2 ;;
  esac
  shift 2
done
[ -n "$date" ] || { echo "no date: give --date YYYY-MM-DD where there is no git" >&2; exit 2; }
profile=(--release)
if [ "${FALLWISE_PROFILE:-release}" = dev ]; then profile=(); fi
mkdir -p "$out"
out=$(cd "$out" && pwd)
step() { printf '\n== %s\n' "$1"; }

step "python packages"
python=$out/venv/bin/python
if ! cmp -s tests/manual/requirements.txt "$out/venv/installed.txt"; then
  python3 -m venv "$out/venv"
  "$python" -m pip install --quiet --disable-pip-version-check -r tests/manual/requirements.txt
  cp tests/manual/requirements.txt "$out/venv/installed.txt"
fi

step "random cases"
key=$(cat tests/manual/cases.py tests/vectors/*.py | sha256sum | cut -c1-16)-$cases
if [ "$(cat "$out/cases.key" 2>/dev/null)" != "$key" ]; then
  rm -rf "$out/cases" "$out/cases.key"
  "$python" tests/manual/cases.py "$out/cases" "$cases"
  printf '%s' "$key" >"$out/cases.key"
fi

step "published, golden and random cases through the library"
rm -rf "$out/records"
export FALLWISE_RECORD=$out/records FALLWISE_CASES=$out/cases
# Of the tests those that record.
mapfile -t modules < <(grep -l fallwise_record tests/*.rs | sed 's|tests/||; s|\.rs$|::|')
cargo test --locked "${profile[@]}" -p fallwise-tests --test main --quiet -- "${modules[@]}"
cargo test --locked "${profile[@]}" -p fallwise-tests --test random_cases --quiet
unset FALLWISE_RECORD FALLWISE_CASES

step "coverage and power"
laterals=40
if [ "${FALLWISE_STUDY:-}" = full ]; then laterals=500; fi
mkdir -p "$out/study"
cargo run --locked "${profile[@]}" --quiet -p fallwise-study -- --laterals "$laterals" --out "$out/study" >"$out/study/coverage.md"

step "the page"
compiler=$(rustc --version)
machine="$(uname -sm), $(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo 2>/dev/null | head -n 1)"
version=$(sed -n '/^\[workspace.package\]/,/^\[/s/^version = "\(.*\)"/\1/p' Cargo.toml)
"$python" tests/manual/build.py --records "$out/records" --study "$out/study" --laterals "$laterals" --date "$date" --version "$version" \
  --compiler "$compiler" --machine "$machine" --cases "$cases" --out "$out/verification.html"
printf '\n%s\n' "$out/verification.html"
