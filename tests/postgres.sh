#!/usr/bin/env bash
# Runs a command with KETTLEWELL_DATABASE set to a PostgreSQL of its own, which is gone afterwards.
# It listens at a socket in its own folder alone: no port can be taken, and nobody else comes in.
#   tests/postgres.sh pytest tests/records
# Leaves with 75 where there is none.
set -euo pipefail

initdb=$(command -v initdb || ls -d /usr/lib/postgresql/*/bin/initdb 2>/dev/null | tail -n 1 || true)
[ -n "$initdb" ] || exit 75
programs=$(dirname "$(readlink -f "$initdb")")
folder=$(mktemp -d)

as_owner() {  # PostgreSQL refuses to run as root; its Debian package brings a user for it
    if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi
}
stop() {
    as_owner "$programs/pg_ctl" --pgdata "$folder/data" --mode immediate --wait stop >/dev/null 2>&1 || true
    rm -rf "$folder"
}
trap stop EXIT

[ "$(id -u)" != 0 ] || chown postgres "$folder"
cd "$folder"
as_owner "$programs/initdb" --pgdata "$folder/data" --username kettlewell --auth trust --encoding UTF8 \
    --no-sync >"$folder/initdb.log"
as_owner "$programs/pg_ctl" --pgdata "$folder/data" --log "$folder/server.log" --wait \
    --options "-c listen_addresses= -c unix_socket_directories=$folder -c fsync=off -c synchronous_commit=off \
        -c full_page_writes=off -c autovacuum=off -c jit=off" \
    start >/dev/null
cd "$OLDPWD"
PGHOST=$folder KETTLEWELL_DATABASE="postgresql://kettlewell@/kettlewell" "$@"
