#!/usr/bin/env bash
# The recipes of docs/sweeps.md for several machines, taken from the page as they stand there and run on this one. Truth: the bytes of the
# whole sweep in one go.
. "$(dirname "$0")/common.sh"
page=$PWD/docs/sweeps.md

recipe() { # name: the indented lines behind its mark
  awk -v mark="<!-- recipe: $1 -->" '$0 == mark {inside = 1; next} inside && /^    / {print substr($0, 5); begun = 1; next}
    inside && begun && NF {exit}' "$page"
}
in_folder() ( # folder, script
  cd "$1" && PATH="$work/bin:$PATH" HOME="$work" bash -euo pipefail "$2" </dev/null >"$1.said" 2>&1 || { cat "$1.said" && exit 1; }
)
mkdir "$work/bin" "$work/whole" "$work/spread" "$work/array"
ln -s "$program" "$work/bin/bladegap"
recipe parallel >"$work/parallel.sh"
recipe slurm >"$work/array.sbatch"
holds 'the page has a recipe for GNU parallel' grep -q '^seq 8 | parallel ' "$work/parallel.sh"
holds 'the page has a recipe for Slurm' grep -q '^#SBATCH --array=1-8$' "$work/array.sbatch"

# The whole sweep, by the words of the page itself.
sed -n 's/^    bladegap \(sweep .* --out \.\)$/\1/p' "$page" | tail -n 1 >"$work/words"
read -ra words <"$work/words"
(cd "$work/whole" && "$program" "${words[@]}" --format none --quiet) || verdict 'the whole sweep' 'failed'

if command -v parallel >/dev/null; then
  echo : >"$work/spread/hosts"
  holds 'GNU parallel runs the parts' in_folder "$work/spread" "$work/parallel.sh"
  holds 'GNU parallel: the same bytes' cmp "$work/spread/sweep.csv" "$work/whole/sweep.csv"
fi
for task in 1 2 3 4 5 6 7 8; do
  SLURM_ARRAY_TASK_ID=$task SLURM_CPUS_PER_TASK=2 holds "task $task of the array" in_folder "$work/array" "$work/array.sbatch"
done
good 'rows of 8 files' merge "$work"/array/sweep-*-of-8.csv --out "$work/array/sweep.csv"
holds 'the array: the same bytes' cmp "$work/array/sweep.csv" "$work/whole/sweep.csv"
rm "$work/array/sweep.csv" "$work/array/sweep-5-of-8.csv"
bad 65 '' merge "$work"/array/sweep-*-of-8.csv --out "$work/array/sweep.csv"
finish
