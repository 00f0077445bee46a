# What a machine must have, and how it gets it. Sourced by ../../dev; every function is quick when nothing is missing.

BUILD_PACKAGES=(build-essential pkg-config)
WINDOW_PACKAGES=(libwebkit2gtk-4.1-dev)
TEST_PACKAGES=(xvfb xauth xdotool webkit2gtk-driver poppler-utils python3-venv fonts-dejavu-core sox espeak-ng postgresql)
RUST_LEAST=1.90
NODE_LEAST=20.19

# at_least HAVE LEAST: true when version HAVE is LEAST or newer.
at_least() { [ "$(printf '%s\n%s\n' "$2" "$1" | sort -V | head -n 1)" = "$2" ]; }

need_rust() {
    # A fresh rustup is on PATH only in shells opened after it was installed.
    if ! command -v cargo >/dev/null && [ -r "$HOME/.cargo/env" ]; then . "$HOME/.cargo/env"; fi
    command -v cargo >/dev/null \
        || give_up "Rust is missing: install it with rustup (https://rustup.rs) and run this again."
    local have
    have=$(rustc --version | awk '{print $2}')
    at_least "$have" "$RUST_LEAST" \
        || give_up "Rust $have is too old, $RUST_LEAST or newer is needed: run \`rustup update stable\` and run this again."
}

need_node() {
    command -v node >/dev/null && command -v npm >/dev/null \
        || give_up "Node with npm is missing: install Node $NODE_LEAST or newer (https://nodejs.org) and run this again."
    local have
    have=$(node --version | tr -d v)
    at_least "$have" "$NODE_LEAST" \
        || give_up "Node $have is too old, $NODE_LEAST or newer is needed: install it from https://nodejs.org and run this again."
}

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"
    elif command -v sudo >/dev/null; then sudo "$@"
    else return 1
    fi
}

# need_packages NAME...: installs those Debian packages that are missing, and says which.
need_packages() {
    command -v dpkg-query >/dev/null || { need_elsewhere "$@"; return; }
    local missing=() name
    for name in "$@"; do
        dpkg-query -W -f '${db:Status-Status}' "$name" 2>/dev/null | grep -qx installed || missing+=("$name")
    done
    [ ${#missing[@]} -gt 0 ] || return 0
    say "installing with apt: ${missing[*]}"
    # Package lists may be absent or too old: try with what is there, then once more with fresh ones.
    apt_install "${missing[@]}" >"$LOGS/apt.log" 2>&1 && return 0
    { as_root apt-get update && apt_install "${missing[@]}"; } >>"$LOGS/apt.log" 2>&1 \
        || give_up "could not install ${missing[*]} (see $LOGS/apt.log): as root, run \`apt-get install ${missing[*]}\` and run this again."
}

apt_install() {
    as_root env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 install -y --no-install-recommends "$@"
}

# Without dpkg the packages go by other names: say what is wanted once and let the compiler be the judge.
need_elsewhere() { say "this is not Debian or Ubuntu; make sure that it has what these packages hold: $*"; }

# need_browser: sets BROWSER to a Chromium that starts, or to nothing.
need_browser() {
    BROWSER=$(find_browser)
    [ -z "$BROWSER" ] || return 0
    if grep -qsx 'ID=ubuntu' /etc/os-release; then
        say "Ubuntu's chromium package is a snap, which a script cannot count on: install Chromium or Chrome to run the phone page test"
        return 0
    fi
    need_packages chromium
    BROWSER=$(find_browser)
}

find_browser() { first_that_starts chromium google-chrome google-chrome-stable chromium-browser; }

# need_firefox: sets FIREFOX to a Firefox that starts, or to nothing.
need_firefox() {
    FIREFOX=$(first_that_starts firefox-esr firefox)
    [ -z "$FIREFOX" ] && grep -qsx 'ID=debian' /etc/os-release || return 0
    need_packages firefox-esr
    FIREFOX=$(first_that_starts firefox-esr firefox)
}

# first_that_starts NAME...: the path of the first program that is there and starts.
first_that_starts() {
    local name
    for name in "$@"; do
        # Ubuntu's stand-in for a snap is on PATH and fails when it is started.
        if command -v "$name" >/dev/null && "$name" --version >/dev/null 2>&1; then
            command -v "$name"
            return 0
        fi
    done
    return 0
}

# need_outside: a Python of our own under target/ with the libraries that judge our results.
need_outside() {
    local wanted=tests/outside/requirements.txt venv=$TARGET/outside
    if ! cmp -s "$wanted" "$venv/requirements.txt"; then
        rm -rf "$venv"
        say "installing with pip, into $venv: $(grep -oE '^[a-z-]+==' "$wanted" | tr -d = | sort -u | tr '\n' ' ')"
        { /usr/bin/python3 -m venv "$venv" && "$venv/bin/pip" install -r "$wanted"; } >"$LOGS/pip.log" 2>&1 \
            || give_up "could not install the Python libraries of $wanted (see $LOGS/pip.log)."
        cp "$wanted" "$venv/requirements.txt"
    fi
    export PATH="$venv/bin:$PATH" SHIMWRIGHT_PYTHON="$venv/bin/python3"
}

# need_rivals: what the engine is measured against, beside the libraries of need_outside.
need_rivals() {
    local wanted=tests/bench/requirements.txt venv=$TARGET/outside
    cmp -s "$wanted" "$venv/rivals.txt" && return 0
    "$venv/bin/pip" install -r "$wanted" >"$LOGS/pip-rivals.log" 2>&1 \
        || give_up "could not install the Python libraries of $wanted (see $LOGS/pip-rivals.log)."
    cp "$wanted" "$venv/rivals.txt"
}

# need_page_packages: npm's packages as the lock file has them.
need_page_packages() {
    cmp -s ui/package-lock.json ui/node_modules/.installed-lock && return 0
    (cd ui && npm ci --no-fund --no-audit) && cp ui/package-lock.json ui/node_modules/.installed-lock
}

# need_page: ui/dist and, for phones, ui/dist-phone, built from the sources as they are.
need_page() {
    need_page_packages || return
    # The phone's page is built last, so nothing may be newer than it.
    if [ -f ui/dist/index.html ] && [ -f ui/dist-phone/phone.html ] \
        && [ -z "$(page_sources -newer ui/dist-phone/phone.html -print -quit)" ]; then return 0; fi
    (cd ui && npm run build)
}

page_sources() { find ui -path ui/node_modules -prune -o -path 'ui/dist*' -prune -o -type f "$@"; }
