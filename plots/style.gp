# Common to all pictures. Colours: Okabe and Ito, "Color Universal Design" (2008): told apart with every
# kind of colour vision. Each line also has its own dashes, width or marker, so that a grey print still reads.
# Given: width, height (pixels, or letters), letters (1 in a terminal).
black = '#000000'; orange = '#E69F00'; sky = '#56B4E9'; green = '#009E73'
blue = '#0072B2'; vermilion = '#D55E00'; purple = '#CC79A7'; grey = '#666666'; pale = '#BBBBBB'

set border 3 lc rgb grey lw 1
set tics nomirror out scale 0.6 textcolor rgb black
set grid lc rgb pale lw 0.7 dt solid
set key noenhanced
set samples 2

# From pixels below the top, or right of the left edge, to gnuplot's screen coordinates.
down(px) = 1.0 - real(px) / height
right(px) = real(px) / width

# A round step that divides low to high into about so many parts.
step(low, high, parts) = round_step(real(high - low) / parts, 10.0 ** floor(log10(real(high - low) / parts)))
round_step(rough, ten) = rough > 5.0 * ten ? 10.0 * ten : rough > 2.0 * ten ? 5.0 * ten : rough > ten ? \
  2.0 * ten : ten
