# Runs side by side, one column each, one scale per row. Data: src/io/picture/picture_beside.c, blocks $CHANNEL_RUN.
set xrange [time_low:time_high]
has(name, run) = int(value(sprintf('has_%s_%d', name, run)))
any(name) = sum [i = 1:column_count] has(name, i)
short(text, letters) = strlen(text) > letters ? substr(text, 1, letters - 3) . '...' : text
if (letters) {
  set multiplot
  set lmargin 8; set rmargin 1; set tmargin 3
  set key tmargin right horizontal
  wide = 1.0 / column_count
  do for [run = 1:column_count] {
    set origin (run - 1) * wide, 0.5; set size wide, 0.5
    set title short(column_title[run] . ' ' . column_more[run], title_letters) offset 0, 1
    set yrange [speed_low:speed_high]
    eval sprintf("plot $speed_rpm_%d using 1:2 with lines title 'rpm'", run)
    unset title
    set origin (run - 1) * wide, 0
    set yrange [air_low:air_high]
    eval sprintf("plot $airflow_gps_%d using 1:2 with lines title 'air, g/s'", run)
  }
  unset multiplot
} else {
  set multiplot
  set border 3 lc rgb grey lw 1
  set ytics nomirror out scale 0.6 textcolor rgb black
  set xtics nomirror out scale 0.6 textcolor rgb black
  set mxtics 2
  left = 112 * (1 + 0.5 * (big - 1)); right_px = slide ? 52 : 30; between = slide ? 90 : 48; top = 40 + 72 * big; bottom = 84 * (1 + 0.5 * (big - 1)); key_room = slide ? 150 : 34 * big
  column_px = (width - left - right_px - between * (column_count - 1)) / real(column_count)
  stepped(run) = has('bypass_steps', run)
  shown(part) = only_part == 0 || only_part == part # a slide shows one row alone
  governs = shown(2) && any('blade_pct') + any('bypass_steps') > 0
  adds = shown(3) && any('learned_pct') + any('effort_pct') > 0
  airs = shown(4) && any('airflow_gps') + any('maf_gps') > 0
  trims = shown(5) && any('stft_pct') + any('ltft_pct') > 0
  row_count = shown(1) + governs + adds + airs + trims
  row_px = (height - top - bottom) / real(row_count)
  do for [run = 1:column_count] {
    x0 = left + (run - 1) * (column_px + between)
    set lmargin at screen right(x0)
    set rmargin at screen right(x0 + column_px)
    set label 1 column_title[run] at screen right(x0), down(24 * big) font ',16'
    set label 3 column_more[run] at screen right(x0), down(48 * big) font ',16'
    set label 2 (slide ? '' : fitted(column_engine[run], 13, column_px)) at screen right(x0), down(72 * big) textcolor rgb grey font ',13'
    if (slide) { set key at graph 0, 1.0 left bottom vertical Left reverse samplen 1.5 font ',13' maxcols 1 spacing 1.3 } else {
      set key at graph 0, 1.0 left bottom horizontal Left reverse samplen 1.5 width 0 height 0 font ',13' maxcols 4
    }
    row = 0
    place = "set tmargin at screen down(top + row * row_px + key_room); " . \
      "set bmargin at screen down(top + (row + 1) * row_px); row = row + 1; " . \
      "set format x (row == row_count ? '%g' : ''); set format y (run == 1 ? '%g' : ''); " . \
      "set xlabel (row == row_count ? sprintf('time, %s', time_unit) : '') offset character 0, 0.3; unset label 9; " . \
      "set label 7 (run == column_count ? cut : '') at graph 1, " . (slide ? "screen down(72 * big)" : "graph 1") . \
      " right offset character 0, " . (slide ? "0" : "1.1") . " font ',13' textcolor rgb grey"
    name_axis = "if (run == 1) { set label 9 axis at screen right(20), graph 0.5 rotate center }"

    if (shown(1)) {
      cut = speed_cut; eval place
      axis = 'rpm'; eval name_axis
      set yrange [speed_low:speed_high]; set ytics step(speed_low, speed_high, 6)
      eval sprintf("plot $speed_rpm_%d using 1:2 with lines lc rgb blue lw 1.3 title 'speed', \
        $target_rpm_%d using 1:2 with lines lc rgb black lw 1.5 dt 2 title 'idle target'", run, run)
      unset label 1; unset label 2; unset label 3
    }

    # What governs the idle: the blade, or a bypass valve, in steps and with a scale of its own.
    if (governs) {
      eval (stepped(run) ? "cut = steps_cut" : "cut = blade_cut"); eval place
      axis = !any('blade_pct') ? 'steps' : any('bypass_steps') ? '% or steps' : 'opening, %'; eval name_axis
      if (any('blade_pct') && any('bypass_steps')) { set format y '%g' } # each column has a scale of its own
      if (stepped(run)) {
        set yrange [steps_low:steps_high]; set ytics step(steps_low, steps_high, 4); set format y '%g'
        eval sprintf("plot $bypass_steps_%d using 1:2 with lines lc rgb blue lw 1.5 title 'bypass_steps'", run)
      } else {
        set yrange [blade_low:blade_high]; set ytics step(blade_low, blade_high, 4)
        eval sprintf("plot $blade_pct_%d using 1:2 with lines lc rgb blue lw 1.5 title '%s'", run, \
          has('blade_pct', run) ? 'blade_pct' : '')
      }
    }

    if (adds) {
      cut = added_cut; eval place
      axis = 'air added, %'; eval name_axis
      set yrange [added_low:added_high]; set ytics step(added_low, added_high, 4)
      eval sprintf("plot $effort_pct_%d using 1:2 with lines lc rgb vermilion lw 1.3 title 'effort_pct', \
        $learned_pct_%d using 1:2 with linespoints lc rgb green lw 1.8 pt 6 ps 1 pn 8 title 'learned_pct'", run, run)
    }

    if (airs) {
      cut = air_cut; eval place
      axis = 'air, g/s'; eval name_axis
      set yrange [air_low:air_high]; set ytics step(air_low, air_high, 4)
      # short titles: three of them share a column
      eval sprintf("plot $airflow_gps_%d using 1:2 with lines lc rgb blue lw 1.5 title '%s', \
        $maf_gps_%d using 1:2 with lines lc rgb black lw 1.5 dt 2 title '%s', \
        $unmetered_gps_%d using 1:2 with linespoints lc rgb vermilion lw 1.3 pt 4 ps 1 pn 8 title '%s'", \
        run, has('airflow_gps', run) ? 'all' : '', run, has('maf_gps', run) ? 'sensor' : '', run, \
        has('unmetered_gps', run) ? 'past it' : '')
    }

    if (trims) {
      cut = trim_cut; eval place
      axis = 'trim, %'; eval name_axis
      set yrange [trim_low:trim_high]; set ytics step(trim_low, trim_high, 4)
      eval sprintf("plot $stft_pct_%d using 1:2 with lines lc rgb sky lw 1.3 title 'stft_pct', \
        $ltft_pct_%d using 1:2 with linespoints lc rgb blue lw 1.8 pt 6 ps 1 pn 8 title 'ltft_pct'", run, run)
    }
  }
  unset multiplot
}
