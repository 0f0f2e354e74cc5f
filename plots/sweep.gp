# A sweep over one input, a line for each value of the other. Data: src/io/picture/picture_sweep.c.
# $bars: state, line, from, to, first value, whether it begins inside; $line_N: input, then all series.
series_colour(k) = word('#0072B2 #D55E00 #009E73 #CC79A7 #000000 #E69F00', k)
series_dash(k) = int(word('1 2 4 5 3 6', k))
bar_fill(name) = name eq 'stalls' ? '#777777' : name eq 'droops' ? '#F6C9A0' : name eq 'races' ? '#BFDDF0' : \
  name eq 'idles' ? '#CFE8DC' : '#FFFFFF'
if (x_log) { set logscale x }
set xrange [x_low:x_high]
rows = state_count * line_count
style_of(k, line) = line_count > 1 ? sprintf("lc rgb '%s' lw 2.2 dt %d", series_colour(line), series_dash(line)) : \
  sprintf("lc rgb '%s' lw 2.4 dt %d", series_colour(k), series_dash(k))

if (letters) {
  # In a terminal the first panel only, and the states in words.
  set title title_text
  set xlabel x_text
  set ylabel panel_title[1]
  set key tmargin right horizontal
  unset grid
  set macros
  plot_text = ''
  do for [l = 1:line_count] {
    do for [k = 1:panel_series[1]] {
      plot_text = plot_text . (strlen(plot_text) ? ', ' : '') . \
        sprintf("$line_%d using 1:%d with lines title series_name[%d].' '.line_title[%d]", l, k + 1, k, l)
    }
  }
  do for [b = 1:bar_count] {
    set label 100 + b sprintf('%s from %g to %g', state_name[int(word($bars[b], 1))], real(word($bars[b], 3)), \
      real(word($bars[b], 4))) at graph 0.03, graph 0.9 - 0.05 * b
  }
  eval 'plot ' . plot_text
} else {
  strip_top = 105
  strip_height = 26 * (rows > 0 ? rows : 1) + 10
  panel_top = strip_top + strip_height + 26
  panel_height = (height - 75.0 - panel_top) / panel_count
  set label 1 title_text at screen right(35), down(28) font ',20'
  set label 2 engine_text at screen right(35), down(60) textcolor rgb grey
  set multiplot
  set lmargin at screen right(200)
  set rmargin at screen right(width - 45)
  # Bars: what the engine does, and which codes set.
  set tmargin at screen down(strip_top)
  set bmargin at screen down(strip_top + strip_height)
  set yrange [rows + 0.5:0.5]
  set xtics format ''
  unset ytics
  do for [s = 1:state_count] {
    set label 50 + s state_name[s] at graph 0, first (s - 1) * line_count + 0.5 + 0.5 * line_count right \
      offset character -1, 0 font ',15'
  }
  do for [b = 1:bar_count] {
    s = int(word($bars[b], 1)); l = int(word($bars[b], 2)); y = (s - 1) * line_count + l
    set object b rectangle from first real(word($bars[b], 3)), first y - 0.4 to first real(word($bars[b], 4)), first y + 0.4 \
      behind fillcolor rgb bar_fill(state_name[s]) fillstyle solid border lc rgb grey
    inside = int(word($bars[b], 6))
    tail = line_count > 1 ? '   ' . line_title[l] : ''
    bar_text = (inside ? 'from ' . word($bars[b], 5) : '') . tail
    set label 300 + b bar_text at first real(word($bars[b], 3)), first y \
      left offset character (inside && real(word($bars[b], 3)) > 0.8 * x_high ? -8 : 0.5), 0 font ',12' front \
      textcolor rgb (state_name[s] eq 'stalls' && !(inside && real(word($bars[b], 3)) > 0.8 * x_high) ? '#FFFFFF' : black)
  }
  plot NaN notitle
  do for [i = 1:state_count] { unset label 50 + i }
  do for [b = 1:bar_count] { unset object b; unset label 300 + b }
  unset label 1
  unset label 2
  # Droop, race and stall shade the panels below, if one line is drawn.
  if (line_count == 1) {
    do for [b = 1:bar_count] {
      name = state_name[int(word($bars[b], 1))]
      if (name eq 'stalls' || name eq 'droops' || name eq 'races') {
        set object b rectangle from first real(word($bars[b], 3)), graph 0 to first real(word($bars[b], 4)), graph 1 behind \
          fillcolor rgb (name eq 'stalls' ? '#D8D8D8' : name eq 'droops' ? '#FCEBDA' : '#E6F2FA') fillstyle solid noborder
      } else { if (name[1:1] eq 'P') {
        set arrow 100 + b from first real(word($bars[b], 3)), graph 0 to first real(word($bars[b], 3)), graph 1 nohead \
          lc rgb black lw 1.2 dt 3 front
        set label 500 + b name at first real(word($bars[b], 3)), graph 0.06 rotate left offset character -0.7, 0 font ',12' front
      } }
    }
  }
  set autoscale y
  set yrange [*:*] noextend
  set offsets 0, 0, graph 0.06, graph 0.06
  set ytics nomirror out font ',14'
  set xtics nomirror out font ',14'
  do for [p = 1:panel_count] {
    top = panel_top + (p - 1) * panel_height
    set tmargin at screen down(top + 34)
    set bmargin at screen down(top + panel_height - 14)
    set label 3 panel_title[p] at graph 0, graph 1 left offset character 0, 1.0 font ',15'
    set key at graph 1, graph 1 right bottom horizontal Left reverse samplen 3 font ',14' maxcols 6
    if (p == panel_count) { set xtics format '%g'; set xlabel x_text font ',16' }
    plot_text = ''
    do for [l = 1:line_count] {
      # with several lines a panel shows its first quantity; opening and speed have no other that differs
      do for [k = 1:(line_count > 1 ? 1 : panel_series[p])] {
        c = panel_first[p] + k - 1
        shown = line_count > 1 ? sprintf('line_title[%d]', l) : sprintf('series_name[%d]', c)
        plot_text = plot_text . (strlen(plot_text) ? ', ' : '') . sprintf('$line_%d using 1:%d with linespoints pt %d ps %g %s title %s', \
          l, c + 1, 5 + 2 * (line_count > 1 ? l : k), |$line_1| > 60 ? 0.001 : 0.8, style_of(k, l), shown)
      }
    }
    if (line_count > 1) { set label 3 panel_title[p] . ': ' . series_name[panel_first[p]] }
    eval 'plot ' . plot_text
  }
  unset multiplot
}
