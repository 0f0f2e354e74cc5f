/* Which panels a picture of a run has, and which channels are drawn in each: chosen by what happened.
 *
 * Of a run what moved, what is there although it should not be (a film, a leak), and what stands beside its command; of a log from a
 * car every channel it has. Two runs laid over each other have a panel for every channel that moved in either. */
#ifndef IO_PICTURE_PICTURE_PANELS_H
#define IO_PICTURE_PICTURE_PANELS_H

#include "sim/recording.h"

enum {
  PICTURE_PANELS_MAX = 24,
  PICTURE_PANELS_CURVE_MAX = CHANNEL_COUNT + 8,
  PICTURE_PANELS_TEXT_SIZE = 96,
  PICTURE_PANELS_RUN_MAX = 2, // laid over each other
};

/* How a curve looks; the rows of plots/run.gp stand in this order. */
enum picture_panels_style {
  PICTURE_PANELS_BLUE,
  PICTURE_PANELS_WANTED, // black dashes: what is asked for, or what would be without the film
  PICTURE_PANELS_RED,    // with marks
  PICTURE_PANELS_GREEN,  // with marks
  PICTURE_PANELS_PURPLE, // with marks
  PICTURE_PANELS_SKY,
  PICTURE_PANELS_THICK,
  PICTURE_PANELS_RED_DASHES,
  PICTURE_PANELS_BAND, // about the target, within which no code sets
  PICTURE_PANELS_LOST, // between the gap and what it would be clean
  PICTURE_PANELS_STYLE_COUNT
};

struct picture_panels_curve {
  enum channel channel;
  size_t run; // of those laid over each other
  bool right; // on the right axis
  enum picture_panels_style style;
  char title[PICTURE_PANELS_TEXT_SIZE];
};

struct picture_panels_axis {
  const char *text; // its unit; "" if the axis is not used
  double least_span;
  bool from_zero;
};

struct picture_panels_panel {
  const char *name; // of the slide's file
  double share;     // of the height
  struct picture_panels_axis left, right;
  size_t first, count; // its curves
};

struct picture_panels {
  size_t panel_count, curve_count;
  double share_sum;
  struct picture_panels_panel panels[PICTURE_PANELS_MAX];
  struct picture_panels_curve curves[PICTURE_PANELS_CURVE_MAX];
};

/* is_log: a log from a car, of which every channel is drawn. At least one panel, if any channel but the time has a number. */
void picture_panels_choose(const struct recording *recording, bool is_log, struct picture_panels *panels);

/* A panel for each channel that says something in either run. */
void picture_panels_choose_over(const struct recording *one, const struct recording *other, struct picture_panels *panels);

#endif
