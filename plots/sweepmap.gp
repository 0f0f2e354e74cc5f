# A sweep over two inputs. Data: src/io/picture/picture_sweepmap.c. $grid: x, y, shade, then a field for each line on the map, which
# runs where the field is zero. Shades run from dark (low) to light, so that a grey print reads the same way.
line_colour(k) = word('#D55E00 #000000 #0072B2 #009E73 #CC79A7 #E69F00 #000000 #D55E00 #0072B2 #009E73', k)
line_dash(k) = int(word('1 2 4 5 3 1 2 4 5 3', k))
do for [k = 1:map_lines] {
  eval sprintf('set table $zero_%d', k)
  set contour base
  unset surface
  set cntrparam levels discrete 0
  splot $grid using 1:2:(column(3 + k)) with lines nosurface
  unset table
  unset contour
  set surface
}
if (x_log) { set logscale x }
if (y_log) { set logscale y }
set xrange [x_low:x_high]
set yrange [y_low:y_high]
set xlabel x_text
if (letters) {
  # Letters have no shades: the lines alone.
  set title title_text . ', lines where each begins'
  set ylabel y_text
  unset grid
  set key tmargin right horizontal
  if (map_lines > 0) {
    plot for [k = 1:map_lines] sprintf('$zero_%d', k) using 1:2 with lines title map_name[k]
  } else {
    set label 1 'nothing changes within these ranges' at graph 0.1, graph 0.5
    plot NaN notitle
  }
} else {
  set label 1 title_text at screen right(35), down(28 * big) font ',20'
  set label 2 engine_text . (map_lines > 0 && map_name[1] eq 'droops' ? \
    '. Up to the line "droops" the idle controller hides what is wrong' : '') at screen right(35), down(slide ? -100 : 60) textcolor rgb grey
  set label 3 y_text at screen right(24 * big), down(0.5 * height + 25) rotate center font ',16'
  set label 4 shade_text at screen right(width - 20 * big), down(0.5 * height + 25) rotate center font ',16'
  set cbrange [shade_low:shade_high]
  set lmargin at screen right((width > 1800 ? 170 : 120) * (1 + 1.15 * (big - 1)))
  set rmargin at screen right(width - (width > 1800 ? 260 : 200) * (1 + 0.6 * (big - 1)))
  set tmargin at screen down(140 * (1 + 0.1 * (big - 1)))
  set bmargin at screen down(height - 90 * big)
  set view map
  set palette defined (0 '#2B3A67', 0.5 '#7FA6C9', 1 '#F7F7EF')
  set xlabel font ',16' offset character 0, 0.5
  set tics font ',14'
  unset grid
  set style textbox opaque noborder margins 0.6, 0.4
  # where there is no speed: it stalls
  set object 1 rectangle from graph 0, graph 0 to graph 1, graph 1 behind fillcolor rgb '#BBBBBB' fillstyle pattern 4 noborder
  set key at screen right(width - (width > 1800 ? 260 : 200) * (1 + 0.6 * (big - 1))), down(84 * (1 + 0.1 * (big - 1))) right top horizontal Left reverse samplen 4 font ',15' maxrows 1
  do for [k = 1:map_lines] {
    if (map_found[k]) {
      set label 10 + k map_name[k] at first map_x[k], first map_y[k], 0 center boxed front font ',14'
    }
  }
  set pm3d corners2color mean
  plot_text = 'splot $grid using 1:2:3 with pm3d notitle'
  do for [k = 1:map_lines] { # none where nothing changes
    plot_text = plot_text . sprintf(", $zero_%d using 1:2:(0) with lines lc rgb line_colour(%d) lw 3 dt line_dash(%d) \
      title map_name[%d]", k, k, k, k)
  }
  eval plot_text
}
