# Gap area against blade opening. Data and texts come from src/io/picture/picture_area.c.
set xrange [0:opening_high]
set yrange [0:area_high]
set xlabel 'blade opening above the closed stop, degrees'

if (letters) {
  unset grid
  set key left top Left reverse
  set label 1 title_text at screen 0.02, 0.98
  set ylabel 'mm²'
  set tmargin 3
  set samples 100
  plot for [i = 1:curve_count] $curves using 1:i + 1 with lines title curve_name[i], \
    idle_area > 0 ? idle_area : -1 with dots title (idle_area > 0 ? 'air for idle' : '')
} else {
  left = 105 * (1 + 0.6 * (big - 1))
  set lmargin at screen right(left)
  set rmargin at screen right(width - 205 * (1 + 0.85 * (big - 1)))
  set tmargin at screen down(100 * (1 + 0.5 * (big - 1)))
  set bmargin at screen down(height - 88 * big)
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(28 * big) font ',20'
  if (!slide) { set label 2 engine_text at screen right(35), down(60) textcolor rgb grey }
  set label 3 (slide ? 'open area, mm²' : 'open area between blade and wall, mm²') at screen right(28 * (1 + 0.2 * (big - 1))), \
    graph 0.5 rotate center font ',16'
  set xlabel offset character 0, 0 font ',16'
  set xtics nomirror out 1 textcolor rgb black font ',15'
  set ytics nomirror out step(0, area_high, 8) textcolor rgb black font ',15'
  unset key
  # The run's own film has a colour that no other film has.
  curve_colours = black . ' ' . blue . ' ' . green . ' ' . orange . ' ' . purple . ' ' . grey
  array dashes[7]
  array kind[7]
  nth = 0
  do for [i = 1:curve_count] {
    if (!curve_largest[i]) { nth = nth + 1 }
    kind[i] = curve_largest[i] ? 1 : nth
    dashes[i] = curve_largest[i] ? 1 : int(word('1 2 4 5 3 2', nth))
    set label 100 + i curve_name[i] at graph 1, first curve_end[i] offset character 0.8, 0 font ',16' \
      textcolor rgb (curve_largest[i] ? vermilion_text : text_colour(word(curve_colours, kind[i])))
  }
  first_x = point_count > 0 ? point_x[1] : 0
  if (idle_area > 0) {
    set arrow 1 from graph 0, first idle_area to graph 1, first idle_area nohead lc rgb black lw 1.2 dt 3 back
    # where no curve goes: right of the idle, or left of one that takes much air
    idle_right = first_x < 0.5 * opening_high
    if (idle_right) { set label 10 'air for idle' at graph 1, first idle_area right offset character -0.6, 0.6 font ',16' } else {
      set label 10 'air for idle' at graph 0, first idle_area left offset character 0.6, 0.6 font ',16'
    }
  }
  row_high = slide ? 0.07 : 0.045
  loss_y = 0.965 - row_high * (point_count + 0.3) # below the points' names
  if (has_loss) {
    set arrow 2 from first idle_x, first idle_area to first idle_x, first left_area head filled size \
      screen 0.011, 22 \
      lc rgb vermilion lw 2.5 front
    set arrow 3 from first idle_x, first idle_area to first restored_x, first idle_area head filled size \
      screen 0.011, 22 \
      lc rgb vermilion lw 2.5 front
    set label 20 sprintf(slide ? '↓  %.0f µm take %.1f mm² (%.0f %%)' : '↓  at the same angle, %.0f µm take %.1f mm² (%.0f %%) of the gap', \
      loss_film, idle_area - left_area, 100.0 * (idle_area - left_area) / idle_area) \
      at graph 0.014, graph loss_y left font ',16' textcolor rgb vermilion_text
    set label 21 sprintf(on_a_screw ? (slide ? '→  %.2f° more, if it could' : \
      '→  the same air would take %.2f° more, but the blade rests on its screw') : \
      slide ? '→  for the same air %.2f° more' : '→  for the same air the blade must open %.2f° more', restored_x - idle_x) at graph 0.014, graph loss_y - row_high left font ',16' textcolor rgb vermilion_text
  }
  # Names of the points in the free corner above the curves, in the order of time.
  array marks[8] = [7, 5, 9, 11, 13, 6, 4, 8]
  do for [i = 1:point_count] {
    name_y = 0.965 - row_high * (i - 1)
    entry = slide ? point_name[i] : point_text[i]
    set label 200 + i entry at graph (slide ? 0.045 : 0.035), graph name_y font ',16' front
    # a point where another is already stands round it, hollow
    covers = 0
    do for [k = 1:i - 1] {
      if (abs(point_x[i] - point_x[k]) < 0.012 * opening_high && abs(point_y[i] - point_y[k]) < 0.016 * area_high) { covers = covers + 1 }
    }
    mark = marks[i] - (covers > 0)
    set label 300 + i '' at graph 0.02, graph name_y point pt mark ps 2 * (slide ? 1.5 : 1) lc rgb black front
    set label 400 + i '' at first point_x[i], first point_y[i] point pt mark ps (2.4 + 1.6 * covers) * (slide ? 1.2 : 1) lw 1.6 lc rgb black front
  }
  plot for [i = 1:curve_count] $curves using 1:i + 1 with lines lw (curve_largest[i] ? 3.2 : 1.8) dt \
    dashes[i] \
    lc rgb (curve_largest[i] ? vermilion : word(curve_colours, kind[i]))
}
