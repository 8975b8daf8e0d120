#!/usr/bin/env bash
# Sets up what the tests use and runs all of them; with this, none is left out.
#
# Installs, and says so: Debian packages (as root, or through sudo) that are missing, and Python libraries into a folder of
# their own beside the build. Reads no input. On a system without apt-get install the packages named below by your own means.
#
#   TURNDAY_RCPSP   folder with the published scheduling instances; without it ../shared/bench/rcpsp beside the checkout is
#                   looked at, else the one instance that the source package of `psplib` carries is fetched
#   TURNDAY_CASES   kitchens of each kind in the property tests (the default keeps them short)
set -euo pipefail
cd "$(dirname "$0")/.."
export DEBIAN_FRONTEND=noninteractive PIP_DISABLE_PIP_VERSION_CHECK=1
target=${CARGO_TARGET_DIR:-target}
mkdir -p "$target"
target=$(cd "$target" && pwd)

say() { printf '\n== %s\n' "$*"; }
die() { printf '\n!! %s\n' "$*" >&2; exit 1; }

# ---- Debian packages: what Rust links with, Python, what makes saves fail on purpose, a notification server with a bus and
# a screen of its own. Terminals in the tests are pseudo-terminals of the tests' own. ----
debian=(gcc libc6-dev python3 python3-venv strace util-linux dbus dunst xvfb imagemagick fonts-dejavu-core openssl)
missing=()
if command -v dpkg-query >/dev/null; then
    for package in "${debian[@]}"; do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
        [ "$state" = installed ] || missing+=("$package")
    done
fi
if [ ${#missing[@]} -gt 0 ]; then
    say "installing Debian packages: ${missing[*]}"
    root=()
    if [ "$(id -u)" != 0 ]; then
        command -v sudo >/dev/null || die "not root and no sudo: install ${missing[*]} first"
        root=(sudo)
    fi
    "${root[@]}" apt-get update -qq </dev/null
    "${root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" </dev/null
else
    say "Debian packages: all there"
fi
command -v cargo >/dev/null || die "no cargo: install Rust 1.89 or later (rustup.rs), then run this again"

# ---- Python libraries, in a folder of their own ----
# Those of the second line read calendars, serve them, and are another client of the servers.
libraries=(numpy scipy CoolProp ortools
    icalendar vobject radicale xandikos caldav)
venv=$target/test-python
if ! "$venv/bin/python" -c 'import numpy, scipy, CoolProp, ortools.sat.python.cp_model, icalendar, vobject, radicale, xandikos, caldav' 2>/dev/null; then
    say "installing Python libraries into $venv: ${libraries[*]}"
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet "${libraries[@]}" </dev/null
else
    say "Python libraries: all there"
fi
# Over a hundred random kitchens of each kind; plain `cargo test` looks at fewer.
export TURNDAY_CASES=${TURNDAY_CASES:-120}
# Thousands of kills and acts on the book, and each of its readers fed with mutated input for most of a minute.
export TURNDAY_KILLS=${TURNDAY_KILLS:-2000} TURNDAY_ACTS=${TURNDAY_ACTS:-3000} TURNDAY_FUZZ_SECONDS=${TURNDAY_FUZZ_SECONDS:-45}
export TURNDAY_PYTHON=$venv/bin/python PYTHON=$venv/bin/python REQUIRE_REFERENCE=1

# ---- published scheduling instances ----
instances=${TURNDAY_RCPSP:-../shared/bench/rcpsp}
if [ -f "$instances/best.csv" ]; then
    say "published scheduling instances: $instances"
else
    instances=$target/test-psplib
    if [ ! -f "$instances/best.csv" ]; then
        say "no published scheduling instances here: fetching the one in the source package of psplib (PyPI)"
        "$venv/bin/pip" install --quiet hatchling psplib </dev/null
        rm -rf "$instances" && mkdir -p "$instances"
        "$venv/bin/pip" download --quiet --no-deps --no-binary :all: --no-build-isolation -d "$instances" psplib </dev/null
        tar -xzf "$instances"/psplib-*.tar.gz -C "$instances"
        "$venv/bin/python" tests/reference/psplib_one.py "$instances"/psplib-*/ "$instances"
    fi
    say "ONE published scheduling instance only ($instances); the sets are read where TURNDAY_RCPSP names their folder"
fi
TURNDAY_RCPSP=$(cd "$instances" && pwd)
export TURNDAY_RCPSP

# ---- the tests ----
say "reference numbers made again with scipy and CoolProp, and compared"
sh tests/reference/check.sh
say "all tests"
log=$target/all-tests.log
cargo test --locked --no-fail-fast -- --show-output 2>&1 | tee "$log" | grep -Ev '^(test .* \.\.\. ok|running [0-9]+ tests?|successes:|    [a-z_:]+|)$'
if grep -q '^LEFT OUT' "$log"; then
    grep '^LEFT OUT' "$log" | sort -u >&2
    # With one published instance the other sets cannot be compared, and a container may not mount a disk to fill; anything else is an
    # error here.
    if grep '^LEFT OUT' "$log" | grep -qv 'published set\|no disk can be mounted'; then
        die "something was left out, see above"
    fi
fi
say "done: every test that can run here has run"
