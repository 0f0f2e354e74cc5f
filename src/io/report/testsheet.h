/* A bench test sheet for people (TEXT_WIDTH columns), as JSON, and as one self-contained page of HTML to
 * print on A4, with boxes to write the measured values in. */
#ifndef IO_REPORT_TESTSHEET_H
#define IO_REPORT_TESTSHEET_H

#include "analysis/testsheet/sheet.h"
#include "base/error.h"

#include <stdio.h>

/* The short sheet: the tests of each complaint, under a page. */
void testsheet_print_short(const struct sheet *sheet, FILE *stream);

/* Every test there is. */
void testsheet_print(const struct sheet *sheet, FILE *stream);

MUST_CHECK enum status testsheet_print_json(const struct sheet *sheet, FILE *stream, struct error *error);

/* The short sheet's part of that page, below the cautions; appear: those that stand above, bits of enum caution. */
void testsheet_put_short(const struct sheet *sheet, unsigned appear, FILE *stream);

/* The short sheet, and if all are wanted every test behind it. No scripts, no outside files, grey-safe. Failures of writing are kept by the stream's owner. */
void testsheet_print_html(const struct sheet *sheet, bool all, FILE *stream);

enum { TESTSHEET_TEXT_SIZE = 400 };

/* The rows of a sheet in US units: twins of those that are read in one of ours. */
struct testsheet_us {
  struct sheet_row rows[SHEET_ROW_MAX];
};

/* Turns readings and departures of a finished sheet into F and inHg; the sheet then points into us. Its words are for us_text(). */
void testsheet_in_us_units(struct sheet *sheet, struct testsheet_us *us);

/* "12.60 V", what a torch shows, or what there is instead of a reading. */
void testsheet_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]);

/* What a fault that is not seen reads, as " (2.32 g/s)"; empty where it reads as a good unit does. */
void testsheet_unseen_value(const struct sheet_reading *reading, double value, char text[TESTSHEET_TEXT_SIZE]);

/* "12.32 to 12.88", in the unit of the good value beside it; empty where a torch judges */
void testsheet_range(const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]);

/* Note and remark of a reading, one after the other; empty if there are none. */
void testsheet_note(const struct sheet *sheet, const struct sheet_reading *reading, char text[TESTSHEET_TEXT_SIZE]);

/* Number a caution has on a paper on which these cautions appear, from 1; 0 if it is not among them. */
int testsheet_caution_number(unsigned appear, int caution);

/* "1,3": the numbers of some cautions; empty for none. */
void testsheet_caution_numbers(unsigned appear, unsigned cautions, char text[TESTSHEET_TEXT_SIZE]);

/* What is to be asked and noted before any test. */
extern const char testsheet_before[];

extern const char testsheet_how[]; // how the sheet is to be read

#endif
