#!/bin/sh
# Run once by the database, when its volume is new: the login as which the pages are served. It may nothing yet.
set -eu
psql -v ON_ERROR_STOP=1 -v secret="$(cat /run/secrets/web)" -U "$POSTGRES_USER" "$POSTGRES_DB" <<'SQL'
CREATE ROLE web LOGIN PASSWORD :'secret'
SQL
