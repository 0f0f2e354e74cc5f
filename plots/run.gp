# A run over time, or two laid over each other. All texts, ranges and data blocks come from src/io/picture/picture_run.c: panels, each
# with its curves, the blocks $curve_N.
set xrange [time_low:time_high]
low(p, side) = value(sprintf('panel_%d_%s_low', p, side))
high(p, side) = value(sprintf('panel_%d_%s_high', p, side))
cut(p, side) = value(sprintf('panel_%d_%s_cut', p, side))

# One row per enum picture_panels_style: colour, width, dashes, mark, and every how many marks.
style_colour(i) = word('#0072B2 #000000 #D55E00 #009E73 #CC79A7 #56B4E9 #000000 #D55E00 #009E73 #E69F00', i)
style_width(i) = real(word('1.5 1.6 1.5 1.8 1.5 1.4 2.0 1.8 0 0', i))
style_dash(i) = int(word('1 2 1 1 1 1 1 2 1 1', i))
style_shade(i) = i == 9 ? 0.15 : 0.35
style_mark(i) = int(word('0 0 4 6 8 0 0 0 0 0', i))
style_using(i) = word('1:2 1:2 1:2 1:2 1:2 1:2 1:2 1:2 1:($2-below_rpm):($2+above_rpm) 1:2:3', i)
style_with(i) = i > 8 ? sprintf("filledcurves fc rgb '%s' fs transparent solid %g noborder", style_colour(i), style_shade(i)) : \
  sprintf("%s lc rgb '%s' lw %g dt %d%s", style_mark(i) ? 'linespoints' : 'lines', style_colour(i), style_width(i), style_dash(i), \
    style_mark(i) ? sprintf(' pt %d ps 1.1 pn %d', style_mark(i), 6 + style_mark(i) / 2) : '')
piece(k) = sprintf('$curve_%d using %s axes x1y%d with %s notitle', k, style_using(curve_style[k]), curve_right[k] ? 2 : 1, \
  style_with(curve_style[k]))
plain_piece(k) = sprintf('$curve_%d using 1:2 with lines title curve_title[%d]', k, k)

if (letters) {
  # Speed, and what lets the air in. Codes and notes are listed by src/io/picture/picture_marks.c.
  set multiplot
  set key tmargin right horizontal
  set lmargin 9; set rmargin 2; set tmargin 3
  unset grid
  rest = line_count + lane_count > 0 ? real(line_count + lane_count + 2) / height : 0.0
  rest = rest > 0.5 ? 0.5 : rest
  shown = second_panel > 0 ? 2 : 1
  part = (1.0 - rest) / shown
  set size 1, part
  set label 1 title_text at screen 0.02, 0.985
  do for [i = 1:lane_count] {
    code_text = lane_text[i] . ' ' . lane_states[i]
    set label 10 + i code_text at screen 0.02, rest - real(i) / height
  }
  do for [i = 1:line_count] {
    note_text = (strlen(line_number[i]) ? line_number[i] . '  ' . line_at[i] . '  ' : '   ') . line_text[i]
    set label 40 + i note_text at screen 0.02, rest - real(i + lane_count + 1) / height
  }
  do for [n = 1:shown] {
    p = n == 1 ? 1 : second_panel
    set origin 0, rest + (shown - n) * part
    if (n == shown) { set xlabel sprintf('time, %s', time_unit) }
    set yrange [low(p, 'left'):high(p, 'left')]
    plot_text = ''
    do for [k = panel_first[p]:panel_last[p]] {
      if (!curve_right[k] && curve_style[k] < 9) { plot_text = plot_text . (strlen(plot_text) ? ', ' : '') . plain_piece(k) }
    }
    set ylabel panel_left[p]
    eval 'plot ' . plot_text
    unset label
  }
  unset multiplot
} else {
  left = int(105 * (1 + 0.85 * (big - 1))); right_px = left
  set lmargin at screen right(left)
  set rmargin at screen right(width - right_px)
  flag_px = flag_height * big; lane_px = lane_height * big; line_px = line_height * big
  has_engine_text = strlen(engine_text) > 0 && !(slide && lane_count > 0)
  head = 12 + (has_engine_text || is_over || lane_count > 0 ? 72 : 44) * big
  lanes_top = head + flag_rows * flag_px
  panels_bottom = height - (slide && line_count == 0 ? 74 : 62) * big - line_count * line_px - (line_count > 0 ? 18 : 0)
  # A slide of the codes alone: their bars take all the room.
  if (panel_count == 0 && lane_count > 0) { lane_px = (panels_bottom - lanes_top - (stall_count > 0 ? 40 : 8) * big) / lane_count }
  panels_top = lanes_top + lane_count * lane_px + 6
  unit = (panels_bottom - panels_top) / share_sum
  from_px = panels_top

  set multiplot
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(26 * big) font ',20'
  if (is_over) {
    set label 2 'A: ' . fitted_path(engine_text, 14, 0.45 * width) at screen right(35), down(56 * big) textcolor rgb blue
    set label 3 'B: ' . fitted_path(other_text, 14, 0.45 * width) at screen right(0.52 * width), down(56 * big) \
      textcolor rgb vermilion_text
  } else {
    set label 2 (has_engine_text ? engine_text : '') at screen right(35), down(56 * big) textcolor rgb grey
  }

  # Behind everything: times with a code, the notes' lines, stalls; the flags and the codes' bars on top.
  set tmargin at screen down(panels_top)
  set bmargin at screen down(panels_bottom)
  set yrange [0:1]
  unset border; unset tics; unset grid; unset key
  do for [i = 1:shade_count] {
    confirmed = shade_state[i] == 2
    set object i rectangle from first shade_from[i], screen down(panels_bottom) to first shade_to[i], screen down(panels_top) \
      behind fillcolor rgb (confirmed ? '#FBE3CC' : '#E4F1FA') fillstyle solid noborder
  }
  do for [i = 1:lane_count] {
    set label 100 + i lane_text[i] at screen right(left - 10), down(lanes_top + (i - 0.5) * lane_px - 2) right font ',14'
  }
  do for [i = 1:band_count] {
    confirmed = band_state[i] == 2
    bar_top = lanes_top + (band_lane[i] - 1) * lane_px
    set object 1000 + i rectangle from first band_from[i], screen down(bar_top + lane_px - 4) \
      to first band_to[i], screen down(bar_top) fillcolor rgb (confirmed ? vermilion_text : '#BFE0F5') \
      fillstyle solid border lc rgb black
    bar_text = confirmed ? 'confirmed' : 'pending'
    wide = (band_to[i] - band_from[i]) / (time_high - time_low) * (width - left - right_px)
    if (wide > (strlen(bar_text) * 10.5 + 16) * big) {
      set label 200 + i bar_text at first band_from[i], screen down(bar_top + 0.5 * lane_px - 2) left \
        offset character 0.5, 0 front font ',13' textcolor rgb (confirmed ? 'white' : black)
    }
  }
  if (lane_count > 0) {
    key_x = width - 400 * big
    set object 3001 rectangle from screen right(key_x), down(56 * big - 9) to screen right(key_x + 30), down(56 * big + 9) \
      fillcolor rgb '#BFE0F5' fillstyle solid border lc rgb black
    set label 3001 'code pending' at screen right(key_x + 38), down(56 * big)
    key_x = width - 220 * big
    set object 3002 rectangle from screen right(key_x), down(56 * big - 9) to screen right(key_x + 30), down(56 * big + 9) \
      fillcolor rgb vermilion_text fillstyle solid border lc rgb black
    set label 3002 'confirmed' at screen right(key_x + 38), down(56 * big)
  }
  do for [i = 1:note_count] {
    flag_y = has_flags ? head + (note_row[i] + 0.5) * flag_px : panels_top
    set arrow i from first note_at[i], screen down(flag_y) to first note_at[i], screen down(panels_bottom) nohead \
      lc rgb grey lw 0.8 dt 3 back
    if (has_flags) {
      set object 4000 + i circle at first note_at[i], screen down(flag_y) size screen 13.0 * big / width \
        fillcolor rgb black fillstyle solid noborder front
      set label 400 + i sprintf('%d', i) at first note_at[i], screen down(flag_y) center front font ',13' textcolor rgb 'white'
    }
  }
  set style textbox opaque noborder fillcolor rgb 'white' margins 0.4, 0.3
  do for [i = 1:stall_count] {
    # each panel draws its own line, clear of the legends; here only where there is no panel
    if (panel_count == 0) {
      set arrow 400 + i from first stall_at[i], screen down(panels_top) to first stall_at[i], screen down(panels_bottom) nohead \
        lc rgb black lw 1.5 dt 2 back
    }
  }
  # One word for several that follow each other closely; left of its line near the end. It stands over the lines of the last panel.
  array stall_word[stall_count + 1]
  room = (time_high - time_low) * 60 * big / (width - left - right_px)
  last_stall = -1e9
  do for [i = 1:stall_count] {
    at_end = time_high - stall_at[i] <= room
    stall_word[i] = stall_at[i] - last_stall <= (at_end ? 2 : 1) * room ? 0 : at_end ? -1 : 1
    if (stall_word[i] != 0) { last_stall = stall_at[i] }
  }
  stall_text(i, y) = stall_word[i] == 0 ? '' : sprintf("set label %d 'stall' at first %.9g, screen %.6g %s offset character %g, 0 front boxed font ',13'", \
    700 + i, stall_at[i], y, stall_word[i] > 0 ? 'left' : 'right', 0.4 * stall_word[i])
  do for [i = 1:line_count] {
    line_y = height - 8 - (line_count - i + 0.5) * line_px
    set label 1000 + i line_number[i] at screen right(55 * big), down(line_y) right font ',14'
    set label 1300 + i line_text[i] at screen right(55 * big + 14), down(line_y) left font ',14'
  }
  if (panel_count == 0) {
    do for [i = 1:stall_count] { eval stall_text(i, down(panels_bottom - 14 * big)) }
    set border 1 lc rgb grey lw 1
    set xtics nomirror out scale 0.6 textcolor rgb black
    set xlabel sprintf('time, %s', time_unit) offset character 0, 0.3
  }
  plot NaN notitle
  unset object; unset arrow; unset label

  set border 3 lc rgb grey lw 1
  set grid xtics ytics lc rgb pale lw 0.7 dt solid
  set ytics nomirror out scale 0.6 autofreq textcolor rgb black
  set xtics nomirror out scale 0.6 autofreq format '' textcolor rgb black
  set mxtics 2

  do for [p = 1:panel_count] {
    final = p == panel_count
    has_right = strlen(panel_right[p]) > 0
    # The legend stands above the panel, in as many rows as it needs; a last entry of its own is the mark of a limit.
    has_limits = panel_name[p] eq 'opening' && limit_count > 0
    legend_x = left + 10; legend_rows = 1
    unset key
    # What is beyond the scale is told at the right end of the legend's first row.
    cut_text = cut(p, 'left') . (strlen(cut(p, 'left')) && has_right && strlen(cut(p, 'right')) ? '; ' : '') . \
      (has_right && strlen(cut(p, 'right')) ? 'right: ' . cut(p, 'right') : '')
    cut_wide = strlen(cut_text) ? (8.5 * strlen(cut_text) + 80) * big : 0 # the legend may reach 60 beyond the panel
    unset label 7
    if (strlen(cut_text)) {
      set label 7 cut_text at screen right(width - right_px), down(from_px + 12.5 * big + 3) right font ',13' textcolor rgb grey
    }
    do for [k = panel_first[p]:panel_last[p] + has_limits] {
      limit = k > panel_last[p]
      entry = limit ? 'limit or reset' : curve_title[k]
      wide = (54 + 11 * strlen(entry) + 22) * big
      if (legend_x + wide > width - right_px + 60 - (legend_rows == 1 ? cut_wide : 0) && legend_x > left + 10) { legend_x = left + 10; legend_rows = legend_rows + 1 }
      legend_y = from_px + (legend_rows - 0.5) * 25 * big + 3
      i = limit ? 1 : curve_style[k]
      set label 7000 + k entry at screen right(legend_x + 52 * big), down(legend_y) left font ',14'
      if (i > 8) {
        set object 7000 + k rectangle from screen right(legend_x), down(legend_y + 7 * big) to screen right(legend_x + 44 * big), \
          down(legend_y - 7 * big) fillcolor rgb style_colour(i) fillstyle transparent solid style_shade(i) noborder
      } else { if (!limit) {
        set arrow 7000 + k from screen right(legend_x), down(legend_y) to screen right(legend_x + 44 * big), down(legend_y) nohead \
          lc rgb style_colour(i) lw style_width(i) dt style_dash(i)
      } }
      if (limit || style_mark(i) > 0) {
        set label 8000 + k '' at screen right(legend_x + 22 * big), down(legend_y) point pt (limit ? 11 : style_mark(i)) ps 1.3 \
          lc rgb (limit ? black : style_colour(i))
      }
      legend_x = legend_x + wide
    }
    key_room = (5 + 25 * legend_rows) * big
    parts = (panel_share[p] * unit - key_room) / (26 * big) # tics that fit, at most
    parts = parts > 7 ? 7 : parts < 2 ? 2 : parts
    set tmargin at screen down(from_px + key_room)
    from_px = from_px + panel_share[p] * unit
    set bmargin at screen down(from_px - 4)
    set format x (final ? '%g' : '')
    set xlabel (final ? sprintf('time, %s', time_unit) : '') offset character 0, 0.3
    set label 9 panel_left[p] at screen right(24 * (1 + 0.4 * (big - 1))), graph 0.5 rotate center
    set yrange [low(p, 'left'):high(p, 'left')]
    set ytics step(low(p, 'left'), high(p, 'left'), parts)
    set border (has_right ? 11 : 3)
    unset y2tics
    unset label 8
    if (has_right) {
      set y2range [low(p, 'right'):high(p, 'right')]
      set y2tics nomirror out scale 0.6 textcolor rgb black step(low(p, 'right'), high(p, 'right'), parts)
      set label 8 panel_right[p] at screen right(width - 24 * (1 + 0.4 * (big - 1))), graph 0.5 rotate center
    }
    do for [i = 1:stall_count] {
      set arrow 6000 + i from first stall_at[i], graph 0 to first stall_at[i], graph 1 nohead lc rgb black lw 1.5 dt 2 back
      if (final) { eval stall_text(i, down(from_px - 18 * big)) }
    }
    if (has_limits) {
      do for [i = 1:limit_count] {
        set label 5000 + i '' at first limit_at[i], graph 0.96 point pt 11 ps 1.4 lc rgb black front
      }
    }
    plot_text = ''
    do for [k = panel_first[p]:panel_last[p]] { plot_text = plot_text . (strlen(plot_text) ? ', ' : '') . piece(k) }
    eval 'plot ' . plot_text
    unset label; unset arrow; unset object
  }
  unset multiplot
}
