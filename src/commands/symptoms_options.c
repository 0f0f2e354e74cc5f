#include "commands/symptoms_options.h"

#include "io/config/find_file.h"
#include "io/format/csv_read.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_SIZE = 200 };

static enum status add_rows(struct estimate_symptoms_frame *frame, const char *path, const struct csv_table *table,
                            struct error *error) {
  const int name = csv_table_find(table, "name"), value = csv_table_find(table, "value"), unit = csv_table_find(table, "unit");
  const size_t before = error->line_count;
  if (name < 0 || value < 0)
    return error_append(error, STATUS_BAD_DATA, "%s: a freeze frame has the columns name and value, and optionally unit", path);
  for (size_t row = 0; row < table->row_count; row++) {
    char place[TEXT_SIZE], text[TEXT_SIZE];
    snprintf(place, sizeof place, "--freeze-frame %s:%zu", path, table->lines[row]);
    snprintf(text, sizeof text, "%s=%s%s", csv_table_word(table, row, (size_t)name), csv_table_word(table, row, (size_t)value),
             unit < 0 ? "" : csv_table_word(table, row, (size_t)unit));
    struct error one;
    error_clear(&one);
    if (estimate_symptoms_frame_add(frame, place, text, &one) != STATUS_OK) // what stands in a file is no slip on the line
      (void)!error_append(error, one.status == STATUS_USAGE ? STATUS_BAD_DATA : one.status, "%s", one.text);
  }
  return error->line_count == before ? STATUS_OK : error->status;
}

static enum status add_file(struct estimate_symptoms_frame *frame, const char *path, struct error *error) {
  struct csv_table table;
  struct error reading;
  error_clear(&reading);
  enum status status = find_file_exists(path, &reading);
  if (status == STATUS_OK) status = csv_read_words(path, &table, &reading);
  if (status != STATUS_OK) return error_append(error, status, "--freeze-frame: %s", reading.text);
  status = add_rows(frame, path, &table, error);
  csv_table_destroy(&table);
  return status;
}

static enum status take_frame(const char *text, const struct engine *engine, const struct estimate_setting *setting,
                              struct estimate_symptoms *symptoms, struct error *error) {
  struct estimate_symptoms_frame *frame = calloc(1, sizeof *frame);
  if (!frame) return error_append(error, STATUS_NO_MEMORY, "out of memory for a freeze frame");
  enum status status = estimate_symptoms_frame_init(frame, engine, setting, error);
  if (status == STATUS_OK)
    status =
        strchr(text, '=') ? estimate_symptoms_frame_add_list(frame, "--freeze-frame", text, error) : add_file(frame, text, error);
  if (status == STATUS_OK) estimate_symptoms_frame_finish(frame, symptoms);
  free(frame);
  return status;
}

enum status symptoms_options_take(const struct command_line *line, const struct engine *engine,
                                  const struct estimate_setting *setting, struct estimate_symptoms *symptoms,
                                  struct error *error) {
  enum status status = STATUS_OK;
  estimate_symptoms_init(symptoms);
  for (size_t i = 0; i < options_given(line, "codes"); i++)
    if (estimate_symptoms_add_codes(symptoms, engine, "--codes", options_text_at(line, "codes", i), error) != STATUS_OK)
      status = error->status;
  symptoms->codes_incomplete = options_given(line, "codes-unknown") > 0;
  if (symptoms->codes_incomplete && symptoms->codes_given && symptoms->stored == 0 && symptoms->strange_count == 0)
    status = error_append(error, STATUS_USAGE, "--codes none and --codes-unknown contradict each other: leave one out");
  if (options_given(line, "complaint") &&
      estimate_symptoms_set_complaint(symptoms, "--complaint", options_text(line, "complaint", ""), error) != STATUS_OK)
    status = error->status;
  if (options_given(line, "freeze-frame") &&
      take_frame(options_text(line, "freeze-frame", ""), engine, setting, symptoms, error) != STATUS_OK)
    status = error->status;
  return status;
}
