#!/usr/bin/env bash
# run --as-capture, and captures read back. Truth: the log of the same poll; tshark's dissectors, which share nothing with our writer; captures
# that capture.py lays out byte by byte by the published formats.
. "$(dirname "$0")/common.sh"
here=$(dirname "$0")
quick=(run slow-opening --solver fast --format none --out "$work/out")
signals=RPM,TP,MAF,ECT,SHRTFT1,LONGFT1,VPWR
good . "${quick[@]}" --as-capture "$work/a.pcap" --as-log "$work/a.csv" --log-shape long --log-signals $signals --json
holds 'it is among the files' jq -e --arg file "$work/a.pcap" '.files | any(. == $file)' "$work/.out"
good ': good \(log\)' check "$work/a.pcap"
good ', 0 left out' plot "$work/a.pcap" --format none --out "$work/plots"

# What the poll was answered, signal by signal, is what comes out again.
good . phases "$work/a.csv" --json
jq -S '[.phases[] | [.phase, (.means.speed_rpm.mean // 0 | round)]]' "$work/.out" >"$work/csv.json"
good . phases "$work/a.pcap" --json
jq -S '[.phases[] | [.phase, (.means.speed_rpm.mean // 0 | round)]]' "$work/.out" >"$work/pcap.json"
holds 'the same phases' cmp "$work/csv.json" "$work/pcap.json"
holds 'there are some' grep -q idle "$work/csv.json"

if command -v tshark >/dev/null; then
  ids=(-o iso15765.can.ids:0x7df-0x7e8)
  tshark -r "$work/a.pcap" "${ids[@]}" -d iso15765.subdissector,obd-ii -Y obd-ii.mode01_engine_rpm -T fields -e obd-ii.mode01_engine_rpm \
    2>/dev/null | awk '{printf "%.2f\n", $1}' >"$work/theirs"
  awk -F, '$2 == "Engine RPM" {printf "%.2f\n", $3}' "$work/a.csv" >"$work/ours"
  holds 'tshark reads every speed' cmp "$work/theirs" "$work/ours"
  holds 'there are many' test "$(wc -l <"$work/ours")" -gt 100
  # pedal sensors that disagree: confirmed, lamp on. Hand value: P2138 is 2138 (SAE J2012: P is 00, then the digits).
  good . run limp-home --solver fast --format none --out "$work/out" --as-capture "$work/l.pcap"
  tshark -r "$work/l.pcap" "${ids[@]}" -Y 'can.id == 0x7e8 && data.data[0] >= 42 && iso15765.message_type != 1' -T fields -e data.data \
    2>/dev/null >"$work/found"
  good . run limp-home --solver fast --format none --out "$work/out" --json
  code=$(jq -r '[.codes[]? | select(.state == "confirmed") | .code][0]' "$work/.out")
  holds 'service 03 has the confirmed code' grep -q "^43.*${code#P}" "$work/found"
  holds 'service 0A too' grep -q "^4a.*${code#P}" "$work/found"
  holds 'service 07 is answered' grep -q '^4700' "$work/found"
  holds 'service 02 tells whose frame it is' grep -q "^420200${code#P}" "$work/found"
  holds 'and holds an engine speed' grep -qE '^420c00[0-9a-f]{4}$' "$work/found"
else
  echo 'no tshark on this machine (apt-get install tshark): what it would read is left out'
fi

# Captures of others: byte orders, nanoseconds, 29-bit identifiers, several identifiers an answer, other computers, frames out of order.
/usr/bin/python3 "$here/capture.py" "$work"
for name in low high nano long; do
  good '2[0-9] rows.* 0 left out' plot "$work/$name.pcap" --format none --out "$work/plots"
  good . phases "$work/$name.pcap" --json
  holds "$name: 800 rpm, 90 C, 2.5 g/s" jq -e '.phases[0].means | (.speed_rpm.mean - 800 | fabs) < 1e-6 and
    (.coolant_c.mean - 90 | fabs) < 1e-6 and (.maf_gps.mean - 2.5 | fabs) < 1e-6' "$work/.out"
done
bad 65 'ends in the middle of the record at byte' check "$work/cut.pcap"
bad 65 'ends in the middle of the record at byte' check "$work/huge.pcap"
bad 65 'captured on a link of type 1; only 227 is read' check "$work/ethernet.pcap"
bad 65 'this is pcapng; only pcap can be read: editcap -F pcap' check "$work/ng.pcap"
bad 65 'gives no answer that is known in service 01' check "$work/silent.pcap"

bad 64 '--as-capture: IAC has no identifier in service 01' "${quick[@]}" --as-capture "$work/x.pcap" --log-signals RPM,IAC
bad 64 '--log-rate needs --as-log FILE or --as-capture FILE' "${quick[@]}" --log-rate 5
bad 64 '--log-shape needs --as-log FILE' "${quick[@]}" --as-capture "$work/x.pcap" --log-shape long
bad 64 '--as-capture is for one scenario, and there are 2' run slow-opening film-droop --as-capture "$work/x.pcap"
bad 65 'nothing is answered in this run' "${quick[@]}" --as-capture "$work/x.pcap" --set key@0=off --log-from 5
bad 73 'cannot' "${quick[@]}" --as-capture "$work/none/x.pcap"
holds 'nothing is left half' no_parts "$work"
finish
