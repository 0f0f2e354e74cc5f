#include "io/run_report.h"

#include "base/attributes.h"
#include "io/json.h"
#include "io/text.h"

#include <string.h>

size_t run_report_moments(const struct story *story, struct run_report_moment moments[RUN_REPORT_MOMENT_MAX]) {
  const struct run_report_moment all[RUN_REPORT_MOMENT_MAX] = {
      {"first", "at the start", &story->first},
      {"hidden", "last hidden", &story->hidden},
      {"lowest", "slowest", &story->lowest},
      {"fastest", "fastest after the clean", &story->fastest},
      {"relearned", "relearned", &story->relearned},
      {"last", "at the end", &story->last},
  };
  size_t count = 0;
  for (size_t i = 0; i < ARRAY_COUNT(all); i++) {
    if (!all[i].moment->happened) continue;
    // one stretch is listed once, under the first name that fits
    bool listed = false;
    for (size_t k = 0; k < count; k++)
      listed |= memcmp(moments[k].moment, all[i].moment, sizeof *all[i].moment) == 0;
    if (!listed) moments[count++] = all[i];
  }
  return count;
}

/* Columns of the table, in two halves so that each fits a page; after the name and the time. */
struct table_column {
  const char *heading;
  enum channel channel;
  int decimals;
};
static const struct table_column speed_columns[] = {
    {"film um", CHANNEL_film_um, 0},        {"speed rpm", CHANNEL_speed_rpm, 0}, {"sd rpm", CHANNEL_speed_sd_rpm, 1},
    {"air g/s", CHANNEL_airflow_gps, 2},    {"kPa", CHANNEL_manifold_kpa, 1},    {"gap mm2", CHANNEL_area_mm2, 1},
};
static const struct table_column blade_columns[] = {
    {"blade deg", CHANNEL_blade_deg, 2},     {"tp_pct", CHANNEL_tp_pct, 1},      {"learned %", CHANNEL_learned_pct, 1},
    {"effort %", CHANNEL_effort_pct, 1},     {"spark deg", CHANNEL_spark_deg, 1}, {"reserve %", CHANNEL_spark_reserve_pct, 1},
};

static enum status print_table(const struct run_report_moment *moments, size_t count, const struct table_column *columns,
                               size_t column_count, FILE *stream, struct error *error) {
  const char *headings[TEXT_COLUMN_MAX] = {"steady idle", "from s"};
  for (size_t i = 0; i < column_count; i++) headings[i + 2] = columns[i].heading;
  struct text_table table;
  text_table_init(&table, column_count + 2, headings);
  for (size_t k = 0; k < count; k++) {
    text_table_add(&table, "%s", moments[k].label);
    text_table_add(&table, "%.0f", moments[k].moment->time_s);
    for (size_t i = 0; i < column_count; i++)
      text_table_add(&table, "%.*f", columns[i].decimals, moments[k].moment->mean[columns[i].channel]);
  }
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the summary") : STATUS_OK;
}

static const char caution[] =
    "A teaching model of an invented engine: for a real car the maker's service information, local rules and a qualified "
    "technician decide. tp_pct of 10 at the closed stop and blade_pct of 0 are the same place.";

enum status run_report_print(const struct run_report *report, FILE *stream, struct error *error) {
  struct run_report_moment moments[RUN_REPORT_MOMENT_MAX];
  const size_t count = run_report_moments(report->story, moments);
  fprintf(stream, "%s\n%s; %.0f s, seed %llu\n", report->scenario->title, report->engine->title,
          report->scenario->duration_s, (unsigned long long)report->scenario->seed);
  if (count) {
    fprintf(stream, "\nReadings (means over ten seconds of steady idle, nothing switched on)\n");
    enum status status = print_table(moments, count, speed_columns, ARRAY_COUNT(speed_columns), stream, error);
    fputc('\n', stream);
    if (status == STATUS_OK)
      status = print_table(moments, count, blade_columns, ARRAY_COUNT(blade_columns), stream, error);
    if (status != STATUS_OK) return status;
  }
  fprintf(stream, "\nWhy\n");
  for (size_t i = 0; i < report->explanation->count; i++) {
    fprintf(stream, "%3zu. ", i + 1);
    text_wrap(stream, 5, report->explanation->text[i]);
  }
  fprintf(stream, "\nEvents\n");
  for (size_t i = 0; i < report->recording->event_count; i++) {
    const struct recording_event *event = &report->recording->events[i];
    fprintf(stream, "  %8.1f s  %s\n", event->time_s, event->text);
  }
  if (report->file_count) fprintf(stream, "\nFiles\n");
  for (size_t i = 0; i < report->file_count; i++) fprintf(stream, "  %s\n", report->files[i]);
  fputc('\n', stream);
  text_wrap(stream, 0, caution);
  return STATUS_OK;
}

static void put_moments(struct json *json, const struct story *story) {
  struct run_report_moment moments[RUN_REPORT_MOMENT_MAX];
  const size_t count = run_report_moments(story, moments);
  for (size_t k = 0; k < count; k++) {
    json_open_object(json, moments[k].name);
    json_put_real(json, "from_s", moments[k].moment->time_s, 3);
    for (int i = 1; i < CHANNEL_COUNT; i++) // the mean time says nothing
      json_put_real(json, channel_rows[i].name, moments[k].moment->mean[i], channel_rows[i].decimals + 2);
    json_close(json);
  }
}

static void put_limits(struct json *json, const struct story *story) {
  json_put_real(json, "largest_film_um", story->largest_film_um, 3);
  if (story->learned_limit) {
    json_put_real(json, "learned_limit_s", story->learned_limit_s, 3);
    json_put_real(json, "learned_limit_film_um", story->learned_limit_film_um, 3);
  }
  if (story->at_limit) {
    json_put_real(json, "at_limit_s", story->at_limit_s, 3);
    json_put_real(json, "at_limit_film_um", story->at_limit_film_um, 3);
  }
  if (story->stalled) {
    json_put_real(json, "stalled_s", story->stalled_s, 3);
    json_put_real(json, "stalled_film_um", story->stalled_film_um, 3);
  }
}

enum status run_report_print_json(const struct run_report *report, FILE *stream, struct error *error) {
  struct json *json = json_create();
  json_put_text(json, "scenario", report->scenario->title);
  json_put_text(json, "engine", report->engine->title);
  json_open_object(json, "summary");
  put_moments(json, report->story);
  put_limits(json, report->story);
  json_close(json);
  json_open_array(json, "codes");
  for (size_t i = 0; i < report->recording->event_count; i++) {
    const struct recording_event *event = &report->recording->events[i];
    if (event->kind != RECORDING_CODE) continue;
    json_open_object(json, NULL);
    json_put_text(json, "code", monitor_rows[event->code].code);
    json_put_text(json, "state", event->value == CODE_NONE ? "erased" : monitors_code_state_name((enum code_state)event->value));
    json_put_real(json, "time_s", event->time_s, 3);
    json_close(json);
  }
  json_close(json);
  json_open_array(json, "events");
  for (size_t i = 0; i < report->recording->event_count; i++) {
    json_open_object(json, NULL);
    json_put_real(json, "time_s", report->recording->events[i].time_s, 3);
    json_put_text(json, "text", report->recording->events[i].text);
    json_close(json);
  }
  json_close(json);
  json_open_array(json, "why");
  for (size_t i = 0; i < report->explanation->count; i++) json_put_text(json, NULL, report->explanation->text[i]);
  json_close(json);
  json_open_array(json, "files");
  for (size_t i = 0; i < report->file_count; i++) json_put_text(json, NULL, report->files[i]);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
