# Where a class lost its minutes. Data and texts: src/io/picture/picture_practice.c. $lost: place, minutes, test.
set xrange [0:most]
set yrange [rows + 0.6:0.4]
set border 3
if (letters) {
  unset grid
  set label 1 title_text at screen 0.02, 0.98
  set xlabel 'minutes'
  set lmargin 30
  set tmargin 3
  set ytics nomirror
  unset key
  plot $lost using 2:1:ytic(3) with points pt '#' notitle, $lost using 2:1:(sprintf(' %.0f', $2)) with labels left notitle
} else {
  set lmargin at screen right(420 * (1 + 0.5 * (big - 1)))
  set rmargin at screen right(width - 60)
  set tmargin at screen down(120 * big)
  set bmargin at screen down(height - 100 * big)
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(40 * big) font ',20'
  set xlabel 'minutes of the whole class, beyond the best plan' font ',16'
  set xtics nomirror out font ',15'
  set ytics nomirror out font ',15'
  unset key
  plot $lost using (0.5 * $2):1:(0.5 * $2):(0.35):ytic(3) with boxxyerror fill solid 0.8 lc rgb vermilion notitle, \
    $lost using 2:1:(sprintf(' %.0f', $2)) with labels left font ',15' notitle
}
