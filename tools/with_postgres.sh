#!/usr/bin/env bash
# Runs a command with DATABASE_URL set to a fresh PostgreSQL server of its own, which is gone afterwards.
set -euo pipefail
programs=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1 || true)
if [ -z "$programs" ]; then
  echo "The PostgreSQL tests need its server: apt-get install postgresql" >&2
  exit 1
fi
folder=$(mktemp -d)
port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
as_owner=()
if [ "$(id -u)" = 0 ]; then # the server refuses to run as root
  chown postgres "$folder"
  as_owner=(runuser -u postgres --)
fi
stop() {
  "${as_owner[@]}" "$programs/pg_ctl" -D "$folder/data" -m immediate stop >/dev/null 2>&1 || true
  rm -rf "$folder"
}
trap stop EXIT
"${as_owner[@]}" "$programs/initdb" -D "$folder/data" -A trust -U drystow >/dev/null
"${as_owner[@]}" "$programs/pg_ctl" -D "$folder/data" -w -l "$folder/log" \
  -o "-p $port -c listen_addresses=127.0.0.1 -k $folder -c fsync=off" start >/dev/null
DATABASE_URL="postgres://drystow@127.0.0.1:$port/postgres" "$@"
