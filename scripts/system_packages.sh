#!/bin/sh
# Installs what the tests need beside Python packages, where this is root on Debian; elsewhere names it.
set -eu
missing=""
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
command -v tesseract >/dev/null 2>&1 || missing="$missing tesseract-ocr tesseract-ocr-script-latn"
# Without python3-tz, Debian's radicale refuses every event that names a time zone.
command -v radicale >/dev/null 2>&1 || missing="$missing radicale python3-tz"
PATH="$PATH:/usr/sbin" command -v mosquitto >/dev/null 2>&1 || missing="$missing mosquitto"
set -- /usr/lib/postgresql/*/bin/initdb
[ -x "$1" ] || command -v initdb >/dev/null 2>&1 || missing="$missing postgresql"
[ -n "$missing" ] || exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    apt-get update -qq
    # shellcheck disable=SC2086  # a list of package names is wanted here
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing
else
    echo "The tests need these system packages:$missing" >&2
    echo "Install them with your system's package manager, then run make test again." >&2
    exit 1
fi
