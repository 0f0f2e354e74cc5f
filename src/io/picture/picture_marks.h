/* What a picture of a run marks on its time axis: codes as bars, notes as numbered flags, stalls, limits. */
#ifndef IO_PICTURE_PICTURE_MARKS_H
#define IO_PICTURE_PICTURE_MARKS_H

#include "io/picture/picture_series.h"

enum {
  PICTURE_MARKS_NOTE_HEIGHT = 27, // px of a line in the list of notes
  PICTURE_MARKS_LANE_HEIGHT = 28, // px of a code's bar
  PICTURE_MARKS_FLAG_HEIGHT = 30, // px of a row of numbered flags
};

/* What of it is drawn. */
struct picture_marks_wanted {
  int letters; // that fit beside a note's number
  bool lines;  // where notes, stalls and limits are
  bool codes;  // as bars
  bool notes;  // their numbers and texts
};

/* Letters of a note that fit into a line on this form. */
int picture_marks_letters(enum picture_form form);

/* How much room they take: lines of the list of notes, and codes that occurred. */
int picture_marks_note_lines(const struct recording *recording, int letters);
int picture_marks_lanes(const struct recording *recording);

/* Sends all marks, as the arrays and counts that plots/run.gp draws. */
void picture_marks_send(struct picture_script *script, const struct recording *recording,
                        const struct picture_marks_wanted *wanted, const struct picture_series_time *time);

#endif
