#!/usr/bin/env bash
# Installs what some tests need and pip has not, from Debian, where we may: Chromium, PostgreSQL, OpenSSL, nginx.
# Where we may not, says so: those tests are then left out, unless all have to run (--all).
set -euo pipefail

missing=()
command -v chromium >/dev/null || missing+=(chromium)
command -v initdb >/dev/null || compgen -G "/usr/lib/postgresql/*/bin/initdb" >/dev/null || missing+=(postgresql)
command -v openssl >/dev/null || missing+=(openssl)
command -v nginx >/dev/null || [ -x /usr/sbin/nginx ] || missing+=(nginx-light)
[ ${#missing[@]} -gt 0 ] || exit 0

if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    echo "Installing ${missing[*]} from Debian ..."
    export DEBIAN_FRONTEND=noninteractive
    if apt-get -qq update && apt-get -qq install --no-install-recommends "${missing[@]}" >/dev/null; then
        exit 0
    fi
fi
echo "There is no ${missing[*]} here and it cannot be installed: the tests that need it are left out."
[ "${1:-}" != --all ]
