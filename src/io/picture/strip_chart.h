/* A strip chart of a live session, drawn by one gnuplot that lives as long: in letters, as sixel graphics, or in a window of its own. */
#ifndef IO_PICTURE_STRIP_CHART_H
#define IO_PICTURE_STRIP_CHART_H

#include "analysis/live/live_bench.h"
#include "io/picture/gnuplot_live.h"

/* KIND(name at the edge, what it is) */
#define STRIP_CHART_LIST(KIND) \
  KIND(none, "no chart") \
  KIND(dumb, "letters") \
  KIND(sixel, "sixel graphics, for terminals that show them") \
  KIND(window, "a window of gnuplot's own, where there is a display")
enum strip_chart_kind {
#define KIND(name, text) STRIP_CHART_##name,
  STRIP_CHART_LIST(KIND)
#undef KIND
      STRIP_CHART_KIND_COUNT
};

/* What it is drawn on: letters for dumb, pixels for sixel. */
struct strip_chart_size {
  int columns, rows, width_px, height_px;
};

struct strip_chart {
  enum strip_chart_kind kind; // none: also when it has ended
  struct gnuplot_live gnuplot;
  const char *window; // gnuplot's name of what opens one
  struct strip_chart_size size;
  bool size_is_new;
  char said[GNUPLOT_LIVE_SAID_SIZE + 80]; // why there is no chart any more; empty if nothing was wrong
};

/* Starts it. Where that kind cannot be, kind becomes none and said tells why. */
void strip_chart_begin(struct strip_chart *chart, enum strip_chart_kind kind);

/* Whether gnuplot can open a window here; said is empty. */
bool strip_chart_has_window(void);

void strip_chart_resize(struct strip_chart *chart, const struct strip_chart_size *size);

/* Has the last span_s seconds drawn, unless it is still drawing. */
void strip_chart_draw(struct strip_chart *chart, const struct live_bench *bench, double span_s);

/* True once for each new frame: what goes to the terminal is *frame, nothing for a window. Waits up to wait_s. */
bool strip_chart_poll(struct strip_chart *chart, double wait_s, const char **frame, size_t *size);

void strip_chart_end(struct strip_chart *chart);

#endif
