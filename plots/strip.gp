# A strip chart of a live session, again and again by one gnuplot. Given by src/io/picture/strip_chart.c: letters, panel_count, time_low, time_high,
# for each panel title_N, low_N, high_N, and the names of its blocks, first_N and second_N.
panel_title(p) = value(sprintf('title_%d', p))
block(which, p) = value(sprintf('%s_%d', which, p))
set xrange [time_low:time_high]
set lmargin 9; set rmargin 3
set key tmargin left horizontal noenhanced samplen 2
unset label
set multiplot
do for [p = 0:panel_count - 1] {
  part = 1.0 / panel_count
  set size 1, part
  set origin 0, 1.0 - (p + 1) * part
  set yrange [value(sprintf('low_%d', p)):value(sprintf('high_%d', p))]
  if (letters) { set tmargin 1; unset grid } else { set tmargin 1.6; set bmargin 1.6; set grid lc rgb '#BBBBBB' dt solid lw 0.7 }
  if (letters) { set tics nomirror; set bmargin 2; set ytics autofreq } else { set tics nomirror out scale 0.6 }
  pieces = block('first', p) . " using 1:2 with lines lc rgb '#0072B2' lw 2 title panel_title(p)"
  if (strlen(block('second', p))) {
    pieces = pieces . ', ' . block('second', p) . " using 1:2 with lines lc rgb '#D55E00' lw 1.5 dt 2 notitle"
  }
  eval 'plot ' . pieces
}
unset multiplot
