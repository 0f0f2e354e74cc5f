# Rank histogram and reliability curve:  gnuplot -e "data='calibration.dat'; out='docs/estimate-calibration.png'; cars='2000'" plot.gp
# data: as `bench_calibration data` prints it. A block's first line names it.

set terminal pngcairo size 1280,620 font "DejaVu Sans,12"
set output out
set multiplot layout 1,2 title sprintf("%s simulated cars, drawn from the priors and run, before the estimate", cars) offset 0,-0.4
set border 3 lw 1 lc rgb "#555555"
set tics nomirror out scale 0.6
set key top center Left reverse samplen 2 opaque box lc rgb "#dddddd"

idle = "#7f7f7f"
full = "#1f6fb4"
base = "#c8550a"

# ranks: a flat histogram's bin holds n/10, and 95 % of its bins lie inside two standard deviations of that
stats data index 0 every ::1 using 5 nooutput
expected = STATS_mean
stats data index 0 every ::1 using 7 nooutput
expected_base = STATS_mean
set title "Rank of the true film in its posterior\nflat: intervals of every size are right"
set xlabel "posterior probability of a film thinner than the true one"
set ylabel "filmed cars in the bin, share of what is expected"
set xrange [0:1]
set yrange [0:2.6]
band = 2.0 * sqrt((1.0 - 1.0 / 10.0) / expected_base)
set object 1 rectangle from graph 0, first 1.0 - band to graph 1, first 1.0 + band fc rgb "#eeeeee" fs solid noborder behind
plot 1 lc rgb "#999999" dt 2 notitle, \
  data index 0 every ::1 using 1:($2/$5) with histeps lw 2 lc rgb idle title "idle data stream alone", \
  data index 0 every ::1 using 1:($3/$6) with histeps lw 2 lc rgb full title "full readings", \
  data index 0 every ::1 using 1:($4/$7) with histeps lw 2.5 lc rgb base title "full readings and baseline", \
  NaN with boxes fc rgb "#eeeeee" fs solid title "95 % of bins, by chance"
unset object 1

set title "Do stated probabilities come true?\nevery cause of every car, by tenths"
set xlabel "probability stated"
set ylabel "share of cases in which it was the cause"
set yrange [0:1]
set key top left
plot x lc rgb "#999999" dt 2 notitle, x + 0.05 lc rgb "#dddddd" notitle, x - 0.05 lc rgb "#dddddd" title "5 points off", \
  data index 1 every ::1 using 1:2:3 with yerrorlines pt 7 ps 0.8 lw 1.5 lc rgb idle title "idle data stream alone", \
  data index 2 every ::1 using 1:2:3 with yerrorlines pt 7 ps 0.8 lw 1.5 lc rgb full title "full readings", \
  data index 3 every ::1 using 1:2:3 with yerrorlines pt 7 ps 0.8 lw 1.5 lc rgb base title "full readings and baseline"
unset multiplot
