#!/usr/bin/env bash
# run --stream-at and --capture: moments, codes, freeze frame, readiness, and what is refused.
. "$(dirname "$0")/common.sh"

good '^Data stream at 30\.00 s' run scenarios/limp-home.cfg --out "$work/one" --format none --stream-at 5 --stream-at 30 --capture
holds 'summary fits 100 columns' narrow "$work/one/summary.txt"
holds 'both moments are in it' test "$(grep -c '^Data stream at' "$work/one/summary.txt")" -eq 2
holds 'the wire breaks at 15 s: P2100 with its bytes' grep -q 'confirmed codes: P2100 (21 00)' "$work/one/summary.txt"
holds 'and no codes at 5 s' grep -q 'confirmed codes: none' "$work/one/summary.txt"
holds 'freeze frame in the summary' grep -q 'freeze frame of P2100' "$work/one/summary.txt"
holds 'capture: pcap, link type 227' test "$(od -An -tx1 -N 24 "$work/one/capture.pcap" | tr -d ' \n')" = \
  d4c3b2a1020004000000000000000000ffff0000e3000000

good . run scenarios/limp-home.cfg --out "$work/two" --format none --json --stream-at 5 --stream-at 30 --stream-at 68
cp "$work/.out" "$work/run.json"
row() { jq -r ".streams[$1].readings[] | select(.id == \"$2\") | .$3" "$work/run.json"; }
holds 'one stream a moment' test "$(jq '.streams | length' "$work/run.json")" -eq 3
holds 'decoded is within half a step: speed, 0.25 rpm' jq -e '.streams[0].readings[] | select(.id == "0C") | (.value - .decoded) | fabs <= 0.1251' "$work/run.json" >/dev/null
holds 'air flow is there' test -n "$(row 0 10 bytes)"
holds 'no pressure sensor, no row' test -z "$(row 0 0B bytes)"
holds 'one bank, no trim of bank 2' test -z "$(row 0 08 bytes)"
holds 'no frame at 5 s' jq -e '.streams[0].freeze_frame == null' "$work/run.json" >/dev/null
holds 'a frame of P2100 at 30 s, from between 15 and 17 s' jq -e '.streams[1].freeze_frame | .code == "P2100" and .time_s > 15 and .time_s < 17' "$work/run.json" >/dev/null
holds 'the run ends with it' jq -e '.freeze_frame.code == "P2100" and (.readiness.monitors | length > 0)' "$work/run.json" >/dev/null
holds 'key off: no answer' jq -e '.streams[2].answered == false and (.streams[2] | has("readings") | not)' "$work/run.json" >/dev/null

good '^  the key is off' run scenarios/limp-home.cfg --out "$work/off" --format none --stream-at 68
good '^Data stream at 120\.00 s' run scenarios/limp-home.cfg --out "$work/end" --format none --stream-at 120

bad 64 '--stream-at: 120\.5 s is beyond the end of scenarios/limp-home\.cfg at 120 s' run scenarios/limp-home.cfg --out "$work/x" --stream-at 120.5
bad 64 "--stream-at: 'soon' is not a finite number" run scenarios/limp-home.cfg --stream-at soon
bad 64 '--stream-at: -1 is out of range' run scenarios/limp-home.cfg --stream-at=-1
bad 64 '--capture needs at least one --stream-at' run scenarios/limp-home.cfg --out "$work/x" --capture
many=()
for at in $(seq 17); do many+=(--stream-at "$at"); done
bad 64 '--stream-at is given 17 times; allowed: up to 16' run scenarios/limp-home.cfg --out "$work/x" "${many[@]}"
finish
