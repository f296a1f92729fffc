# Shared by deploy/start and deploy/test: what the machine must have, and how to get it.
# Belongs here: finding or installing tools. Does not belong here: building and running.

need_root_hint() {
    echo "Missing: $1. Install it with:  apt-get install -y $1" >&2
    exit 3
}

# apt_install PACKAGE...: installs as root or with sudo, or says which command would.
apt_install() {
    local as=()
    if [ "$(id -u)" != 0 ]; then
        if command -v sudo >/dev/null && sudo -n true 2>/dev/null; then as=(sudo); else need_root_hint "$*"; fi
    fi
    command -v apt-get >/dev/null || need_root_hint "$*"
    echo "Installing from Debian: $*"
    if ! "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >/dev/null 2>&1; then
        "${as[@]}" apt-get update -qq
        "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >/dev/null
    fi
}

has_postgres() {
    command -v initdb >/dev/null && command -v postgres >/dev/null && return 0
    ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1
}

need_postgres() { has_postgres || apt_install postgresql; }
need_chromium() { command -v chromium >/dev/null || apt_install chromium; }
need_ngspice() { command -v ngspice >/dev/null || apt_install ngspice; }
need_nginx() { command -v nginx >/dev/null || [ -x /usr/sbin/nginx ] || apt_install nginx-light; }
need_python() { python3 -c 'import venv, ensurepip' 2>/dev/null || apt_install python3 python3-venv; }
need_c_compiler() { command -v cc >/dev/null || apt_install build-essential; }

need_rust() {
    command -v cargo >/dev/null && return 0
    echo "Missing: Rust 1.88 or newer (cargo, rustc). Install it with rustup, then run this again." >&2
    exit 3
}

need_node() {
    if ! command -v npm >/dev/null; then apt_install nodejs npm; fi
    local major
    major=$(node -p 'process.versions.node.split(".")[0]')
    if [ "$major" -lt 20 ]; then
        echo "Node $major is too old for the web client; 20 or newer is needed." >&2
        exit 3
    fi
}

# web_client_build: node_modules from the lock file and a fresh dist, each only when stale.
web_client_build() {
    (
        cd web-client
        if [ ! -e node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
            npm ci --no-audit --no-fund --loglevel=error
        fi
        if [ ! -e dist/index.html ] || [ -n "$(find src public index.html package.json vite.config.* -newer dist/index.html -print -quit 2>/dev/null)" ]; then
            npm run --silent build
        fi
    )
}
