#!/bin/sh
# Takes the PNG pictures in this folder from the real program in a real terminal, on a display of its own.
#
# Needs (Debian): xvfb xterm xdotool imagemagick fonts-dejavu-core. The program is built first unless TURNDAY names one.
# The SVG pictures come from the same drawing by way of the tests: TURNDAY_BLESS=1 cargo test --test screen pictures
set -eu
here=$(cd "$(dirname "$0")" && pwd)

for tool in Xvfb xterm xdotool import; do
    command -v "$tool" >/dev/null || { echo "make.sh: no $tool; it comes with xvfb, xterm, xdotool or imagemagick" >&2; exit 2; }
done
if [ -z "${TURNDAY:-}" ]; then
    (cd "$here/.." && cargo build --release)
    TURNDAY=${CARGO_TARGET_DIR:-$here/../target}/release/turnday
fi

scratch=$(mktemp -d)
display_pid='' window_pid=''
tidy() {
    [ -z "$window_pid" ] || kill "$window_pid" 2>/dev/null || :
    [ -z "$display_pid" ] || kill "$display_pid" 2>/dev/null || :
    rm -rf "$scratch"
}
trap tidy EXIT
trap 'exit 1' INT TERM

# The X server picks a free display number and writes it to descriptor 3.
Xvfb -displayfd 3 -screen 0 2200x1400x24 -nolisten tcp 3>"$scratch/display" 2>/dev/null &
display_pid=$!
while [ ! -s "$scratch/display" ]; do
    kill -0 "$display_pid" || { echo "make.sh: the display does not start" >&2; exit 1; }
    sleep 0.05
done
DISPLAY=:$(cat "$scratch/display")
export DISPLAY

# Waits until two pictures taken in a row are the same, at most ten seconds, and keeps the last.
still() {
    before='' tries=0
    while [ $tries -lt 50 ]; do
        import -silent -window "$1" "$2"
        now=$(cksum <"$2")
        [ "$now" != "$before" ] || return 0
        before=$now tries=$((tries + 1))
        sleep 0.2
    done
}

# picture NAME COLUMNSxROWS GROUND WAIT DEMO KEY...: GROUND is dark, light or mono; WAIT is seconds for planning.
picture() {
    name=$1 size=$2 ground=$3 wait=$4 demo=$5
    shift 5
    back='#101010' ink='#d8d8d8' setting="TURNDAY_INKS=$ground"
    case $ground in
        light) back='#ffffff' ink='#202020' ;;
        mono) setting=NO_COLOR=1 ;;
    esac
    env LC_ALL=C.UTF-8 xterm -u8 -fa 'DejaVu Sans Mono' -fs 10 -geometry "$size+0+0" -b 4 +sb -bg "$back" -fg "$ink" \
        -T "turnday-$name" -e env TERM=xterm-256color COLORTERM=truecolor "$setting" "$TURNDAY" demo "$demo" &
    window_pid=$!
    window=$(xdotool search --sync --onlyvisible --name "^turnday-$name\$" | head -n 1)
    xdotool windowfocus --sync "$window"
    # The pointer out of the picture.
    xdotool mousemove 2199 1399
    sleep "$wait"
    for key in "$@"; do
        xdotool key --window 0 "$key"
        sleep 0.1
    done
    still "$window" "$here/$name.png"
    xdotool key --window 0 q
    wait "$window_pid" || :
    window_pid=''
    echo "$here/$name.png"
}

picture timeline-dark 120x36 dark 8 five t
picture timeline-light 120x36 light 8 five t
picture timeline-no-colour 120x36 mono 8 five t
picture cook-day 120x36 dark 8 five slash s i m m e r Return Return
picture farm-shop 180x56 dark 25 shop
picture small-window 60x16 dark 5 feast
picture help 100x50 light 5 feast question
