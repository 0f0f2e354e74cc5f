# A strip chart of a live session, again and again by one gnuplot. Given by src/io/picture/strip_chart.c: letters, panel_count, foot (the share of
# the height that the time's numbers take), time_low, time_high, and for each panel first_name_N, second_name_N, low_N, high_N, and the names of its
# blocks, first_N and second_N.
of(which, p) = value(sprintf('%s_%d', which, p))
title_of(p) = of('first_name', p) . (strlen(of('second', p)) ? ' (#), ' . of('second_name', p) . ' (*)' : '')
# A round step that makes two to five parts of a panel.
ten(width) = 10.0 ** floor(log10(width / 2.0))
step(width) = width / 2.0 >= 5.0 * ten(width) ? 5.0 * ten(width) : width / 2.0 >= 2.0 * ten(width) ? 2.0 * ten(width) : ten(width)
set xrange [time_low:time_high]
set lmargin 9; set rmargin 3
set tics nomirror
if (letters) { unset key; unset grid; set tmargin 2; set bmargin 2 } else {
  set key at graph 1, 1 right bottom horizontal noenhanced samplen 3
  set tics out scale 0.6; set grid lc rgb '#BBBBBB' dt solid lw 0.7; set border 3
}
set multiplot
part = (1.0 - foot) / panel_count
do for [p = 0:panel_count - 1] {
  if (letters) {
    set size 1, 1.0 / panel_count
    set origin 0, 1.0 - (p + 1.0) / panel_count
    set title title_of(p) offset 0, -0.5 noenhanced
  } else {
    set tmargin at screen 1.0 - (p + 0.27) * part
    set bmargin at screen 1.0 - (p + 0.97) * part
    set format x (p == panel_count - 1 ? '%g' : '')
    set ytics step(of('high', p) - of('low', p))
  }
  set yrange [of('low', p):of('high', p)]
  # What is measured comes last: in letters the last one drawn is seen where they meet.
  pieces = of('first', p) . " using 1:2 with lines lc rgb '#0072B2' lw 2 title of('first_name', p)"
  if (strlen(of('second', p))) {
    pieces = of('second', p) . " using 1:2 with lines lc rgb '#D55E00' lw 1.5 dt 2 title of('second_name', p), " . pieces
  }
  eval 'plot ' . pieces
}
unset multiplot
