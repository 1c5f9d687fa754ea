#!/usr/bin/env bash
# Opens the real window on a display of its own, presses Fill, and looks in the picture for placed
# parts. Every wait is bounded, and what was started is ended. The pictures stay in target/window.
#
#     tests/window_smoke.sh PROGRAM
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "$0")/.."
out=$PWD/target/window
rm -rf "$out"
mkdir -p "$out"
home=$(mktemp -d)
pids=()
finish() {
    for pid in "${pids[@]}"; do kill "$pid" 2> /dev/null || true; done
    for pid in "${pids[@]}"; do wait "$pid" 2> /dev/null || true; done
    rm -rf "$home"
}
trap finish EXIT
fail() {
    echo "window: $1" >&2
    sed 's/^/  program: /' "$out/program.log" >&2 || true
    exit 1
}

# Xvfb picks a free display and writes its number.
Xvfb -displayfd 3 -screen 0 1400x900x24 -nolisten tcp 3> "$out/display" 2> "$out/xvfb.log" &
pids+=($!)
for _ in $(seq 100); do
    [ -s "$out/display" ] && break
    sleep 0.1
done
[ -s "$out/display" ] || fail "no display within 10 s"
display=:$(cat "$out/display")
export DISPLAY=$display
unset WAYLAND_DISPLAY WAYLAND_SOCKET

HOME=$home XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home XDG_CACHE_HOME=$home \
    LIBGL_ALWAYS_SOFTWARE=1 "$program" > "$out/program.log" 2>&1 &
app=$!
pids+=("$app")

window=
for _ in $(seq 300); do
    kill -0 "$app" 2> /dev/null || fail "the program ended before its window was there"
    window=$(timeout 5 xdotool search --onlyvisible --pid "$app" 2> /dev/null | tail -n 1) || true
    [ -n "$window" ] && break
    sleep 0.2
done
[ -n "$window" ] || fail "no window within 60 s"
timeout 5 xdotool windowmove "$window" 0 0 windowsize "$window" 1400 900 windowfocus "$window"

# How many pixels of the picture $1 are near the colour $2, within the sheet's part of the window.
region=1000x590+360+125
count() {
    timeout 20 convert "$1" -crop "$region" +repage -fill black -fuzz 3% +opaque "$2" \
        -fill white -opaque "$2" -colorspace Gray -format '%[fx:round(mean*w*h)]' info:
}
shot() { timeout 20 import -window root "$out/$1.png"; }

metal='#CBD1D6'
paper='#FCF8EE'
seen=0
for _ in $(seq 60); do
    shot before
    seen=$(count "$out/before.png" "$metal")
    [ "$seen" -gt 50000 ] && break
    sleep 0.5
done
[ "$seen" -gt 50000 ] || fail "no metal to be seen ($seen pixels)"
sleep 1
shot before
before=$(count "$out/before.png" "$paper")

timeout 5 xdotool mousemove 700 450 key --window "$window" f
after=$before
for _ in $(seq 120); do
    sleep 0.5
    kill -0 "$app" 2> /dev/null || fail "the program ended while it filled the sheet"
    shot after
    after=$(count "$out/after.png" "$paper")
    [ $((after - before)) -gt 20000 ] && break
done
echo "window: $seen pixels of metal; paper on it $before before Fill, $after after"
[ $((after - before)) -gt 20000 ] || fail "no parts to be seen on the sheet"
[ "$(count "$out/after.png" "$metal")" -gt 20000 ] || fail "the sheet is gone"
