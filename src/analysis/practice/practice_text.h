/* A case as text: what a file keeps and a page may keep. One key and its value a line; a format number; a check sum over all of it.
 *
 * The seed, from which everything hidden is drawn, is kept scrambled, and what is hidden itself is not kept at all. That keeps honest
 * people honest: whoever reads this source can undo it. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_TEXT_H
#define ANALYSIS_PRACTICE_PRACTICE_TEXT_H

#include "analysis/practice/practice_mark.h"

enum { PRACTICE_TEXT_MOST = 32768 }; // bytes of a case at most, with its end

/* place: of the file, for messages. STATUS_BAD_CONFIG: place:line and what is wrong; one of a newer format is told as that alone, and one
 * that was edited by hand is refused. */
MUST_CHECK enum status practice_text_read(const char *place, const char *text, size_t size, struct practice_record *record,
                                          struct error *error);

/* Returns its length. */
size_t practice_text_write(const struct practice_record *record, char text[PRACTICE_TEXT_MOST]);

/* Adds a note; control characters become blanks. STATUS_BAD_DATA if there is no room. */
MUST_CHECK enum status practice_text_note(struct practice_record *record, const char *note, struct error *error);

#endif
