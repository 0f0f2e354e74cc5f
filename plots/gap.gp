# The gap to scale. Lengths in mm: distance from the bore axis, height along the bore, positive downstream
# (down the page). Numbers come from src/io/picture/picture_gap.c; `down_` and `up_` stand before those of the two edges.
if (letters) {
  unset grid
  set label 1 title_text at screen 0.02, 0.98
  set label 2 sprintf('downstream edge, not to scale: gap %.0f µm of %.0f µm clean, film here %.0f µm', \
    down_gap_um, \
    down_clean_um, down_film_um) at screen 0.02, 0.94
  set tmargin 4
  set xrange [down_left:bore_radius + 0.1]
  set yrange [down_high:down_low]
  set xlabel 'distance from the bore axis, mm'
  set ylabel 'mm'
  set key left bottom
  set arrow 1 from down_left, down_edge_low to down_edge_low_radius, down_edge_low nohead
  set arrow 2 from down_edge_low_radius, down_edge_low to down_edge_high_radius, down_edge_high nohead
  set arrow 3 from down_edge_high_radius, down_edge_high to down_left, down_edge_high nohead
  set label 3 'blade' at down_left + 0.2, down_edge_middle
  plot $down_film_outline using 1:2 with lines title 'film on the wall'
} else {
  wall = '#C4C9CF'; metal = '#D6E9F5'
  inset_px = slide ? height - 245 : height - 230 # height of the enlarged views
  inset_wide = inset_px * inset_aspect
  inset_top = slide ? 170 : 140
  scale = inset_px / inset_height             # px per mm
  whole_wide = slide ? 0.3 * width : width - 2 * inset_wide - 190 # a slide has the edges alone
  whole_mm = 2 * bore_radius + 9
  whole_scale = whole_wide / whole_mm
  set multiplot
  unset border; unset tics; unset grid; unset key
  set label 31 fitted(title_text, 20, width - 70) at screen right(35), down(28 * big) font ',20'
  set label 32 sprintf('%s; blade %.2f° above the closed stop, %.2f° from square to the bore', engine_text, \
    blade_deg - closed_deg, blade_deg) at screen right(35), down(slide ? -100 : 60) textcolor rgb grey
  set label 33 sprintf('open area all round %.1f mm²; clean it would be %.1f mm²', area_mm2, clean_area_mm2) . \
    (film_um > 0 && !slide ? sprintf('; %.0f µm is the film in the mean, at the closed blade %.0f upstream and %.0f downstream', film_um, \
    up_film_line_um, down_film_line_um) : '') \
    at screen right(35), down(slide ? 98 : 86) textcolor rgb grey

  set tmargin at screen down(inset_top); set bmargin at screen down(inset_top + inset_px)
  if (!slide) {
  # The whole bore, cut along its axis and square to the shaft.
  set lmargin at screen right(40); set rmargin at screen right(40 + whole_wide)
  set xrange [-0.5 * whole_mm:0.5 * whole_mm]
  half_high = 0.5 * inset_px / whole_scale
  set yrange [half_high:-half_high]
  set label 4 sprintf('the whole bore, %.0f mm, cut square to the shaft', 2 * bore_radius) at graph 0.5, \
    screen down(inset_top - 16) center font ',15'
  set object 1 rectangle from -0.5 * whole_mm, -half_high to -bore_radius, half_high fillcolor rgb wall \
    fillstyle solid noborder
  set object 2 rectangle from bore_radius, -half_high to 0.5 * whole_mm, half_high fillcolor rgb wall \
    fillstyle solid noborder
  set arrow 1 from -bore_radius, -half_high to -bore_radius, half_high nohead lc rgb black lw 1.2
  set arrow 2 from bore_radius, -half_high to bore_radius, half_high nohead lc rgb black lw 1.2
  set object 3 polygon from up_edge_low_radius * -1, up_edge_low to up_edge_high_radius * -1, up_edge_high \
    to down_edge_high_radius, down_edge_high to down_edge_low_radius, down_edge_low to up_edge_low_radius * -1, \
      up_edge_low \
    fillcolor rgb metal fillstyle solid border lc rgb blue
  set object 4 circle at 0, 0 size shaft_radius fillcolor rgb metal fillstyle solid border lc rgb blue front
  set label 5 'shaft' at 0, shaft_radius center offset character 0, -0.9 front
  # The closed position, and the plane square to the bore.
  set arrow 5 from -bore_radius, up_line to bore_radius, down_line nohead lc rgb black lw 1 dt 2 front
  set arrow 6 from -0.62 * bore_radius, 0 to 0.85 * bore_radius, 0 nohead lc rgb grey lw 1 dt 3
  set label 6 'square to the bore' at 1.2 * shaft_radius + 0.5, 0 offset character 0, 0.7 left font ',12' \
    textcolor rgb grey front
  # Where the film sits.
  if (film_um > 0) {
    set arrow 7 from -bore_radius, up_line - band_up to -bore_radius, up_line + band_down nohead lc rgb \
      black lw 5
    set arrow 8 from bore_radius, down_line - band_up to bore_radius, down_line + band_down nohead lc rgb \
      black lw 5
    set label 7 "The film is too thin to be seen at this scale.\n" \
      . "The thick strokes on the walls only mark where\nit sits. Dashes: the blade when closed." \
      at 0, 0.60 * half_high center font ',13'
  } else {
    set label 7 "The bore is clean.\nDashes: the blade when closed." at 0, 0.60 * half_high center font ',13'
  }
  set arrow 9 from 0, -0.72 * half_high to 0, -0.45 * half_high head filled size screen 0.012, 20 lc rgb \
    blue lw 3
  set label 9 'air' at 0, -0.78 * half_high center textcolor rgb blue font ',15'
  # The places of the enlarged views.
  box_wide = inset_height * inset_aspect
  set object 10 rectangle from -up_right, up_low to -up_left, up_high fillstyle empty border lc rgb \
    vermilion lw 2 front
  set object 11 rectangle from down_left, down_low to down_right, down_high fillstyle empty border lc rgb \
    vermilion lw 2 front
  set label 10 'A' at -up_left, up_low offset character 0.5, 0.6 left textcolor rgb vermilion_text font ',18' front
  set label 11 'B' at down_left, down_high offset character -0.5, -0.6 right textcolor rgb vermilion_text font \
    ',18' front
  plot -1e9 notitle
  unset object; unset arrow; unset label
  }

  # Both edges, enlarged. Side 1 is the edge that went upstream, its wall on the left; side 2 the other.
  do for [side = 1:2] {
    first_px = (slide ? 40 : 40 + whole_wide + 60) + (side - 1) * (inset_wide + 50)
    set lmargin at screen right(first_px); set rmargin at screen right(first_px + inset_wide)
    if (side == 1) { p = 'up' } else { p = 'down' }
    edge_radius = value(p.'_edge_radius'); low_radius = value(p.'_edge_low_radius')
    high_radius = value(p.'_edge_high_radius'); edge_low = value(p.'_edge_low'); edge_high = value(p.'_edge_high')
    middle = value(p.'_edge_middle'); line = value(p.'_line'); narrowest = value(p.'_narrowest')
    low = value(p.'_low'); high = value(p.'_high'); inner = value(p.'_left'); outer = value(p.'_right')
    gap_um = value(p.'_gap_um'); clean_um = value(p.'_clean_um')
    faced_um = value(p.'_film_um'); line_um = value(p.'_film_line_um')
    if (side == 1) { set xrange [outer:inner] } else { set xrange [inner:outer] }
    set yrange [high:low]
    # Away from the edge the blade leans towards the shaft.
    lean = (edge_radius - inner) * tan(blade_deg * pi / 180.0) * (side == 1 ? 1 : -1)
    film_mm = 1e-3 * edge_film_um
    rim = (narrowest < middle ? low_radius : high_radius) + film_mm

    set label 21 sprintf(slide ? (side == 1 ? 'upstream edge' : 'downstream edge') : \
      side == 1 ? 'A: upstream edge, ×%.0f' : 'B: downstream edge, ×%.0f', scale / whole_scale) \
      at graph 0.5, screen down(inset_top - 16 * big) center font ',16'
    set object 1 rectangle from bore_radius, low to outer, high fillcolor rgb wall fillstyle solid \
      noborder behind
    set object 2 rectangle from graph 0, 0 to graph 1, 1 fillstyle empty border lc rgb vermilion lw 1.5
    set object 3 polygon from low_radius, edge_low to high_radius, edge_high to inner, edge_high + lean \
      to inner, edge_low + lean to low_radius, edge_low fillcolor rgb metal fillstyle solid border lc rgb \
        blue
    set arrow 1 from bore_radius, low to bore_radius, high nohead lc rgb black lw 1
    if (edge_film_um > 0) {
      set object 4 polygon from low_radius, edge_low to low_radius + film_mm, edge_low to high_radius + film_mm, \
        edge_high to high_radius, edge_high to low_radius, edge_low fillcolor rgb black fillstyle solid noborder
    }
    set label 2 'wall' at 0.5 * (bore_radius + outer), low center offset character 0, -1.4 font ',15'
    # clear of the closed blade's words and of the gap's: the nearest place to the middle that is
    row = 0.045 * big * (high - low)
    in_blade = (rim - inner) * scale > 168 * big
    gap_y = narrowest + (narrowest < middle ? row : -row)
    blade_y = middle + 0.5 * lean
    do for [try = 1:8] {
      if (abs(blade_y - line) < 1.7 * row || (in_blade && abs(blade_y - gap_y) < row)) {
        blade_y = middle + 0.5 * lean + 0.35 * row * try * (narrowest < middle ? 1 : -1)
      }
    }
    # and inside the blade
    blade_y = blade_y > edge_high + 0.5 * lean - 0.8 * row ? edge_high + 0.5 * lean - 0.8 * row : blade_y
    blade_y = blade_y < edge_low + 0.5 * lean + 0.8 * row ? edge_low + 0.5 * lean + 0.8 * row : blade_y
    set label 3 'blade' at 0.5 * (inner + edge_radius), blade_y center font ',15' front

    # The gap at its narrowest, with arrows from outside, and its figure on the blade.
    tail = 28.0 / scale
    face = bore_radius - 1e-3 * faced_um
    if (gap_um > 0) {
      set arrow 2 from rim - tail, narrowest to rim, narrowest head filled size screen 0.007, 22 lc rgb \
        vermilion lw 2.2 front
      set arrow 3 from face + tail, narrowest to face, narrowest head filled size screen 0.007, 22 lc rgb \
        vermilion lw 2.2 front
    }
    gap_text = gap_um > 0 ? sprintf('gap %.0f µm', gap_um) : 'closed'
    if (in_blade) {
      set label 4 gap_text at rim - tail, narrowest offset character (side == 1 ? 0.5 : -0.5), (narrowest \
        < middle ? -0.9 : 0.9) \
        font ',16' textcolor rgb vermilion_text front
      if (side == 1) { set label 4 left } else { set label 4 right }
    } else {
      # no room on the blade: beyond its edge, from the wall into the bore
      set label 4 gap_text at face, narrowest offset character (side == 1 ? 0.4 : -0.4), (narrowest < middle ? 1 : -1) \
        font ',16' textcolor rgb vermilion_text front
      if (side == 1) { set label 4 left } else { set label 4 right }
    }

    # The closed line, where the film is thickest.
    set arrow 4 from inner, line to outer, line nohead lc rgb black lw 1 dt 2 front
    set label 5 sprintf('film %.0f µm', line_um) at bore_radius, line front font ',15' \
      offset character (side == 1 ? -0.7 : 0.7), (side == 1 ? -0.8 : 0.8)
    if (side == 1) { set label 5 right } else { set label 5 left }
    below = (side == 1) != (in_blade && abs(line + (side == 1 ? row : -row) - gap_y) < row) # not where the gap's words are
    # Where the blade's edge does not run through the words: beside the line, across it, or further off.
    away = below ? -0.8 : 0.8
    near_inner = (side == 1 ? edge_high : edge_low) + lean
    letter_mm = 19.0 * big / scale
    near_tip = near_inner - lean * (7.5 * letter_mm / (edge_radius - inner))
    do for [try = 0:3] {
      place = (try % 2 ? -away : away) * (try > 1 ? 2.2 : 1.0)
      words = line - place * letter_mm
      if (!exists('placed') && ((near_inner > words + 0.7 * letter_mm && near_tip > words + 0.7 * letter_mm) || \
        (near_inner < words - 0.7 * letter_mm && near_tip < words - 0.7 * letter_mm))) { placed = place }
    }
    set label 6 'closed blade' at inner, line front font ',13' offset character (side == 1 ? -0.5 : 0.5), (exists('placed') ? placed : away)
    if (side == 1) { set label 6 right } else { set label 6 left }
    undefine placed

    # Scale and caption.
    set arrow 5 from inner + 0.05, graph 0.03 to inner + 0.55, graph 0.03 heads size screen 0.006, 90 lc \
      rgb black lw 2 front
    set label 7 '0.5 mm, both ways' at inner + 0.05, graph 0.03 offset character 0, 1.25 font ',13' front
    if (side == 1) { set label 7 right } else { set label 7 left }
    set label 8 sprintf('gap %.0f µm of %.0f µm clean', gap_um, clean_um) at graph 0.5, screen \
      down(inset_top + inset_px + 26 * big) center font ',16'
    if (side == 1) {
      plot $up_wall_outline using 1:2 with filledcurves closed fc rgb wall fs solid notitle, \
        $up_film_outline using 1:2 with filledcurves closed fc rgb black fs solid notitle
    } else {
      plot $down_wall_outline using 1:2 with filledcurves closed fc rgb wall fs solid notitle, \
        $down_film_outline using 1:2 with filledcurves closed fc rgb black fs solid notitle
    }
    unset object; unset arrow; unset label
  }
  unset multiplot
}
