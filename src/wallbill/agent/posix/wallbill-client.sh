#!/bin/sh
# Keeps a display up to date with nothing but a POSIX shell, curl and a program that shows a picture.
#
#   wallbill-client.sh SETTINGS            once, if it is time (for cron or a timer)
#   wallbill-client.sh SETTINGS --now      once, at any rate (for a button)
#   wallbill-client.sh SETTINGS --loop     for ever, sleeping as long as the server says
#
# It prints one line: new, same, early, resting or kept (the last good picture stays), the seconds until the next time, and why.
# Exit status: 0 good, 1 no good picture could be had or shown, 2 called wrongly, 75 another one is at work.
#
# The picture is checked against its digest before it is put in its place. The tag that the server knows it by is forgotten
# before the display is refreshed, and written down after: it never runs ahead of what is shown.
set -u
umask 077
LC_ALL=C
export LC_ALL

agent=wallbill-shell/0.1
shortest_s=60
longest_s=604800
newline='
'

usage() {
    echo "usage: $0 SETTINGS [--now | --loop]${1:+$newline$1}" >&2
    exit 2
}

# ---- settings: see docs/how-to/shell-client.md

case $# in 1 | 2) ;; *) usage ;; esac
[ -r "$1" ] || usage "cannot read $1"
how=${2:-}
case $how in '' | --now | --loop) ;; *) usage "there is no $how" ;; esac
case $1 in */*) settings=$1 ;; *) settings=./$1 ;; esac
# shellcheck source=/dev/null
. "$settings"
: "${address:?is missing in $settings}" "${name:?is missing in $settings}" "${form:?is missing in $settings}"
: "${media_type:?is missing in $settings}" "${folder:?is missing in $settings}" "${show:?is missing in $settings}"
: "${key_file:?is missing in $settings}" "${every_s:=1800}" "${least_interval_s:=180}" "${longest_rest_s:=86400}"
: "${quiet_s:=20}" "${patience_s:=120}" "${show_within_s:=180}" "${length_bytes:=}" "${ca_file:=}"

mkdir -p "$folder" && cd "$folder" || exit 2
picture=picture.$form

# ---- small tools

have() { command -v "$1" >/dev/null 2>&1; }

# A whole number of at most ten digits without leading noughts; nothing for anything else.
whole() {
    number=$1
    case $number in '' | *[!0-9]* | ???????????*) return 1 ;; esac
    while :; do case $number in 0?*) number=${number#0} ;; *) break ;; esac; done
    echo "$number"
}

within() { # SECONDS MOST: at least a minute, at most MOST
    if [ "$1" -lt $shortest_s ]; then echo $shortest_s; elif [ "$1" -gt "$2" ]; then echo "$2"; else echo "$1"; fi
}

now_s() { date +%s; }

# A field of the answer's last head; one that was sent again is joined (RFC 9110, 5.3).
field() {
    awk -v want="$1:" '
        { sub(/\r$/, "") }
        /^HTTP\// { all = ""; sep = ""; next }
        tolower(substr($0, 1, length(want))) == want {
            value = substr($0, length(want) + 1)
            gsub(/^[ \t]+|[ \t]+$/, "", value)
            all = all sep value; sep = ", "
        }
        END { print all }' head.part
}

# The Unix time of a date such as "Wed, 25 Nov 2026 06:07:30 GMT" (RFC 9110, 5.6.7); nothing for anything else. The %d of
# some awks ends in 2038.
date_s() {
    printf '%s\n' "$1" | awk '
        NF == 6 && $6 == "GMT" && $2 ~ /^[0-9]+$/ && $4 ~ /^[0-9]+$/ && $5 ~ /^[0-9][0-9]:[0-9][0-9]:[0-9][0-9]$/ {
            place = index("JanFebMarAprMayJunJulAugSepOctNovDec", $3)
            if (length($3) != 3 || place % 3 != 1) exit
            month = (place + 2) / 3; year = $4 - (month < 3); split($5, time, ":")
            days = 365 * year + int(year / 4) - int(year / 100) + int(year / 400) + int((153 * ((month + 9) % 12) + 2) / 5) + $2
            printf "%.0f\n", (days - 719469) * 86400 + time[1] * 3600 + time[2] * 60 + time[3]
        }'
}

sha256_of() { # FILE, in hex
    if have sha256sum; then sha256sum <"$1"; else openssl dgst -sha256 -r <"$1"; fi | cut -c1-64
}

# The SHA-256 that Repr-Digest names (RFC 9530), in hex; nothing where it names none.
digest_told() {
    field repr-digest | tr ',' '\n' | sed -n 's/^[ \t]*sha-256=:\([A-Za-z0-9+/=]*\):.*/\1/p' | head -n 1 |
        if have base64; then base64 -d 2>/dev/null; else openssl base64 -d -A; fi | od -An -v -tx1 | tr -d ' \n'
}

to_disk() { sync "$1" 2>/dev/null || sync; }

# ---- what is remembered: the tag that is shown, tag and digest of the picture kept, and some times

recall() {
    tag='' kept='' digest='' shown_s=0 failures=0 due_s=0 refresh_ms=0 trouble=''
    [ -r state ] || return 0
    while IFS='=' read -r word value; do
        case $word in
            tag) tag=$value ;;
            kept) kept=$value ;;
            digest) digest=$value ;;
            trouble) trouble=$value ;;
            shown_s) shown_s=$(whole "$value") || shown_s=0 ;;
            failures) failures=$(whole "$value") || failures=0 ;;
            due_s) due_s=$(whole "$value") || due_s=0 ;;
            refresh_ms) refresh_ms=$(whole "$value") || refresh_ms=0 ;;
        esac
    done <state
}

remember() {
    printf '%s\n' "tag=$tag" "kept=$kept" "digest=$digest" "trouble=$trouble" "shown_s=$shown_s" \
        "failures=$failures" "due_s=$due_s" "refresh_ms=$refresh_ms" >state.part &&
        to_disk state.part && mv -f state.part state
}

# ---- the server

# ask ADDRESS [curl's options]: an answer into head.part and body.part, its status into $status. The key goes by standard input, where
# no list of processes shows it. Nothing is followed elsewhere: a redirect of a captive network is no picture.
ask() {
    at=$1
    shift
    rm -f head.part body.part
    key=$(cat "$key_file") || return 1
    status=$(
        ulimit -f 131072
        printf 'Authorization: Bearer %s\n' "$key" | curl --silent --show-error --user-agent "$agent" --header @- \
            ${ca_file:+--cacert "$ca_file"} --proto '=http,https' --max-redirs 0 --connect-timeout 20 \
            --max-time "$patience_s" --speed-limit 1 --speed-time "$quiet_s" --max-filesize 67108864 \
            --dump-header head.part --output body.part --write-out '%{http_code}' "$@" "$at" 2>curl.part
    ) || {
        fault="no whole answer: $(head -c 100 curl.part | tr -c ' -~' ' ')"
        return 1
    }
    [ -f body.part ] || : >body.part
}

# In how many seconds a good answer wants us back.
calls_s() {
    told=$(field cache-control | tr '[:upper:],' '[:lower:]\n' | sed -n 's/^[ \t]*max-age=//p' | head -n 1)
    if told=$(whole "$told"); then
        age=$(whole "$(field age)") || age=0
        within $((told - age)) $longest_s
    else
        within "$every_s" $longest_s
    fi
}

# What Retry-After asks for; a date is held against the answer's own Date, so a clock that is years off does no harm.
retry_s() {
    text=$(field retry-after)
    whole "$text" && return
    until=$(date_s "$text") from=$(date_s "$(field date)")
    [ -n "$until" ] && [ -n "$from" ] && echo $((until - from))
}

# Looks at an answer of 200 before its body is believed; gives its digest, or a fault.
check() {
    type=$(field content-type | tr '[:upper:]' '[:lower:]')
    [ "${type%%[; ]*}" = "$media_type" ] || { fault="got ${type:-no type}, not $media_type"; return 1; }
    case $(field content-encoding) in '' | identity) ;; *) fault='the answer is coded'; return 1 ;; esac
    case $(field content-length) in *,*) fault='two lengths'; return 1 ;; esac
    size=$(($(wc -c <body.part)))
    [ -z "$length_bytes" ] || [ $size -eq "$length_bytes" ] || { fault="$size bytes, not $length_bytes"; return 1; }
    new_tag=$(field etag)
    case $new_tag in \"*\" | W/\"*\") ;; *) fault='no entity tag'; return 1 ;; esac
    case $new_tag in *[!\ -~]*) fault='the entity tag is no text'; return 1 ;; esac
    [ ${#new_tag} -le 100 ] || { fault='the entity tag is too long'; return 1; }
    new_digest=$(digest_told)
    [ ${#new_digest} -eq 64 ] || { fault='no SHA-256 digest'; return 1; }
    [ "$(sha256_of body.part)" = "$new_digest" ] || { fault='wrong digest'; return 1; }
}

escaped() { printf '%s' "$1" | tr -d '\000-\037' | sed 's/[\\"]/\\&/g'; }

# Tells the server how we are. A report that does not arrive is no trouble:
# the next one says it again.
report() {
    body="{\"agent\": \"$agent\", \"woken_by\": \"$woken_by\""
    [ -z "$tag" ] || body="$body, \"shown\": \"$(escaped "$tag")\""
    [ "$refresh_ms" -eq 0 ] || body="$body, \"refresh_ms\": $refresh_ms"
    [ -z "$trouble" ] || body="$body, \"error\": \"$(escaped "$trouble")\""
    ask "$address/report" --max-time 30 --header 'Content-Type: application/json' --data-binary "$body}" &&
        case $status in 2??) ;; *) return 1 ;; esac
}

# ---- the display

# put_up TAG DIGEST: shows the picture that is kept.
put_up() {
    kept=$1 digest=$2 tag='' tried=yes shown_s=$(now_s)
    remember || { fault='nothing can be written down'; return 1; }
    if have timeout; then timeout "$show_within_s" "$show" "$PWD/$picture"; else "$show" "$PWD/$picture"; fi </dev/null >show.part 2>&1
    ended=$?
    if [ $ended -ne 0 ]; then
        fault="${fault:+$fault; }$show ended with $ended: $(tail -n 1 show.part | head -c 80 | tr -c ' -~' ' ')"
        return 1
    fi
    refresh_ms=$((($(now_s) - shown_s) * 1000))
    tag=$1
    remember
}

# How long the display must rest yet. Where the clock was put back, it counts from here.
rest_s() {
    now=$(now_s)
    [ "$shown_s" -le "$now" ] || shown_s=$now
    rest=$((least_interval_s - now + shown_s))
    [ "$shown_s" -gt 0 ] && [ $rest -gt 0 ]
}

# Whether the kept picture is to go up again: a refresh was cut off, or the display has rested too long.
due_again() {
    [ -n "$kept" ] && [ -r "$picture" ] && { [ -z "$tag" ] || [ $(($(now_s) - shown_s)) -ge "$longest_rest_s" ]; } &&
        ! rest_s && [ "$(sha256_of "$picture")" = "$digest" ]
}

# ---- one time: sets $said, $wait_s and $fault

fetch() {
    ask "$address/impression.$form" ${tag:+--header "If-None-Match: $tag"} || return 1
    case $status in
        200) check || return 1 ;;
        304)
            new_tag=$(field etag)
            if [ -z "$tag" ] || [ "${new_tag#W/}" != "${tag#W/}" ] && [ -n "$new_tag" ]; then
                fault='HTTP 304 for another picture'
                return 1
            fi
            ;;
        429 | 503) fault="HTTP $status" told_s=$(retry_s) || told_s=''; return 1 ;;
        *) fault="HTTP $status"; return 1 ;;
    esac
    wait_s=$(calls_s) said=same
    if [ "$status" = 304 ] || [ "${new_tag#W/}" = "${tag#W/}" ]; then return 0; fi
    if rest_s; then
        wait_s=$rest said=resting
        return 0
    fi
    if ! { to_disk body.part && mv -f body.part "$picture"; }; then
        fault='the picture cannot be kept'
        return 1
    fi
    put_up "$new_tag" "$new_digest" && said=new
}

once() {
    recall
    fault='' tried='' told_s='' said=kept wait_s=$every_s status=''
    now=$(now_s)
    if [ -z "$how" ] && [ "$now" -lt "$due_s" ] && [ $((due_s - now)) -le $((longest_s + 300)) ]; then
        said=early wait_s=$((due_s - now))
        return 0
    fi
    fetch || said=kept
    if [ -z "$tried" ] && due_again; then
        put_up "$kept" "$digest" || said=kept
    fi
    if [ -z "$fault" ]; then failures=0; else
        trouble=$fault
        failures=$((failures < 99 ? failures + 1 : 99))
        wait_s=$(within $((300 << (failures > 8 ? 7 : failures - 1))) 21600)
        [ -z "$told_s" ] || wait_s=$(within "$told_s" $longest_s)
    fi
    case $status in [1-5]??) (report) && trouble='' refresh_ms=0 ;; esac
    part=$((wait_s / 10 < 300 ? wait_s / 10 : 300)) # a tenth more, at most five minutes: a fleet does not call at once
    wait_s=$((wait_s + part * ($(printf '%s' "$name" | cksum | cut -d ' ' -f 1) % 1000) / 1000))
    due_s=$(($(now_s) + wait_s))
    remember || fault=${fault:-'nothing can be written down'}
    rm -f head.part body.part curl.part show.part
    [ -z "$fault" ]
}

# One at a time: whatever happens to us, the next one is not kept out.
lock() {
    if have flock; then
        exec 9>lock.file # it is let go when we and what we have begun have ended, however we end
        flock -w $((patience_s + show_within_s)) 9
        return
    fi
    # Without flock: a folder with our number in it. One whose maker is gone is taken over.
    if ! mkdir lock 2>/dev/null; then
        other=$(cat lock/pid 2>/dev/null)
        if [ -n "$other" ] && kill -0 "$other" 2>/dev/null; then return 1; fi
    fi
    trap 'rm -rf lock' EXIT
    trap 'exit 143' TERM INT HUP
    echo $$ >lock/pid
}

unlock() { if have flock; then exec 9>&-; else rm -rf lock; fi; }

woken_by=timer
[ "$how" != --now ] || woken_by=button
while :; do
    if lock; then
        once
        result=$?
        unlock
    else
        said=kept wait_s=$shortest_s fault='another one is at work' result=75
    fi
    echo "$said $wait_s${fault:+ $fault}"
    [ "$how" = --loop ] || exit $result
    sleep "$wait_s"
done
