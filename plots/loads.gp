# Lowest speed after each load step against film. Data: src/io/picture/picture_loads.c, one block $line_N per kind of load.
line_colour(kind) = word('#0072B2 #D55E00 #009E73 #CC79A7 #000000', kind)
line_dash(kind) = int(word('1 2 4 5 3', kind))
line_mark(kind) = int(word('7 5 9 13 11', kind))
set xrange [-0.04 * film_high:1.12 * film_high]
set xlabel 'film on the wall, µm'
plot_text = ''
if (letters) {
  set title title_text
  set key tmargin right horizontal
  set ylabel 'rpm'
  set yrange [0:1.05 * speed_high]
  do for [i = 1:line_count] {
    plot_text = plot_text . (i > 1 ? ', ' : '') . sprintf('$line_%d using 1:2 with %s title line_title[%d]', i, line_points[i] < 4 ? 'points' : 'linespoints', i)
  }
} else {
  set lmargin at screen 0.085 * (1 + 0.5 * (big - 1))
  set rmargin at screen 0.965
  set tmargin at screen down(160 * (1 + 0.45 * (big - 1)))
  set bmargin at screen down(height - 120 * (1 + 0.2 * (big - 1)))
  set label 1 fitted(title_text, 20, width - 90) at screen 0.03, down(28 * big) font ',20'
  set label 2 'Lowest speed after each load step. ' . (slide ? '' : engine_text) at screen 0.03, down(62 * big) textcolor rgb grey
  set ylabel (slide ? 'rpm' : 'lowest speed in the seconds after, rpm') offset character 1, 0
  set yrange [-45:1.06 * speed_high]
  set ytics step(0, speed_high, 8)
  set key at graph 0, 1.0 left bottom horizontal Left reverse samplen (slide ? 1.5 : 3) font ',15' maxcols (slide ? 3 : 6) width (slide ? 2 : 0)
  set object 1 rectangle from graph 0, first -45 to graph 1, first 28 behind fillcolor rgb '#FBE3CC' fillstyle solid noborder
  set label 3 'stalled' at graph 0.008, first 0 left front font ',15'
  if (has_target) {
    set arrow 1 from graph 0, first target_rpm to graph 1, first target_rpm nohead lc rgb grey lw 1.2 dt 2 back
    set label 4 sprintf('idle target %.0f', target_rpm) at graph 0.995, first target_rpm right offset character 0, 0.7 \
      textcolor rgb grey
  }
  # Nothing is joined from fewer than four points: how it goes between them is not known. A line ends where the engine stalled: the last piece drops to a hollow mark at the bottom.
  do for [i = 1:line_count] {
    style = line_points[i] - line_stalls[i] < 4 ? sprintf("lc rgb '%s' lw 2 pt %d ps 1.9", line_colour(line_kind[i]), \
      line_mark(line_kind[i])) : sprintf("lc rgb '%s' lw 2 dt %d pt %d ps 1.7", line_colour(line_kind[i]), line_dash(line_kind[i]), \
      line_mark(line_kind[i]))
    hollow = sprintf("lc rgb '%s' lw 2 pt %d ps 2.2", line_colour(line_kind[i]), line_mark(line_kind[i]) - 1)
    # marks of several loads at one film would cover each other
    aside = sprintf('($1 + %g)', (i - 0.5 * (line_count + 1)) * 0.008 * film_high)
    plot_text = plot_text . (i > 1 ? ', ' : '') . \
      sprintf('$line_%d using 1:($3 > 0 ? NaN : $2) with %s %s title line_title[%d]', i, \
        line_points[i] - line_stalls[i] < 4 ? 'points' : 'linespoints', style, i)
    if (line_stalls[i] > 0) {
      plot_text = plot_text . sprintf(', $line_%d using %s:($3 > 0 ? 0 : NaN) with points %s notitle', i, aside, hollow)
    }
  }
}
eval 'plot ' . plot_text
