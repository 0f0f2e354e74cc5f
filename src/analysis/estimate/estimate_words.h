/* How people write a value: 850, 850rpm, "7.3 kg/h", 13,1 - and, for what a torch shows, a word. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_WORDS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_WORDS_H

#include "analysis/estimate/estimate_reading.h"
#include "base/csv_table.h"
#include "base/error.h"

enum { ESTIMATE_WORDS_SIZE = 96 };

/* Whether a word surely has its thousands parted: 1 234 and 1,234.5 have; 1,234 may be three decimals. */
bool estimate_words_grouped(const char *word);

/* Parts a word into its number and the unit behind it, empty for none. A single comma is the decimal sign, but not where three digits
 * follow it: that may be thousands. False, and why, if it is no number. */
bool estimate_words_number(const char *word, double *value, char unit[ESTIMATE_WORDS_SIZE], char why[ESTIMATE_WORDS_SIZE]);

/* How a value in this unit becomes the quantity's own: ours = factor * value + offset. Units are those of sim/log_columns.h; of a
 * pressure also with "vacuum" or "gauge", from the air outside. False if the unit is not known for it. */
bool estimate_words_unit(enum estimate_quantity quantity, const char *unit, double ambient_kpa, double *factor, double *offset);

/* Whether a manifold's pressure in mercury can be meant either way: counted down from the air outside, as vacuum gauges do, or up from
 * nothing, as scan tools do, and the unit has no word that says which. ask: a sentence that asks which, with both values. */
enum { ESTIMATE_WORDS_ASK_SIZE = 320 };
bool estimate_words_either_way(enum estimate_quantity quantity, const char *unit, double value, double ambient_kpa,
                               char ask[ESTIMATE_WORDS_ASK_SIZE]);

/* The quantity that a log's column of this name stands for; negative for none. A log knows but one pressure in the manifold: where
 * the engine has a sensor for it, "MAP", map_inhg or "manifold absolute pressure" (SAE J1979) is that sensor's reading, and a gauge's
 * goes by its own name. */
int estimate_words_quantity(const struct engine *engine, const char *name, enum channel channel);

/* The name of a quantity, or a spelling of one, that a word may have been meant for; NULL if none is near. */
const char *estimate_words_near(const char *name);

/* Index of the condition that is meant: its name, however written, or what the trade calls it ("warm idle", "KOEO", "idle A/C"); -1 if none. */
int estimate_words_condition(const char *word);

/* The name of the condition that a word may have been meant for; NULL if none is near. */
const char *estimate_words_near_condition(const char *word);

/* Whether a table's columns are signals of a log: STATUS_BAD_DATA is appended, with what to do. */
bool estimate_words_is_log(const char *path, const struct csv_table *table, struct error *error);

/* What light, none or one_side stands for where a good car's gap is `good`: its middle and its standard deviation, in the same unit.
 * False for any other word. A torch tells no more: shares of our own choice. */
bool estimate_words_light(const char *word, double good, double *value, double *sd);

#endif
