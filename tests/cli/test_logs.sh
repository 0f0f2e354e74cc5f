#!/usr/bin/env bash
# The logs of scenarios/logs are those that their script makes, each is small, told of in README.md and without what would tell a vehicle.
. "$(dirname "$0")/common.sh"
here=scenarios/logs
code=0 out='' err=''
holds "make.sh writes them" bash $here/make.sh "$program" "$work"
for file in $here/*.csv; do
  name=$(basename "$file")
  holds "$name is what make.sh writes" cmp "$file" "$work/$name"
  holds "$name is told of" grep -q "\`$name\`" $here/README.md
  holds "$name is below 200 kB" test "$(wc -c <"$file")" -lt 200000
  holds "$name tells no vehicle" bash -c '! LC_ALL=C grep -qaiE "vin|plate|latitude|longitude|gps," "$1"' - "$file"
done
holds "no other is made" test "$(ls "$work"/*.csv | wc -l)" -eq "$(ls $here/*.csv | wc -l)"
holds "there are enough" test "$(ls $here/*.csv | wc -l)" -ge 8
finish
