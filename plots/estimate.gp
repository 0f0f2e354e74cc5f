# What an estimate says. Data: src/io/picture/picture_estimate.c. $film: thickness, density; bar_name, bar_value: causes; $off: row, then
# for each leading cause how far the reading lies from what it lets expect, in standard deviations.
cause_colour(k) = word('#000000 #D55E00 #0072B2 #009E73', k)
cause_mark(k) = int(word('4 7 9 13', k))
shown(p) = p > 0.999 ? '> 99.9 %' : p < 0.001 ? '< 0.1 %' : p < 0.1 || p > 0.99 ? sprintf('%.1f %%', 100.0 * p) : sprintf('%.0f %%', 100.0 * p)
if (letters) {
  # In a terminal the causes alone.
  set title title_text . ', ' . engine_text
  set yrange [bar_count + 0.7:0.3]
  set xrange [0:1]
  set xlabel 'probability'
  unset grid
  unset key
  set lmargin 34
  unset ytics
  do for [b = 1:bar_count] {
    set label b bar_name[b] . '  ' . shown(bar_value[b]) at graph 0, first b right offset -1, 0
  }
  set style arrow 1 nohead
  do for [b = 1:bar_count] { set arrow b from 0, b to bar_value[b], b nohead }
  plot NaN notitle
} else {
  # A slide has the film and the causes; what each reading says is for who can come close.
  top = slide ? 232.0 : 110.0
  panel = slide ? height - top - 130 : 360.0
  set label 1 fitted(title_text, 20, width - 70) at screen right(35), down(28 * big) font ',20'
  set label 2 engine_text at screen right(35), down(60 * big) textcolor rgb grey
  set multiplot

  # How thick a film would be.
  set tmargin at screen down(top + 30)
  set bmargin at screen down(top + panel)
  set lmargin at screen right(70)
  set rmargin at screen right((slide ? 0.38 : 0.42) * width)
  film_text = sprintf('film: probability %s', shown(film_probability))
  film_range = has_film ? sprintf('if it is one %.0f to %.0f µm', film_low, film_high) : ''
  set label 3 film_text . (slide || !has_film ? '' : ', ' . film_range) at graph 0, graph 1 left offset character 0, (slide ? 2.6 : 1.3) font ',15'
  if (slide) { set label 5 film_range at graph 0, graph 1 left offset character 0, 1.3 font ',15' }
  unset key
  set border 1
  unset ytics
  set xlabel (slide ? 'thickness, µm (shaded: 90 %)' : 'thickness of the film, if there is one, µm (shaded: 90 %)') offset 0, 0.3
  if (has_film) {
    set xrange [film_from:film_to]
    set yrange [0:*]
    set xtics step(film_from, film_to, slide ? 4 : 8)
    set samples 2
    plot $film using 1:($1 >= film_low && $1 <= film_high ? $2 : NaN) with filledcurves y1=0 lc rgb '#C9DDEA' notitle, \
      $film using 1:2 with lines lc rgb blue lw 2.4 notitle
  } else {
    set xrange [0:1]
    set yrange [0:1]
    set label 4 (slide ? 'no film reads like that' : 'no film lets the engine do what was read') at graph 0.5, graph 0.5 center
    plot NaN notitle
  }
  unset label 1
  unset label 2
  unset label 4
  unset label 5

  # How likely each cause is.
  set lmargin at screen right(slide ? 0.38 * width + 470 : 0.42 * width + 300)
  set rmargin at screen right(width - 110 * (1 + 0.8 * (big - 1)))
  set label 3 'which cause' at graph 0, graph 1 left offset character 0, (slide ? 1.4 : 1.3) font ',15'
  set xrange [0:1]
  set yrange [bar_count + 0.6:0.4]
  set xtics 0, (slide ? 0.5 : 0.2), 1
  set xlabel 'probability' offset 0, 0.3
  set ytics scale 0
  unset ytics
  set border 3
  do for [b = 1:bar_count] {
    set object b rectangle from first 0, first b - 0.32 to first bar_value[b], first b + 0.32 front \
      fillcolor rgb (b == bar_count ? '#DDDDDD' : b == 1 ? '#5B8FB5' : '#A9C6DB') fillstyle solid border lc rgb black
    set label 100 + b bar_name[b] at graph 0, first b right offset character -0.8, 0 font ',15'
    set label 200 + b shown(bar_value[b]) at first bar_value[b], first b left offset character 0.6, 0 font ',14' front
  }
  plot NaN notitle
  do for [b = 1:bar_count] { unset object b; unset label 100 + b; unset label 200 + b }

  # How far the readings lie from what each cause lets expect.
  if (!slide && reading_count > 0) { # from codes and a complaint alone there are none
  rows_top = top + panel + 175
  set tmargin at screen down(rows_top)
  set bmargin at screen down(rows_top + row_height * reading_count)
  set lmargin at screen right(300)
  set rmargin at screen right(width - 60)
  set xrange [-off_most:off_most]
  set yrange [reading_count + 0.5:0.5]
  set xtics step(-off_most, off_most, 10)
  set xlabel 'reading less what the cause lets expect, in standard deviations of cars, days and instrument'
  set object 1 rectangle from first -2, graph 0 to first 2, graph 1 behind fillcolor rgb '#E8E8E8' fillstyle solid noborder
  set arrow 1 from first 0, graph 0 to first 0, graph 1 nohead lc rgb grey lw 1.2
  set label 3 'readings against the leading causes: a mark within the band fits' at screen right(35), down(rows_top - 46) left font ',15'
  do for [i = 1:reading_count] {
    set label 10 + i reading_name[i] at graph 0, first i right offset character -1, 0 font ',14'
    if (i > 1) { set arrow 10 + i from graph 0, first i - 0.5 to graph 1, first i - 0.5 nohead lc rgb pale lw 0.6 back }
  }
  clip(x) = x > off_most ? off_most : x < -off_most ? -off_most : x
  mark_size = GPVAL_TERM eq 'svg' ? 1.1 : 1.6 # svg draws its marks larger
  aside(k) = (k - 0.5 * (cause_count + 1)) * 0.2
  do for [i = 1:reading_count] {
    do for [k = 1:cause_count] {
      off = word($off[i], k + 1) eq 'NaN' ? 0 : real(word($off[i], k + 1))
      if (off > off_most) {
        set label 1000 + 10 * i + k sprintf('%+.0f', off) at first off_most, first (i + aside(k)) right offset character -1.2, 0 \
          font ',11' front
      }
      if (off < -off_most) {
        set label 1000 + 10 * i + k sprintf('%+.0f', off) at first -off_most, first (i + aside(k)) left offset character 1.2, 0 \
          font ',11' front
      }
    }
  }
  unset grid
  set key at graph 1, graph 1 right bottom horizontal Left reverse samplen 1 font ',15' maxcols 4
  plot for [k = 1:cause_count] $off using (clip(column(k + 1))):($1 + aside(k)) with points pt cause_mark(k) ps mark_size lw 2 \
    lc rgb cause_colour(k) title cause_name[k]
  }
  unset multiplot
}
