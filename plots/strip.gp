# A strip chart of a live session, again and again by one gnuplot. Given by src/io/picture/strip_chart.c: letters, panel_count, time_low,
# time_high, and for each panel first_name_N, second_name_N, low_N, high_N, and the names of its blocks, first_N and second_N.
of(which, p) = value(sprintf('%s_%d', which, p))
set xrange [time_low:time_high]
set lmargin 9; set rmargin 3
title_of(p) = of('first_name', p) . (strlen(of('second', p)) ? ' (#), ' . of('second_name', p) . ' (*)' : '')
if (letters) { unset key } else { set key tmargin right horizontal noenhanced samplen 3 }
set tics nomirror
if (letters) { set tmargin 2; set bmargin 2; unset grid } else {
  set tmargin 1.8; set bmargin 1.6; set tics out scale 0.6; set grid lc rgb '#BBBBBB' dt solid lw 0.7
}
set multiplot
do for [p = 0:panel_count - 1] {
  part = 1.0 / panel_count
  set size 1, part
  set origin 0, 1.0 - (p + 1) * part
  set yrange [of('low', p):of('high', p)]
  if (letters) { set title title_of(p) offset 0, -0.5 noenhanced }
  # What is measured comes last: in letters the last one drawn is seen where they meet.
  pieces = of('first', p) . " using 1:2 with lines lc rgb '#0072B2' lw 2 title of('first_name', p)"
  if (strlen(of('second', p))) {
    pieces = of('second', p) . " using 1:2 with lines lc rgb '#D55E00' lw 1.5 dt 2 title of('second_name', p), " . pieces
  }
  eval 'plot ' . pieces
}
unset multiplot
