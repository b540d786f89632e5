#!/bin/sh
# A small salon on one Debian machine, without containers: the embedded database, HTTPS by an authority of its own.
# usage: serve.sh install SITE       all of it, as root (make serve SITE=salon.local)
#        serve.sh settings FILE SITE writes the settings once, with new keys
#        serve.sh units FOLDER       writes the units of systemd
#        serve.sh manage WORDS...    runs a command of the product with the settings, as the account of the service
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
user=${SERVE_USER:-salon}
state=${SERVE_STATE:-/var/lib/salon}
settings=${SERVE_SETTINGS:-/etc/salon/salon.env}
caddy=$(command -v caddy || echo /usr/bin/caddy)

write_settings() {
    [ ! -e "$1" ] || { echo "$1 is there already: it stays as it is."; return 0; }
    umask 077
    mkdir -p "$(dirname "$1")"
    cat >"$1.part" <<EOF
# Settings of the salon's services; README.md has all of them. Keep a copy of the keys in a safe place.
SALON_MODE=production
SITE=$2
ALLOWED_HOSTS=$2
OWN_AUTHORITY=true
PROXY_COUNT=1
BIND=127.0.0.1:8000
UPSTREAMS=127.0.0.1:8000
VAR_DIR=$state
BACKUP_DIR=$state/backups
DATABASE_URL=sqlite:///$state/salon.sqlite3
SECRET_KEY=$(openssl rand -base64 48)
SIGNING_KEY=$(openssl rand -base64 32)
STORAGE_KEY=$(openssl rand -base64 32)
EOF
    mv "$1.part" "$1"
    echo "Wrote $1."
}

write_units() {
    mkdir -p "$1"
    for unit in "$root"/salon/tools/units/*; do
        sed -e "s|@ROOT@|$root|g" -e "s|@USER@|$user|g" -e "s|@STATE@|$state|g" \
            -e "s|@SETTINGS@|$settings|g" -e "s|@CADDY@|$caddy|g" "$unit" >"$1/${unit##*/}"
    done
    echo "Wrote $(ls "$root"/salon/tools/units | wc -l) units to $1."
}

install_all() {
    [ "$(id -u)" = 0 ] || { echo "Run this as root: sudo make serve SITE=$1"; exit 1; }
    case $1 in *.local | *.*) ;; *) echo "Name the address, for example SITE=salon.local"; exit 1 ;; esac
    sh "$root/salon/tools/debian.sh" "the proxy" caddy openssl
    id "$user" >/dev/null 2>&1 || useradd --system --home-dir "$state" --shell /usr/sbin/nologin "$user"
    setpriv --reuid "$user" --regid "$(id -g "$user")" --clear-groups test -r "$root/manage.py" ||
        { echo "The account $user cannot read $root: move it, for example to /srv/salon."; exit 1; }
    write_settings "$settings" "$1"
    if [ ! -d /run/systemd/system ]; then
        write_units "$root/var/units"
        echo "systemd does not run here: start what the units in $root/var/units name by other means."
        exit 0
    fi
    write_units /etc/systemd/system
    systemctl disable --now caddy.service 2>/dev/null || true
    systemctl daemon-reload
    systemctl enable --now salon-web.service salon-worker.service salon-proxy.service salon-drill.timer
    echo "The salon is at https://$1/ ; each tablet first opens http://$1/trust/."
}

manage() {
    set -a
    # shellcheck disable=SC1090
    . "$settings"
    set +a
    cd "$root"
    exec setpriv --reuid "$user" --regid "$(id -g "$user")" --clear-groups .venv/bin/python manage.py "$@"
}

case ${1:-} in
    install) install_all "${2:-}" ;;
    settings) write_settings "$2" "$3" ;;
    units) write_units "$2" ;;
    manage) shift && manage "$@" ;;
    *) sed -n '2,6s/^# //p' "$0"; exit 1 ;;
esac
