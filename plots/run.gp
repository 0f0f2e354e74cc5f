# A run over time. All texts, ranges and data blocks come from src/io/picture/picture_run.c.
set xrange [time_low:time_high]

if (letters) {
  # The main panels: speed, and what lets the air in. Codes and notes are listed by src/io/picture/picture_marks.c.
  set multiplot
  set key tmargin right horizontal
  set lmargin 9; set rmargin 2; set tmargin 3
  unset grid
  rest = line_count + lane_count > 0 ? real(line_count + lane_count + 2) / height : 0.0
  rest = rest > 0.5 ? 0.5 : rest
  half = 0.5 * (1.0 - rest)
  set size 1, half
  set origin 0, rest + half
  set label 1 title_text at screen 0.02, 0.985
  do for [i = 1:lane_count] {
    code_text = lane_text[i] . ' ' . lane_states[i]
    set label 10 + i code_text at screen 0.02, rest - real(i) / height
  }
  do for [i = 1:line_count] {
    note_text = (strlen(line_number[i]) ? line_number[i] . '  ' . line_at[i] . '  ' : '   ') . line_text[i]
    set label 40 + i note_text at screen 0.02, rest - real(i + lane_count + 1) / height
  }
  set yrange [speed_low:speed_high]
  if (has_target_rpm) {
    plot $target_rpm using 1:2 with lines title 'target, rpm', $speed_rpm using 1:2 with lines title 'speed, rpm'
  } else {
    plot $speed_rpm using 1:2 with lines title 'speed, rpm'
  }
  set origin 0, rest
  unset label
  set xlabel sprintf('time, %s', time_unit)
  if (area_share > 0 && !has_bypass_steps) {
    set yrange [area_low:area_high]
    plot $clean_area_mm2 using 1:2 with lines title 'gap at this angle, clean, mm²', $area_mm2 using 1:2 \
      with lines title 'gap with film, mm²'
  } else { if (steps_share > 0) {
    set yrange [steps_low:steps_high]
    plot $bypass_steps using 1:2 with lines title 'bypass_steps'
  } else { if (opening_share > 0) {
    set yrange [opening_low:opening_high]
    plot $blade_pct using 1:2 with lines title (has_blade_pct ? 'blade_pct' : ''), \
      $tp_pct using 1:2 with lines title (has_tp_pct ? 'tp_pct' : '')
  } else {
    set yrange [air_low:air_high]
    plot $airflow_gps using 1:2 with lines title 'air, g/s'
  } } }
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
  unit = (panels_bottom - panels_top) / share_sum
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
    set object i rectangle from first shade_from[i], screen down(panels_bottom) to first shade_to[i], \
      screen down(panels_top) \
      behind fillcolor rgb (confirmed ? '#FBE3CC' : '#E4F1FA') fillstyle solid noborder
  }
  do for [i = 1:lane_count] {
    set label 100 + i lane_text[i] at screen right(left - 10), down(lanes_top + (i - 0.5) * lane_height - \
      2) right font ',14'
  }
  do for [i = 1:band_count] {
    confirmed = band_state[i] == 2
    bar_top = lanes_top + (band_lane[i] - 1) * lane_height
    set object 1000 + i rectangle from first band_from[i], screen down(bar_top + lane_height - 4) \
      to first band_to[i], screen down(bar_top) fillcolor rgb (confirmed ? vermilion : '#BFE0F5') \
        fillstyle solid border lc rgb black
    bar_text = confirmed ? 'confirmed' : 'pending'
    wide = (band_to[i] - band_from[i]) / (time_high - time_low) * (width - left - right_px)
    if (wide > strlen(bar_text) * 9.5 + 8) {
      set label 200 + i bar_text at first band_from[i], screen down(bar_top + 0.5 * lane_height - 2) left \
        offset character 0.5, 0 front font ',13' textcolor rgb (confirmed ? 'white' : black)
    }
  }
  if (lane_count > 0) {
    set object 3001 rectangle from screen right(width - 400), down(47) to screen right(width - 370), \
      down(65) \
      fillcolor rgb '#BFE0F5' fillstyle solid border lc rgb black
    set label 3001 'code pending' at screen right(width - 362), down(56)
    set object 3002 rectangle from screen right(width - 220), down(47) to screen right(width - 190), \
      down(65) \
      fillcolor rgb vermilion fillstyle solid border lc rgb black
    set label 3002 'confirmed' at screen right(width - 182), down(56)
  }
  do for [i = 1:note_count] {
    flag_y = head + (note_row[i] + 0.5) * flag_height
    set arrow i from first note_at[i], screen down(flag_y) to first note_at[i], screen down(panels_bottom) \
      nohead \
      lc rgb grey lw 0.8 dt 3 back
    set object 4000 + i circle at first note_at[i], screen down(flag_y) size screen 13.0 / width \
      fillcolor rgb black fillstyle solid noborder front
    set label 400 + i sprintf('%d', i) at first note_at[i], screen down(flag_y) center front font ',13' \
      textcolor rgb 'white'
  }
  do for [i = 1:stall_count] {
    set arrow 400 + i from first stall_at[i], screen down(panels_top) to first stall_at[i], screen \
      down(panels_bottom) nohead \
      lc rgb black lw 1.5 dt 2 back
    set label 700 + i 'stall' at first stall_at[i], screen down(panels_top + key_room + 12) left offset \
      character 0.4, 0 \
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

  # Panels, each in its share of the height; one whose share is 0 is left out.
  begin = "set tmargin at screen down(from_px + key_room); set bmargin at screen down(from_px + share * unit); " . \
    "from_px = from_px + share * unit; set format x (panel eq last_panel ? '%g' : ''); " . \
    "set xlabel (panel eq last_panel ? sprintf('time, %s', time_unit) : '') offset character 0, 0.3"
  right_on = "set border 11; set y2tics nomirror out scale 0.6 textcolor rgb black"
  right_off = "set border 3; unset y2tics; unset label 8"
  both(first, second) = first . (strlen(second) ? '   right: ' . second : '')
  place_cut = "set label 7 cut at graph 1, 1 right offset character -0.5, 0.6 font ',13' textcolor rgb grey"
  place_left = "set label 9 axis at screen right(24), graph 0.5 rotate center"
  place_right = "set label 8 axis2 at screen right(width - 24), graph 0.5 rotate center"

  panel = 'speed'; share = speed_share
  if (share > 0) {
    eval begin
    cut = speed_cut; eval place_cut
    axis = 'rpm'; eval place_left
    set yrange [speed_low:speed_high]; set ytics step(speed_low, speed_high, 7)
    plot $target_rpm using 1:($2 - below_rpm):($2 + above_rpm) with filledcurves fc rgb green fs transparent \
      solid 0.15 \
        title (has_target_rpm ? sprintf('no code within −%.0f / +%.0f rpm', below_rpm, above_rpm) : ''), \
      $speed_rpm using 1:2 with lines lc rgb blue lw 1.3 title 'speed', \
      $target_rpm using 1:2 with lines lc rgb black lw 1.6 dt 2 title (has_target_rpm ? 'idle target' : '')
  }

  # Opening and what the computer adds.
  panel = 'opening'; share = opening_share
  if (share > 0) {
    eval begin
    added = has_effort_pct || has_learned_pct
    if (added) { eval right_on }
    cut = added ? both(opening_cut, added_cut) : opening_cut; eval place_cut
    axis = 'opening, %'; eval place_left
    set yrange [opening_low:opening_high]; set ytics step(opening_low, opening_high, 5)
    set y2range [added_low:added_high]
    if (added) { set y2tics step(added_low, added_high, 5); axis2 = 'air added, %'; eval place_right }
    do for [i = 1:limit_count] {
      set label 5000 + i '' at first limit_at[i], graph 0.96 point pt 11 ps 1.4 lc rgb black front
    }
    plot $blade_pct using 1:2 with lines lc rgb blue lw 1.5 title (has_blade_pct ? 'blade_pct' : ''), \
      $tp_pct using 1:2 with lines lc rgb blue lw 1.5 title (has_tp_pct ? 'tp_pct (about 10 when closed)' : ''), \
      $effort_pct using 1:2 axes x1y2 with linespoints lc rgb vermilion lw 1.5 pt 4 ps 1.1 pn 8 title \
        (has_effort_pct ? 'effort_pct (right)' : ''), \
      $learned_pct using 1:2 axes x1y2 with linespoints lc rgb green lw 1.8 pt 6 ps 1.2 pn 9 title \
        (has_learned_pct ? 'learned_pct (right)' : ''), \
      limit_count > 0 ? -1e9 : NaN with points pt 11 ps 1.4 lc rgb black title (limit_count > 0 ? \
        'limit or reset' : '')
    do for [i = 1:limit_count] { unset label 5000 + i }
    eval right_off
  }

  panel = 'steps'; share = steps_share
  if (share > 0) {
    eval begin
    cut = steps_cut; eval place_cut
    axis = 'steps'; eval place_left
    set yrange [steps_low:steps_high]; set ytics step(steps_low, steps_high, 4)
    plot $bypass_steps using 1:2 with lines lc rgb blue lw 1.5 title 'bypass_steps: idle valve, from its seat'
  }

  panel = 'air'; share = air_share
  if (share > 0) {
    eval begin
    pressure = has_manifold_kpa || has_map_kpa
    if (pressure) { eval right_on }
    cut = pressure ? both(air_cut, manifold_cut) : air_cut; eval place_cut
    axis = has_airflow_gps || has_maf_gps ? 'g/s' : ''; eval place_left
    set yrange [air_low:air_high]; set ytics step(air_low, air_high, 4)
    if (strlen(axis) == 0) { unset ytics }
    set y2range [manifold_low:manifold_high]
    if (pressure) { set y2tics step(manifold_low, manifold_high, 6); axis2 = 'kPa'; eval place_right }
    plot $airflow_gps using 1:2 with lines lc rgb blue lw 1.3 title (has_airflow_gps ? 'airflow_gps' : ''), \
      $maf_gps using 1:2 with lines lc rgb black lw 1.5 dt 2 title (has_maf_gps ? \
        (has_airflow_gps ? 'maf_gps: what the sensor sees' : 'maf_gps') : ''), \
      $manifold_kpa using 1:2 axes x1y2 with linespoints lc rgb vermilion lw 1.5 pt 4 ps 1.1 pn 8 title \
        (has_manifold_kpa ? 'manifold_kpa (right)' : ''), \
      $map_kpa using 1:2 axes x1y2 with linespoints lc rgb purple lw 1.5 dt 4 pt 8 ps 1.1 pn 9 title \
        (has_map_kpa ? 'map_kpa: the sensor (right)' : '')
    set ytics nomirror out scale 0.6 textcolor rgb black
    eval right_off
  }

  # Gap.
  panel = 'area'; share = area_share
  if (share > 0) {
    eval begin
    cut = area_cut; eval place_cut
    axis = 'mm²'; eval place_left
    set yrange [area_low:area_high]; set ytics step(area_low, area_high, 6)
    plot $area_mm2 using 1:2:3 with filledcurves fc rgb orange fs transparent solid 0.35 title \
      (has_clean_area_mm2 && has_film_um ? 'lost to the film' : ''), \
      $clean_area_mm2 using 1:2 with lines lc rgb black lw 1.6 dt 2 title \
        (has_clean_area_mm2 ? 'gap at this angle, clean' : ''), \
      $area_mm2 using 1:2 with lines lc rgb blue lw 1.5 title (has_area_mm2 ? 'gap as it is' : '')
  }

  panel = 'mixture'; share = mixture_share
  if (share > 0) {
    eval begin
    trims = has_stft_pct || has_ltft_pct || has_ltft2_pct
    if (has_lambda) { eval right_on }
    set key width 0 # short names
    cut = has_lambda ? both(trim_cut, lambda_axis_cut) : trim_cut; eval place_cut
    axis = trims ? 'trim, %' : ''; eval place_left
    set yrange [trim_low:trim_high]; set ytics step(trim_low, trim_high, 5)
    if (!trims) { unset ytics }
    set y2range [lambda_axis_low:lambda_axis_high]
    if (has_lambda) {
      set y2tics step(lambda_axis_low, lambda_axis_high, 5); axis2 = 'lambda'; eval place_right
    }
    plot $stft_pct using 1:2 with lines lc rgb sky lw 1.3 title (has_stft_pct ? 'stft_pct' : ''), \
      $ltft_pct using 1:2 with linespoints lc rgb blue lw 1.8 pt 6 ps 1.1 pn 8 title (has_ltft_pct ? 'ltft_pct' : ''), \
      $ltft2_pct using 1:2 with linespoints lc rgb green lw 1.5 pt 8 ps 1.1 pn 9 title \
        (has_ltft2_pct ? 'ltft2_pct' : ''), \
      $lambda using 1:2 axes x1y2 with lines lc rgb vermilion lw 1.5 dt 2 title (has_lambda ? 'lambda (right)' : '')
    set ytics nomirror out scale 0.6 textcolor rgb black
    set key width -4
    eval right_off
  }

  panel = 'spark'; share = spark_share
  if (share > 0) {
    eval begin
    cut = spark_cut; eval place_cut
    axis = has_spark_reserve_pct ? '%' : '°'; eval place_left
    set yrange [spark_low:spark_high]; set ytics step(spark_low, spark_high, 4)
    plot $spark_reserve_pct using 1:2 with lines lc rgb purple lw 1.5 title \
        (has_spark_reserve_pct ? 'torque still to be gained by more spark' : ''), \
      $spark_deg using 1:2 with lines lc rgb purple lw 1.5 title \
        (has_spark_deg ? 'spark_deg, before top dead centre' : '')
  }

  panel = 'warmth'; share = warmth_share
  if (share > 0) {
    eval begin
    set key width 0
    cut = warmth_cut; eval place_cut
    axis = '°C'; eval place_left
    set yrange [warmth_low:warmth_high]; set ytics step(warmth_low, warmth_high, 4)
    plot $coolant_c using 1:2 with lines lc rgb blue lw 1.5 title (has_coolant_c ? 'coolant_c' : ''), \
      $oil_c using 1:2 with lines lc rgb orange lw 1.8 dt 2 title (has_oil_c ? 'oil_c' : '')
    set key width -4
  }

  # Film and leak.
  panel = 'film'; share = film_share
  if (share > 0) {
    eval begin
    if (has_leak_mm2) { eval right_on }
    cut = has_leak_mm2 ? both(film_cut, leak_cut) : film_cut; eval place_cut
    axis = has_film_um ? 'µm' : ''; eval place_left
    set yrange [film_low:film_high]; set ytics step(film_low, film_high, 5)
    if (!has_film_um) { unset ytics }
    set y2range [leak_low:leak_high]
    if (has_leak_mm2) { set y2tics step(leak_low, leak_high, 4); axis2 = 'mm²'; eval place_right }
    plot $film_um using 1:2 with lines lc rgb black lw 2 title (has_film_um ? 'film on the wall' : ''), \
      $leak_mm2 using 1:2 axes x1y2 with lines lc rgb vermilion lw 1.8 dt 2 title \
        (has_leak_mm2 ? 'vacuum leak (right)' : '')
  }
  unset multiplot
}
