#!/usr/bin/env bash
# Opens the real window on a display of its own and does an operator's job with real pointer and
# keys: a part dragged off the slip, turned and locked, the rest filled in, all of it exported; then
# the program is killed, and what was open is there again; a drawing is added by its typed path, the
# cut is recorded and taken back, and every place is looked at in light and dark. Every wait is
# bounded, and what was started is ended. The pictures stay in target/window.
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
    sed 's/^/  display: /' "$out/xvfb.log" >&2 || true
    kill -0 "$server" 2> /dev/null || echo "  display: it is gone" >&2
    exit 1
}

# Xvfb picks a free display and writes its number. It has answered once before anything is opened on
# it; one that does not is ended, and another takes its place. It must not start anew when a client
# leaves (-noreset): the program, opening its window just as xdotool has left, would be turned away.
unset WAYLAND_DISPLAY WAYLAND_SOCKET
export DISPLAY=
for attempt in $(seq 3); do
    : > "$out/display"
    Xvfb -displayfd 3 -screen 0 1400x900x24 -noreset -nolisten tcp 3> "$out/display" 2>> "$out/xvfb.log" &
    server=$!
    pids+=("$server")
    for _ in $(seq 100); do
        sleep 0.1
        [ -s "$out/display" ] || continue
        DISPLAY=:$(cat "$out/display")
        timeout 5 xdotool getdisplaygeometry > /dev/null 2>> "$out/xvfb.log" && break 2
    done
    echo "window: display ${DISPLAY:-without a number} does not answer (attempt $attempt)" >&2
    kill "$server" 2> /dev/null || true
    DISPLAY=
done
[ -n "$DISPLAY" ] || fail "no display answers"

# Starts the program and finds its window.
start() {
    HOME=$home XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home \
        XDG_CACHE_HOME=$home LIBGL_ALWAYS_SOFTWARE=1 "$program" >> "$out/program.log" 2>&1 &
    app=$!
    pids+=("$app")
    window=
    for _ in $(seq 300); do
        alive "before its window was there"
        window=$(timeout 5 xdotool search --onlyvisible --pid "$app" 2> /dev/null | tail -n 1) || true
        [ -n "$window" ] && break
        sleep 0.2
    done
    [ -n "$window" ] || fail "no window within 60 s"
    timeout 5 xdotool windowmove "$window" 0 0 windowsize "$window" 1400 900 windowfocus "$window"
}
alive() { kill -0 "$app" 2> /dev/null || fail "the program ended $1"; }
key() {
    timeout 5 xdotool key --window "$window" "$@"
    sleep 0.5
}
# Dragged with real motion from $1 $2 to $3 $4, and put down once where it fits is dotted (picture $5).
drag() {
    timeout 5 xdotool mousemove "$1" "$2"
    sleep 0.3
    timeout 5 xdotool mousedown 1
    for i in $(seq 10); do
        timeout 5 xdotool mousemove $(($1 + ($3 - $1) * i / 10)) $(($2 + ($4 - $2) * i / 10))
        sleep 0.1
    done
    until_seen "$fits" 300 "$5"
    timeout 5 xdotool mouseup 1
    sleep 0.5
}

# How many pixels of the picture $1 are near the colour $2, within the sheet's part of the window.
region=1000x590+360+125
count() {
    timeout 20 convert "$1" -crop "$region" +repage -fill black -fuzz 3% +opaque "$2" \
        -fill white -opaque "$2" -colorspace Gray -format '%[fx:round(mean*w*h)]' info:
}
shot() { timeout 20 import -window root "$out/$1.png"; }

# Waits until more than $2 pixels of the colour $1 are to be seen on the picture $3.
until_seen() {
    for _ in $(seq 120); do
        alive "while something was to be seen ($3)"
        shot "$3"
        [ "$(count "$out/$3.png" "$1")" -gt "$2" ] && return
        sleep 0.5
    done
    fail "of $1 only $(count "$out/$3.png" "$1") pixels are to be seen ($3)"
}

metal='#CBD1D6'
paper='#FCF8EE'
selected='#FFE6AE'
fits='#00875F'

start
until_seen "$metal" 50000 before
sleep 1
shot before
before=$(count "$out/before.png" "$paper")

# The second row of the slip, onto free metal.
drag 70 333 980 480 dragging
until_seen "$selected" 3000 laid
key r
key l

key f
after=$before
for _ in $(seq 120); do
    sleep 0.5
    alive "while it filled the sheet"
    shot after
    after=$(count "$out/after.png" "$paper")
    [ $((after - before)) -gt 20000 ] && break
done
echo "window: paper on the metal $before before Fill, $after after"
[ $((after - before)) -gt 20000 ] || fail "no parts to be seen on the sheet"
[ "$(count "$out/after.png" "$metal")" -gt 20000 ] || fail "the sheet is gone"
key Return

# Where the system has no dialog, a path is typed, or pasted as here.
paste_path() {
    sleep 2
    key ctrl+a
    printf '%s' "$1" | xclip -selection clipboard -in > /dev/null
    key ctrl+v
    shot "$2"
    key Return
}
mkdir -p "$out/export"
key ctrl+e
sleep 2
shot export-choices
key Return
paste_path "$out/export" export
for _ in $(seq 60); do
    [ -s "$out/export/plan.json" ] && break
    sleep 0.5
done
[ -s "$out/export/plan.json" ] || fail "nothing was exported"
"$program" check "$out/export/plan.json" || fail "the plan that was exported is not clear"
grep -q '"locked": true' "$out/export/plan.json" || fail "nothing is locked in the plan"

# Killed at once, and open again as it was.
sleep 1
kill -9 "$app"
wait "$app" 2> /dev/null || true
start
until_seen "$paper" $((before + 20000)) again

# A drawing added by its path is in the plan that is saved.
key ctrl+i
paste_path "$PWD/shared/parts/light-bracket.dxf" adding
sleep 2
key Escape
key ctrl+shift+s
paste_path "$out/saved.json" saving
for _ in $(seq 60); do
    [ -s "$out/saved.json" ] && break
    sleep 0.5
done
grep -q light-bracket "$out/saved.json" || fail "the drawing that was added is not in the plan"

# What the rack has of the sheet, by the same program without its window.
rack() {
    HOME=$home XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home \
        XDG_CACHE_HOME=$home "$program" rack show S3-041 > "$out/rack.txt" 2>&1
}
# Waits until the rack says $1 of it.
until_rack_says() {
    for _ in $(seq 60); do
        rack && grep -q "$1" "$out/rack.txt" && return
        alive "while the rack was to say $1"
        sleep 0.5
    done
    fail "the rack does not say $1: $(cat "$out/rack.txt")"
}
act() {
    key slash
    sleep 0.5
    timeout 5 xdotool type --window "$window" --delay 30 "$1"
    sleep 1
    shot act
    key Return
}
act "record the cut"
until_rack_says "parts good"
shot recorded
key ctrl+z
until_rack_says "(undone)"
until_seen "$paper" $((before + 20000)) taken-back

# Every place in light and dark.
for theme in light dark; do
    for place in 1:sheet 2:compare q:bed c:cut 3:rack 4:shop b:bars; do
        key "${place%%:*}"
        sleep 1
        alive "in the place ${place#*:}"
        shot "${place#*:}-$theme"
    done
    key 1
    key ctrl+d
done
echo "window: a part dragged, turned and locked, the sheet filled, exported to a pasted place, open again; a drawing added, the cut recorded and taken back"
