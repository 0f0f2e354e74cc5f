/* Readings of a car, as a user writes them: the text of a file, or NAME=VALUE@CONDITION on the command line.
 *
 * A file is a CSV with the columns name, condition and value, and where wanted resolution and noise: what one count of the
 * instrument is, and the standard deviation of its flicker, both in the unit of the value; empty cells stand for the usual
 * instrument (analysis/estimate/estimate_reading.h). A line that begins with # is a comment.
 *
 * A value may have its unit behind it (850rpm, 7.3kg/h) or in a column `unit`; closed_gap_mm2 also takes what a torch shows, light,
 * none or one_side (analysis/estimate/estimate_words.h).
 *
 *   name,condition,value
 *   maf_gps,idle,2.58
 *   "MAF (kg/h)",hold_2500,29
 *   coolant_c,cold_idle,14
 *
 * Names: our own, or any spelling and unit that sim/log_columns.h knows. On the command line NAME=VALUE+-SD@CONDITION gives the
 * standard deviation of the reading as a whole. coolant_c and intake_c at cold_idle say how cold the car was; they are the
 * day's, no readings to be explained. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_READINGS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_READINGS_H

#include "analysis/estimate/estimate_forward.h"
#include "base/csv_table.h"
#include "base/error.h"

enum { ESTIMATE_READINGS_PLACE_SIZE = 200 };

/* Readings in the making. */
struct estimate_readings_input {
  const struct engine *engine;
  bool has[ESTIMATE_CONDITION_COUNT][ESTIMATE_QUANTITY_COUNT];     // what can be read on this engine
  struct estimate_readings given;                                  // in the order of the user, nothing joined
  char places[ESTIMATE_READING_MAX][ESTIMATE_READINGS_PLACE_SIZE]; // "file:line", "--reading maf_gps=2.58@idle"
  double good_gap_mm2;                                             // of the nominal car; NaN where it has none
  double ambient_kpa;                                              // air outside, that a vacuum is told from; of a standard day
  double ambient_sd_kpa;                                           // how sure that is; 0: sure enough
  double cold_coolant_c, cold_intake_c;                            // NaN: not given
  char cold_coolant_place[ESTIMATE_READINGS_PLACE_SIZE], cold_intake_place[ESTIMATE_READINGS_PLACE_SIZE];
};

/* Nothing read yet. The engine must outlive the input. STATUS_NO_MEMORY. */
MUST_CHECK enum status estimate_readings_init(struct estimate_readings_input *input, const struct engine *engine,
                                              struct error *error);

/* Adds what a table holds, csv_table_read_words() of it; name: of the file, for messages. Every fault is appended to the error,
 * with name and line: STATUS_BAD_DATA for a table without readings, and for a name, condition, number or repetition that cannot
 * be taken. */
MUST_CHECK enum status estimate_readings_add_table(struct estimate_readings_input *input, const char *name,
                                                   const struct csv_table *table, struct error *error);

/* The same from text, size bytes. */
MUST_CHECK enum status estimate_readings_add_csv(struct estimate_readings_input *input, const char *name, const char *text,
                                                 size_t size, struct error *error);

/* Adds one; sd: standard deviation of the reading as a whole, NaN for the usual instrument's. The fault is appended to the
 * error: STATUS_USAGE. */
MUST_CHECK enum status estimate_readings_add(struct estimate_readings_input *input, const char *name, const char *condition,
                                             double value, double sd, struct error *error);

/* Adds NAME=VALUE@CONDITION or NAME=VALUE+-SD@CONDITION; option: as it is called on the command line, for messages. The
 * fault is appended to the error: STATUS_USAGE. */
MUST_CHECK enum status estimate_readings_add_text(struct estimate_readings_input *input, const char *option, const char *text,
                                                  struct error *error);

/* To be called when all are in: what they lack together. STATUS_BAD_DATA if something was read at cold idle and nobody says how
 * cold it was. Then `readings` are those to be explained, joined where they share what they tell, and the setting has the
 * cold day's temperatures. */
MUST_CHECK enum status estimate_readings_finish(const struct estimate_readings_input *input, struct estimate_setting *setting,
                                                struct estimate_readings *readings, struct error *error);

#endif
