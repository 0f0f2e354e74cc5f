/* A bench test sheet for people (TEXT_WIDTH columns), as JSON, and as one self-contained page of HTML to
 * print on A4, with boxes to write the measured values in. */
#ifndef IO_REPORT_TESTSHEET_H
#define IO_REPORT_TESTSHEET_H

#include "analysis/testsheet/sheet.h"
#include "base/error.h"

#include <stdio.h>

void testsheet_print(const struct sheet *sheet, FILE *stream);

MUST_CHECK enum status testsheet_print_json(const struct sheet *sheet, FILE *stream, struct error *error);

/* No scripts, no outside files, grey-safe. Failures of writing are kept by the stream's owner. */
void testsheet_print_html(const struct sheet *sheet, FILE *stream);

enum { TESTSHEET_TEXT_SIZE = 400 };

/* "12.60 V", or what there is instead of a reading. */
void testsheet_value(const struct sheet_row *row, double value, char text[TESTSHEET_TEXT_SIZE]);

/* What a fault that is not seen reads, as " (2.32 g/s)"; empty where it reads as a good unit does. */
void testsheet_unseen_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]);

/* "12.32 to 12.88", in the unit of the good value beside it */
void testsheet_range(const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]);

/* Note and remark of a reading, one after the other; empty if there are none. */
void testsheet_note(const struct sheet *sheet, const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]);

/* Number a caution has on this sheet, from 1; 0 if it does not appear. */
int testsheet_caution_number(const struct sheet *sheet, int caution);

extern const char testsheet_how[]; // how the sheet is to be read

#endif
