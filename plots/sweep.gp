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
few_style_of(k, line) = sprintf("lc rgb '%s' lw 2.2", series_colour(line_count > 1 ? line : k))

if (letters) {
  # In a terminal the first panel only, and the states in words.
  set title title_text
  set xlabel x_text
  set key tmargin right horizontal
  unset grid
  set macros
  plot_text = ''
  series = 0
  if (panel_count > 0) {
    set ylabel panel_title[1]
    set yrange [panel_low[1]:panel_high[1]]
    series = panel_series[1]
  } else {
    set yrange [0:1]
    unset ytics
    plot_text = 'NaN notitle' # nothing turns: the states alone
  }
  do for [l = 1:line_count] {
    do for [k = 1:series] {
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
  # On a slide part 1 is the bars alone, the others a panel each.
  has_bars = part <= 1 && state_count > 0
  longest = 0
  do for [i = 1:state_count] { longest = strlen(state_name[i]) > longest ? strlen(state_name[i]) : longest }
  names_px = 11 * longest + 40 > 200 ? 11 * longest + 40 : 200
  first_panel = part == 0 ? 1 : part - 1
  last_panel = part == 0 ? panel_count : part - 1
  drawn_panels = part == 1 ? 0 : last_panel - first_panel + 1
  strip_top = 75 + 30 * big + (slide ? 24 : 0)
  strip_height = has_bars ? part == 1 || drawn_panels == 0 ? height - strip_top - (slide ? 80 : 70) * big : 26 * (rows > 0 ? rows : 1) + 10 : 0
  panel_top = strip_top + strip_height + (has_bars ? 26 : 0)
  panel_height = drawn_panels > 0 ? (height - 75.0 * big - panel_top) / drawn_panels : 0
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(28 * big) font ',20'
  set label 2 engine_text at screen right(35), down(60 * big) textcolor rgb grey
  set multiplot
  set lmargin at screen right(has_bars ? names_px * big : 110 * big)
  set rmargin at screen right(width - 45 * big)
  # Bars: what the engine does, and which codes set.
  if (has_bars) {
    set tmargin at screen down(strip_top)
    set bmargin at screen down(strip_top + strip_height)
    set yrange [(rows > 0 ? rows : 1) + 0.5:0.5]
    set xtics format (drawn_panels > 0 ? '' : '%g')
    set xlabel (drawn_panels > 0 ? '' : x_text)
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
      # left of the bar where it begins near the end
      begins = x_log ? log(real(word($bars[b], 3)) / x_low) / log(x_high / x_low) : (real(word($bars[b], 3)) - x_low) / (x_high - x_low)
      late = begins > 1 - 9.5 * big * strlen(bar_text) / (width - (names_px + 45) * big)
      if (late) {
        set label 300 + b bar_text at first real(word($bars[b], 3)), first y right offset character -0.5, 0 font ',13' front
      } else {
        set label 300 + b bar_text at first real(word($bars[b], 3)), first y left offset character 0.5, 0 font ',13' front \
          textcolor rgb (state_name[s] eq 'stalls' ? '#FFFFFF' : black)
      }
    }
    plot NaN notitle
    do for [i = 1:state_count] { unset label 50 + i }
    do for [b = 1:bar_count] { unset object b; unset label 300 + b }
    unset label 1
    unset label 2
  }
  # Droop, race and stall shade the panels below, if one line is drawn.
  if (line_count == 1) {
    do for [b = 1:bar_count] {
      name = state_name[int(word($bars[b], 1))]
      if (name eq 'stalls' || name eq 'droops' || name eq 'races') {
        set object b rectangle from first real(word($bars[b], 3)), graph 0 to first real(word($bars[b], 4)), graph 1 behind \
          fillcolor rgb (name eq 'stalls' ? '#D8D8D8' : name eq 'droops' ? '#FCEBDA' : '#E6F2FA') fillstyle solid noborder
      } else { if (name[1:1] eq 'P' && int(word($bars[b], 6))) {
        set arrow 100 + b from first real(word($bars[b], 3)), graph 0 to first real(word($bars[b], 3)), graph 1 nohead \
          lc rgb black lw 1.2 dt 3 front
        if (big > 1 || panel_height > 160) {
          set label 500 + b name at first real(word($bars[b], 3)), graph 0.06 rotate left offset character -0.7, 0 font ',13' front
        }
      } }
    }
  }
  do for [p = first_panel:first_panel + drawn_panels - 1] {
    top = panel_top + (p - first_panel) * panel_height
    key_rows = int(((line_count > 1 ? line_count : panel_series[p]) + 1) / 2) # on a slide, two in a row
    set tmargin at screen down(top + (slide ? 37 + 25 * key_rows : 34) * big)
    set bmargin at screen down(top + panel_height - 14)
    set yrange [panel_low[p]:panel_high[p]]
    parts = (panel_height - 48 * big) / (30 * big)
    set ytics nomirror out step(panel_low[p], panel_high[p], parts > 8 ? 8 : parts < 2 ? 2 : parts) font ',14'
    set xtics nomirror out font ',14'
    set label 3 panel_title[p] . (line_count > 1 ? ': ' . series_name[panel_first[p]] : '') at graph 0, graph 1 left \
      offset character 0, (slide ? 1.2 + 1.25 * key_rows : 1.0) font ',15'
    # on a slide beneath the panel's name
    if (slide) { set key at graph 0, graph 1 left bottom horizontal Left reverse samplen 2 font ',14' maxcols 2 width (line_count > 1 ? 13 : 9) } else {
      set key at graph 1, graph 1 right bottom horizontal Left reverse samplen 3 font ',14' maxcols 6
    }
    if (p == last_panel) { set xtics format '%g'; set xlabel x_text font ',16' } else { set xtics format ''; set xlabel '' }
    plot_text = ''
    do for [l = 1:line_count] {
      # with several lines a panel shows its first quantity; opening and speed have no other that differs
      do for [k = 1:(line_count > 1 ? 1 : panel_series[p])] {
        c = panel_first[p] + k - 1
        shown = line_count > 1 ? sprintf('line_title[%d]', l) : sprintf('series_name[%d]', c)
        plot_text = plot_text . (strlen(plot_text) ? ', ' : '') . sprintf('$line_%d using 1:%d with %s pt %d ps %g %s title %s', \
          l, c + 1, series_few[c] ? 'points' : 'linespoints', 5 + 2 * (line_count > 1 ? l : k), \
          series_few[c] ? 1.2 * big : |$line_1| > 60 ? 0.001 : 0.8 * big, series_few[c] ? few_style_of(k, l) : style_of(k, l), shown)
      }
    }
    eval 'plot ' . plot_text
    unset label 1
    unset label 2
  }
  unset multiplot
}
