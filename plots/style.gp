# Common to all pictures. Colours: Okabe and Ito, "Color Universal Design" (2008): told apart with every
# kind of colour vision. Each line also has its own dashes, width or marker, so that a grey print still reads.
# Given: width, height (pixels, or letters), letters (1 in a terminal), big (size of letters), slide (1 on one).
black = '#000000'; orange = '#E69F00'; sky = '#56B4E9'; green = '#009E73'
blue = '#0072B2'; vermilion = '#D55E00'; purple = '#CC79A7'; grey = '#666666'; pale = '#BBBBBB'
# Colours of letters: the same, dark enough to be read on white (contrast at least 4.5 to 1, WCAG 2.1, 1.4.3).
orange_text = '#8A5F00'; sky_text = '#1D6FA3'; green_text = '#007A59'; vermilion_text = '#B34E00'; purple_text = '#A3517E'
text_colour(c) = c eq orange ? orange_text : c eq sky ? sky_text : c eq green ? green_text : c eq vermilion ? vermilion_text : \
  c eq purple ? purple_text : c eq pale ? grey : c

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

# A text cut to what fits into so many pixels at this size of letters.
fitted(text, points, px) = strlen(text) > fitting(points, px) ? substr(text, 1, fitting(points, px) - 1) . '…' : text
fitting(points, px) = int(px / (0.7 * points * big)) # DejaVu Sans: 0.68 in the mean of our titles
# A path loses its beginning: what differs stands at its end.
fitted_path(text, points, px) = strlen(text) > fitting(points, px) ? '…' . substr(text, strlen(text) - fitting(points, px) + 2, strlen(text)) : text
