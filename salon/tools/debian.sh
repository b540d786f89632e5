#!/bin/sh
# Install Debian packages that are missing: as root silently, else print the one line that does.
# usage: debian.sh LABEL package...
set -eu
label=$1
shift
missing=""
for package in "$@"; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
done
[ -n "$missing" ] || exit 0
if [ "$(id -u)" = 0 ]; then
    echo "Installing for $label:$missing"
    apt-get update -qq
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
else
    echo "Needed for $label. Run once:"
    echo "  sudo apt-get install --no-install-recommends$missing"
    exit 1
fi
