# A run over time. All texts, ranges and data blocks come from src/io/picture_run.c.
set xrange [time_low:time_high]

if (letters) {
  set multiplot
  set key tmargin right horizontal
  set lmargin 9; set rmargin 2; set tmargin 3
  unset grid
  half = 0.5
  set size 1, half
  set origin 0, half
  set label 1 title_text at screen 0.02, 0.985
  set yrange [speed_low:speed_high]
  plot $target_rpm using 1:2 with lines title 'target, rpm', $speed_rpm using 1:2 with lines title 'speed, rpm'
  set origin 0, 0
  unset label 1
  set xlabel sprintf('time, %s', time_unit)
  set yrange [area_low:area_high]
  plot $clean_area_mm2 using 1:2 with lines title 'gap at this angle, clean, mm²', $area_mm2 using 1:2 with lines title 'gap with film, mm²'
  unset multiplot
} else {
  left = 105; right_px = 105
  set lmargin at screen right(left)
  set rmargin at screen right(width - right_px)
  head = 84
  lanes_top = head + flag_rows * flag_height
  panels_top = lanes_top + lane_count * lane_height + 6
  panels_bottom = height - 62 - line_count * line_height - (line_count > 0 ? 18 : 0)
  key_room = 30
  unit = (panels_bottom - panels_top) / 6.6
  from_px = panels_top

  set multiplot
  set label 1 title_text at screen right(left - 70), down(26) font ',20'
  set label 2 engine_text at screen right(left - 70), down(56) textcolor rgb grey

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
    set label 100 + i lane_text[i] at screen right(left - 10), down(lanes_top + (i - 0.5) * lane_height - 2) right font ',14'
  }
  do for [i = 1:band_count] {
    confirmed = band_state[i] == 2
    bar_top = lanes_top + (band_lane[i] - 1) * lane_height
    set object 1000 + i rectangle from first band_from[i], screen down(bar_top + lane_height - 4) \
      to first band_to[i], screen down(bar_top) fillcolor rgb (confirmed ? vermilion : '#BFE0F5') fillstyle solid border lc rgb black
    bar_text = confirmed ? 'confirmed' : 'pending'
    wide = (band_to[i] - band_from[i]) / (time_high - time_low) * (width - left - right_px)
    if (wide > strlen(bar_text) * 9.5 + 8) {
      set label 200 + i bar_text at first band_from[i], screen down(bar_top + 0.5 * lane_height - 2) left \
        offset character 0.5, 0 front font ',13' textcolor rgb (confirmed ? 'white' : black)
    }
  }
  if (lane_count > 0) {
    set object 3001 rectangle from screen right(width - 400), down(47) to screen right(width - 370), down(65) \
      fillcolor rgb '#BFE0F5' fillstyle solid border lc rgb black
    set label 3001 'code pending' at screen right(width - 362), down(56)
    set object 3002 rectangle from screen right(width - 220), down(47) to screen right(width - 190), down(65) \
      fillcolor rgb vermilion fillstyle solid border lc rgb black
    set label 3002 'confirmed' at screen right(width - 182), down(56)
  }
  do for [i = 1:note_count] {
    flag_y = head + (note_row[i] + 0.5) * flag_height
    set arrow i from first note_at[i], screen down(flag_y) to first note_at[i], screen down(panels_bottom) nohead \
      lc rgb grey lw 0.8 dt 3 back
    set object 4000 + i circle at first note_at[i], screen down(flag_y) size screen 13.0 / width \
      fillcolor rgb black fillstyle solid noborder front
    set label 400 + i sprintf('%d', i) at first note_at[i], screen down(flag_y) center front font ',13' textcolor rgb 'white'
  }
  do for [i = 1:stall_count] {
    set arrow 400 + i from first stall_at[i], screen down(panels_top) to first stall_at[i], screen down(panels_bottom) nohead \
      lc rgb black lw 1.5 dt 2 back
    set label 700 + i 'stall' at first stall_at[i], screen down(panels_top + key_room + 12) left offset character 0.4, 0 \
      front font ',13'
  }
  do for [i = 1:line_count] {
    line_y = height - 8 - (line_count - i + 0.5) * line_height
    set label 1000 + i line_number[i] at screen right(left - 50), down(line_y) right font ',14'
    set label 1300 + i line_text[i] at screen right(left - 36), down(line_y) left font ',14'
  }
  plot NaN notitle
  unset object; unset arrow; unset label

  set border 3 lc rgb grey lw 1
  set grid xtics ytics lc rgb pale lw 0.7 dt solid
  set ytics nomirror out scale 0.6 autofreq textcolor rgb black
  set xtics nomirror out scale 0.6 autofreq format '' textcolor rgb black
  set mxtics 2
  set key at graph 0, 1.0 left bottom horizontal Left reverse samplen 3 width -4 height 0 font ',14' maxcols 6

  # Speed.
  share = 1.5
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  from_px = from_px + share * unit
  set yrange [speed_low:speed_high]; set ytics step(speed_low, speed_high, 5)
  set label 9 'rpm' at screen right(24), graph 0.5 rotate center
  plot $target_rpm using 1:($2 - below_rpm):($2 + above_rpm) with filledcurves fc rgb green fs transparent solid 0.15 \
      title sprintf('no code within −%.0f / +%.0f rpm', below_rpm, above_rpm), \
    $speed_rpm using 1:2 with lines lc rgb blue lw 1.3 title 'speed', \
    $target_rpm using 1:2 with lines lc rgb black lw 1.6 dt 2 title 'idle target'

  # Opening and what the computer adds.
  share = 1.2
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  from_px = from_px + share * unit
  set border 11
  set yrange [blade_low:blade_high]; set ytics step(blade_low, blade_high, 5)
  set label 9 'opening, %' at screen right(24), graph 0.5 rotate center
  set y2range [trim_low:trim_high]; set y2tics nomirror out scale 0.6 textcolor rgb black step(trim_low, trim_high, 5)
  set label 8 'air added, %' at screen right(width - 24), graph 0.5 rotate center
  do for [i = 1:limit_count] {
    set label i '' at first limit_at[i], graph 0.96 point pt 11 ps 1.4 lc rgb black front
  }
  plot $blade_pct using 1:2 with lines lc rgb blue lw 1.5 title 'blade_pct', \
    $effort_pct using 1:2 axes x1y2 with linespoints lc rgb vermilion lw 1.5 pt 4 ps 1.1 pn 8 title 'effort_pct (right)', \
    $learned_pct using 1:2 axes x1y2 with linespoints lc rgb green lw 1.8 pt 6 ps 1.2 pn 9 title 'learned_pct (right)', \
    limit_count > 0 ? -1e9 : NaN with points pt 11 ps 1.4 lc rgb black title (limit_count > 0 ? 'limit or reset' : '')
  unset label

  # Air.
  share = 1.1
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  from_px = from_px + share * unit
  set yrange [air_low:air_high]; set ytics step(air_low, air_high, 4)
  set label 9 'g/s' at screen right(24), graph 0.5 rotate center
  set y2range [manifold_low:manifold_high]; set y2tics nomirror out scale 0.6 textcolor rgb black step(manifold_low, manifold_high, 6)
  set label 8 'kPa' at screen right(width - 24), graph 0.5 rotate center
  plot $airflow_gps using 1:2 with lines lc rgb blue lw 1.3 title 'airflow', \
    $manifold_kpa using 1:2 axes x1y2 with linespoints lc rgb vermilion lw 1.5 pt 4 ps 1.1 pn 8 title 'manifold pressure (right)'
  unset y2tics; unset label 8
  set border 3

  # Gap.
  share = 1.2
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  from_px = from_px + share * unit
  set yrange [area_low:area_high]; set ytics step(area_low, area_high, 6)
  set label 9 'mm²' at screen right(24), graph 0.5 rotate center
  plot $area_mm2 using 1:2:3 with filledcurves fc rgb orange fs transparent solid 0.35 title 'lost to the film', \
    $clean_area_mm2 using 1:2 with lines lc rgb black lw 1.6 dt 2 title 'gap at this angle, clean', \
    $area_mm2 using 1:2 with lines lc rgb blue lw 1.5 title 'gap with film'

  # Spark reserve.
  share = 0.85
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  from_px = from_px + share * unit
  set yrange [spark_low:spark_high]; set ytics step(spark_low, spark_high, 4)
  set label 9 '%' at screen right(24), graph 0.5 rotate center
  plot $spark_reserve_pct using 1:2 with lines lc rgb purple lw 1.5 title 'torque still to be gained by more spark'

  # Film.
  share = 0.75
  set tmargin at screen down(from_px + key_room)
  set bmargin at screen down(from_px + share * unit)
  set yrange [film_low:film_high]; set ytics step(film_low, film_high, 5)
  set label 9 'µm' at screen right(24), graph 0.5 rotate center
  set xtics format '%g'
  set xlabel sprintf('time, %s', time_unit) offset character 0, 0.3
  plot $film_um using 1:2 with lines lc rgb black lw 2 title 'film on the wall'
  unset multiplot
}
