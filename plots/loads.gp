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
  set yrange [speed_low:1.05 * speed_high]
  do for [i = 1:line_count] {
    plot_text = plot_text . (i > 1 ? ', ' : '') . sprintf('$line_%d using 1:2 with %s title line_title[%d]', i, line_points[i] < 4 ? 'points' : 'linespoints', i)
  }
} else {
  set lmargin at screen 0.085 * (1 + 0.9 * (big - 1))
  set rmargin at screen 0.965
  set tmargin at screen down(160 * (1 + (line_count > 4 ? 1.05 : line_count > 2 ? 0.75 : 0.45) * (big - 1)))
  set bmargin at screen down(height - 120 * (1 + 0.2 * (big - 1)))
  set label 1 fitted(title_text, 20, width - 90) at screen 0.03, down(28 * big) font ',20'
  set label 2 'Lowest speed after each load step. ' . (slide ? '' : engine_text) at screen 0.03, down(62 * big) textcolor rgb grey
  set label 5 (slide ? 'rpm' : 'lowest speed in the seconds after, rpm') at screen right(30 * (1 + 0.6 * (big - 1))), graph 0.5 rotate center
  set yrange [speed_low:speed_high + 0.06 * (speed_high - speed_low)]
  set ytics step(speed_low, speed_high, 8)
  set key at graph 0, 1.0 left bottom horizontal Left reverse samplen (slide ? 1.5 : 3) font ',15' maxcols 6
  if (slide) { # two columns, whose width gnuplot would have to guess
    unset key
    do for [i = 1:line_count] {
      key_x = 0.085 * (1 + 0.9 * (big - 1)) * width + 30 + 0.42 * width * ((i - 1) % 2)
      key_y = 160 * (1 + (line_count > 4 ? 1.05 : line_count > 2 ? 0.75 : 0.45) * (big - 1)) - 48 * ((line_count + 1) / 2 - (i - 1) / 2) + 14
      set label 50 + i line_title[i] at screen right(key_x + 30), down(key_y) left font ',15'
      set label 60 + i '' at screen right(key_x), down(key_y) point pt line_mark(line_kind[i]) ps 3 lc rgb line_colour(line_kind[i])
    }
  }
  if (any_stall) {
    set object 1 rectangle from graph 0, first speed_low to graph 1, first 28 behind fillcolor rgb '#FBE3CC' fillstyle solid noborder
    set label 3 'stalled' at graph 0.008, first 0 left front font ',15'
  }
  if (has_target) {
    set arrow 1 from graph 0, first target_rpm to graph 1, first target_rpm nohead lc rgb grey lw 1.2 dt 2 back
    set label 4 sprintf('idle target %.0f', target_rpm) at graph 0.995, first target_rpm right offset character 0, 0.7 \
      textcolor rgb grey
  }
  # A load with an idle target of its own is measured against that.
  do for [i = 1:line_count] {
    if (line_target[i] > 0) {
      set arrow 100 + i from graph 0, first line_target[i] to graph 1, first line_target[i] nohead lc rgb line_colour(line_kind[i]) \
        lw 1.2 dt 2 back
      set label 100 + i sprintf('%s: idle target %.0f', line_title[i], line_target[i]) at graph 0.995, first line_target[i] right \
        offset character 0, 0.7 textcolor rgb text_colour(line_colour(line_kind[i]))
    }
  }
  large = slide ? 1.5 : 1
  # Nothing is joined from fewer than four points: how it goes between them is not known. A line ends where the engine stalled: the last piece drops to a hollow mark at the bottom.
  do for [i = 1:line_count] {
    style = line_points[i] - line_stalls[i] < 4 ? sprintf("lc rgb '%s' lw 2 pt %d ps %g", line_colour(line_kind[i]), \
      line_mark(line_kind[i]), 1.9 * large) : sprintf("lc rgb '%s' lw 2 dt %d pt %d ps %g", line_colour(line_kind[i]), \
      line_dash(line_kind[i]), line_mark(line_kind[i]), 1.7 * large)
    hollow = sprintf("lc rgb '%s' lw 2 pt %d ps %g", line_colour(line_kind[i]), line_mark(line_kind[i]) - 1, 2.2 * large)
    # marks of several loads at one film would cover each other
    aside = sprintf('($1 + %g)', (i - 0.5 * (line_count + 1)) * 0.008 * film_high)
    plot_text = plot_text . (i > 1 ? ', ' : '') . \
      sprintf('$line_%d using 1:($3 > 0 ? NaN : $2) with %s %s title line_title[%d]', i, \
        line_points[i] - line_stalls[i] < 4 ? 'points' : 'linespoints', style, i)
    # few marks have their figures
    if (line_count == 1 && line_points[i] < 4) {
      plot_text = plot_text . sprintf(", $line_%d using ($3 > 0 ? NaN : $1):2:(sprintf('%%.0f', $2)) with labels left offset character 1.2, 0 font ',15' notitle", i)
    }
    if (line_stalls[i] > 0) {
      plot_text = plot_text . sprintf(', $line_%d using %s:($3 > 0 ? 0 : NaN) with points %s notitle', i, aside, hollow)
    }
  }
}
eval 'plot ' . plot_text
