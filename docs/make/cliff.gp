# Settled speed against film, in micrometres and as a share of the clean idle's air:
#   build/docs/make/make_cliff data > data && gnuplot -e "data='data'; out='docs/film-width.png'" docs/make/cliff.gp
# Blocks: three bores, four idle airs each. Colours: Okabe and Ito, as in plots/style.gp.
set terminal pngcairo size 1280,560 font "DejaVu Sans,12"
set output out
set multiplot layout 1,2
set border 3 lc rgb "#666666" lw 1
set tics nomirror out scale 0.6
set grid lc rgb "#BBBBBB" lw 0.7 dt solid
set yrange [300:900]
set ylabel "settled speed, rpm"

array colour[4] = ["#0072B2", "#009E73", "#E69F00", "#D55E00"]
array air[4] = ["0.9", "1.07", "1.3", "1.6"]
array bore[3] = ["44", "52", "60"]
dashes(b) = b == 0 ? 2 : b == 1 ? 1 : 4
name(a, b) = b == 1 ? sprintf("%s g/s per litre", air[a + 1]) : ""

set title "The same film on twelve engines"
set xlabel "film, micrometres"
set xrange [0:250]
unset key
plot for [b = 0:2] for [a = 0:3] data index 4 * b + a using 3:5 with lines lw 2 dt dashes(b) lc rgb colour[a + 1]

set title "The same, against the share of the idle's air that the film takes"
set xlabel "film times k over width of the gap, k t / w"
set xrange [0:1.3]
set key bottom left reverse Left samplen 3
plot for [b = 0:2] for [a = 0:3] data index 4 * b + a using 4:5 with lines lw 2 dt dashes(b) lc rgb colour[a + 1] title name(a, b), \
  for [b = 0:2] NaN with lines lw 2 dt dashes(b) lc rgb "#666666" title sprintf("bore %s mm", bore[b + 1])
unset multiplot
