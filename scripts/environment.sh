# Sourced by start, test and lint: makes .venv on first use and keeps it in step with a lock file.
# Needs bash and a Python of at least 3.11 with its venv module; nothing else.

root="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
venv="$root/.venv"

fail() {
    printf '%s\n' "$@" >&2
    exit 1
}

# The newest Python that will do, or the one that LAYSHAFT_PYTHON names.
find_python() {
    local candidate
    for candidate in ${LAYSHAFT_PYTHON:-python3.14 python3.13 python3.12 python3.11 python3 python}; do
        if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
            printf '%s\n' "$candidate"
            return 0
        fi
    done
    return 1
}

make_venv() {
    local python
    python="$(find_python)" || fail \
        "Layshaft needs Python 3.11 or newer, and none was found." \
        "Install one, or name it: LAYSHAFT_PYTHON=/path/to/python3 $0"
    printf 'Making %s with %s (first use only)\n' "$venv" "$("$python" --version 2>&1)"
    if ! "$python" -m venv "$venv" >"$root/.venv.log" 2>&1; then
        cat "$root/.venv.log" >&2
        rm -rf "$venv" "$root/.venv.log"
        fail "Python could not make an environment. On Debian and Ubuntu its venv module is a package of its own: python3-venv."
    fi
    rm -f "$root/.venv.log"
}

# install_lock NAME: installs scripts/lock/NAME.txt unless that very lock is in place.
install_lock() {
    local name="$1" lock="$root/scripts/lock/$1.txt" sum
    [ -x "$venv/bin/python" ] && "$venv/bin/python" -c '' >/dev/null 2>&1 || { rm -rf "$venv"; make_venv; }
    sum="$("$venv/bin/python" -c 'import hashlib, sys
print(hashlib.sha256(b"".join(open(path, "rb").read() for path in sys.argv[1:])).hexdigest())' \
        "$root/scripts/lock/run.txt" "$lock")"
    [ "$(cat "$venv/lock-$name" 2>/dev/null)" = "$sum" ] && return 0
    printf 'Installing what scripts/lock/%s.txt names\n' "$name"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --requirement "$lock" ||
        fail "Installing failed; the message above says why. Run the same command again once that is settled."
    printf '%s\n' "$sum" >"$venv/lock-$name"
}
