# A car's open area against position, beside a clean one's. Data and texts: src/io/picture/picture_opening.c. $points, $clean: position,
# area, its error; $band: position, clean, lower and upper end, fitted.
set xrange [position_low:position_high]
set yrange [0:area_high]
if (letters) {
  unset grid
  set key left top Left reverse
  set label 1 title_text at screen 0.02, 0.98
  set xlabel 'position, %'
  set ylabel 'mm²'
  set tmargin 3
  plot $points using 1:2 with points pt 'o' title 'this log', $band using 1:2 with lines title clean_text
} else {
  left = 105 * (1 + 0.6 * (big - 1))
  set lmargin at screen right(left)
  set rmargin at screen right(width - 50)
  set tmargin at screen down(140 * (1 + 0.3 * (big - 1)))
  set bmargin at screen down(height - 88 * big)
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(28 * big) font ',20'
  set label 2 verdict_text at screen right(35), down(72 * big) font ',17' textcolor rgb vermilion_text
  set label 3 (slide ? 'open area, mm²' : 'open area times discharge, mm²') at screen right(28 * (1 + 0.2 * (big - 1))), graph 0.5 rotate center font ',16'
  set xlabel 'throttle position, %' offset character 0, 0 font ',16'
  set xtics nomirror out step(position_low, position_high, 10) textcolor rgb black font ',15'
  set ytics nomirror out step(0, area_high, 8) textcolor rgb black font ',15'
  set key inside left top Left reverse font ',16' samplen 3 spacing 1.4
  if (idle_x == idle_x) {
    set label 10 'idle' at first idle_x, first idle_y left offset character 1.4, -0.8 font ',16' front
    set label 11 '' at first idle_x, first idle_y point pt 6 ps 3 lw 2.5 lc rgb black front
    if (idle_clean_y == idle_clean_y) {
      set arrow 1 from first idle_x, first idle_clean_y to first idle_x, first idle_y head filled size screen 0.011, 22 lc rgb vermilion lw 2.5 front
    }
  }
  plot $band using 1:3:4 with filledcurves lc rgb '#CDE3D9' title (has_band ? clean_text : ''), \
    $band using 1:2 with lines lc rgb green lw 2.4 notitle, \
    $clean using 1:(has_clean ? $2 : NaN):3 with yerrorbars pt 5 ps 1.1 lw 1.5 lc rgb green title (has_clean ? 'the clean log' : ''), \
    $points using 1:2:3 with yerrorbars pt 7 ps 1.3 lw 1.8 lc rgb vermilion title 'this log'
}
