# Position tracks and motor current over blade opening. Data and texts come from src/io/picture/picture_tracks.c.
set xrange [0:85]
array colour[6] = [blue, vermilion, green, orange, purple, black]

if (letters) {
  unset grid
  set key left top Left reverse
  set label 1 title_text at screen 0.02, 0.98
  set xlabel 'opening, degrees'
  set ylabel 'A'
  set yrange [amps_low:amps_high]
  set tmargin 3
  plot for [i = 1:stretch_count] $sweep index i - 1 using 1:5 with lines title stretch_name[i]
} else {
  set multiplot
  set label 1 title_text at screen right(35), down(28 * big) font ',20'
  set label 2 engine_text at screen right(35), down(slide ? -100 : 60) textcolor rgb grey
  set lmargin at screen right(115 * (1 + 0.6 * (big - 1)))
  set rmargin at screen right(width - 60)
  set xtics nomirror out 10 textcolor rgb black font ',15'

  # A dash tells the track, a colour the sweep: keys of the tracks have no sweep's colour.
  if (slide) { set key at screen right(115 * (1 + 0.6 * (big - 1))), down(88) left top horizontal Left reverse font ',14' samplen 2 width 3 } else {
    set key at screen right(115), down(92) left top horizontal Left reverse font ',15' samplen 3
  }
  set tmargin at screen down(slide ? 138 : 125)
  set bmargin at screen down(slide ? 350 : 470)
  set yrange [0:5.6]
  set ytics nomirror out 1 textcolor rgb black font ',15'
  if (slide) { set format x '' } # those of the lower panel
  set ylabel 'volts' font ',16' offset character -1, 0
  set xlabel ''
  # Where the blade shakes faster than the rows tell nothing is joined.
  plot for [i = 1:stretch_count] $sweep index i - 1 using 1:($6 > 0 ? NaN : $2) with lines lc rgb colour[i] lw 2.5 dt 1 notitle, \
       for [i = 1:stretch_count] $sweep index i - 1 using 1:($6 > 0 ? NaN : $3) with lines lc rgb colour[i] lw 2.5 dt 2 notitle, \
       for [i = 1:stretch_count] $sweep index i - 1 using 1:($6 > 0 ? NaN : $4) with lines lc rgb grey lw 1.5 dt 3 notitle, \
       for [i = 1:stretch_count] for [k = 2:4] $sweep index i - 1 using 1:($6 > 0 ? column(k) : NaN) with points pt 7 ps 0.5 * big \
         lc rgb (k == 4 ? grey : colour[i]) notitle, \
       NaN with lines lc rgb black lw 2.5 dt 1 title 'track 1', NaN with lines lc rgb black lw 2.5 dt 2 title 'track 2', \
       NaN with lines lc rgb grey lw 1.5 dt 3 title 'their sum'
  unset label 1
  unset label 2
  set format x '%g'

  if (slide) { set key at screen right(115 * (1 + 0.6 * (big - 1))), down(365) left top vertical Left reverse font ',14' samplen 2 spacing 1.4 } else {
    set key at screen right(115), down(520) left top vertical Left reverse font ',15' samplen 3
  }
  set tmargin at screen down(slide ? 395 + 48 * (stretch_count + any_shakes) : 555 + 26 * (stretch_count + any_shakes))
  set bmargin at screen down(height - 88 * big)
  set yrange [amps_low:amps_high]
  set ytics nomirror out autofreq textcolor rgb black font ',15'
  set ylabel (slide ? 'A' : 'motor current, A') font ',16' offset character (slide ? -1 : 0), 0
  set xlabel 'blade opening above the closed stop, degrees' font ',16'
  plot for [i = 1:stretch_count] $sweep index i - 1 using 1:($6 > 0 ? NaN : $5) with lines lc rgb colour[i] lw 1.2 + 0.8 * i \
    title fitted(stretch_name[i], 14, (slide ? 0.72 : 0.5) * width), \
    for [i = 1:stretch_count] $sweep index i - 1 using 1:($6 > 0 ? $5 : NaN) with points pt 7 ps 0.5 * big lc rgb colour[i] notitle, \
    NaN with points pt 7 ps 0.5 * big lc rgb black title (any_shakes ? 'the blade shakes faster than the rows tell' : '')
  unset multiplot
}
