/* Pictures of a lesson as inline SVG, drawn for a phone as for paper: 360 units wide with letters of 13. What they show is also said, in
 * words made from the same numbers. Colours: Okabe and Ito (2008), and dashes, so that a grey print still reads. */
#ifndef IO_LESSON_LESSON_CHART_H
#define IO_LESSON_LESSON_CHART_H

#include "io/lesson/lesson_text.h"

/* Lines over time or over a sweep's input, a panel a channel; from, to: NaN for all. */
void lesson_chart_lines(const struct lesson_text *text, const struct lesson_text_shown *shown, double from, double to);

/* Settled points as bars, a group a channel. */
void lesson_chart_bars(const struct lesson_text *text, const struct lesson_text_shown *shown);

/* Wall, film and the edge of the blade to scale, at each settled point. */
void lesson_chart_gap(const struct lesson_text *text, const struct lesson_text_shown *shown);

#endif
