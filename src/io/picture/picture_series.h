/* Channels of a run on their way into a picture: the time axis, the range of a vertical axis, thinned lines. */
#ifndef IO_PICTURE_PICTURE_SERIES_H
#define IO_PICTURE_PICTURE_SERIES_H

#include "io/picture/picture.h"
#include "io/picture/picture_range.h"
#include "sim/recording.h"

struct picture_series_time {
  double start_s, end_s, unit_s;
  const char *unit; // s, min or h
};

struct picture_series_time picture_series_time_of(const struct recording *recording);

/* STATUS_BAD_DATA if there are no rows, or two and more over which the time does not advance. */
MUST_CHECK enum status picture_series_check(const struct recording *recording, struct error *error);

/* Whether any row has a number for this channel. */
bool picture_series_has(const struct recording *recording, enum channel channel);

/* How far a channel goes while the engine runs (without a target: while it turns), or at all times, single peaks left out: the
 * switching of a load is no movement. Empty if it has no number there. */
struct picture_range picture_series_reach(const struct recording *recording, enum channel channel, bool running_only);

/* A vertical axis: name in the layout, the least span (so that noise of nothing does not fill a panel), whether zero is always
 * in view, and whether the engine held off idle may be out of view. */
struct picture_series_axis {
  const char *name;
  double least_span;
  bool from_zero, idle_only;
};

/* Sends NAME_low, NAME_high and NAME_cut for these channels of all these runs. A standing engine and the flare of a start
 * would squeeze what a run is about into a few pixels: if the running part takes much less room than the whole, the axis
 * shows that part, and NAME_cut says how far the rest goes. */
MUST_CHECK enum status picture_series_send_axis(struct picture_script *script, const struct picture_series_axis *axis,
                                                const struct recording *const *recordings, size_t recording_count,
                                                const enum channel *channels, size_t channel_count, struct error *error);

/* Sends a channel as the block $NAME: time in the axis's unit, value, and a second channel's value for shaded areas. Rows in which it
 * has no number are passed over where its own values come that seldom (a scan tool that asks for one after the other); a gap stays
 * where one is. A value alone, and each of fewer than four, is a dash: nothing is known between them. */
MUST_CHECK enum status picture_series_send_line(struct picture_script *script, const struct recording *recording,
                                                const struct picture_series_time *time, const char *name, enum channel channel,
                                                enum channel second, int columns, struct error *error);

/* The block of a channel that is not drawn. */
void picture_series_send_nothing(struct picture_script *script, const char *name);

#endif
