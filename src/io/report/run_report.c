#include "io/report/run_report.h"

#include "analysis/run/window.h"
#include "base/attributes.h"
#include "base/us_units.h"
#include "io/format/json.h"
#include "io/format/text.h"
#include "io/report/run_report_claims.h"
#include "io/scantool/data_stream.h"

#include <math.h>

#define HIDDEN_UM 5.0 // hiding less is nothing to show

/* Two moments of one stretch; both have happened. */
static bool is_stretch(const struct story_moment *one, const struct story_moment *other) {
  return fabs(one->time_s - other->time_s) <= 0.0 && fabs(one->length_s - other->length_s) <= 0.0;
}

size_t run_report_moments(const struct story *story, struct run_report_moment moments[RUN_REPORT_MOMENT_MAX]) {
  const struct run_report_moment all[RUN_REPORT_MOMENT_MAX] = {
      {"first", story->first.time_s < 1.0 ? "at the start" : "first steady idle", &story->first},
      {"hidden", "last on target with film", &story->hidden},
      {"lowest", "slowest with film", &story->lowest},
      {"fastest", "fastest after the clean", &story->fastest},
      {"relearned", "on target again", &story->relearned},
      {"last", "at the end", &story->last},
  };
  size_t count = 0;
  for (size_t i = 0; i < ARRAY_COUNT(all); i++) {
    if (!all[i].moment->happened) continue;
    if (all[i].moment == &story->hidden && story->hidden.mean[CHANNEL_film_um] < HIDDEN_UM) continue;
    // one stretch is listed once, under the first name that fits
    bool listed = false;
    for (size_t k = 0; k < count; k++) listed |= is_stretch(moments[k].moment, all[i].moment);
    if (!listed) moments[count++] = all[i];
  }
  return count;
}

/* ---- The table of readings ---- */

/* A column may be there always (least 0), or only if it moves by so much between the moments. The tables are told apart so
 * that each fits a page; after the name and the time. */
struct table_column {
  const char *heading;
  enum channel channel;
  int decimals;
  double least;
};
enum { TABLE_COUNT = 3, TABLE_COLUMN_MAX = TEXT_COLUMN_MAX - 2, ROW_MAX = RUN_REPORT_MOMENT_MAX + EXPLAIN_MOMENT_MAX };

static const struct table_column speed_columns[] = {
    {"film um", CHANNEL_film_um, 0, 0.5},     {"speed rpm", CHANNEL_speed_rpm, 0, 0.0}, {"sd rpm", CHANNEL_speed_sd_rpm, 1, 0.0},
    {"air g/s", CHANNEL_airflow_gps, 2, 0.0}, {"kPa", CHANNEL_manifold_kpa, 1, 0.0},    {"gap mm2", CHANNEL_area_mm2, 1, 0.0},
    {"coolant C", CHANNEL_coolant_c, 0, 2.0},
};
static const struct table_column control_columns[] = {
    {"steps", CHANNEL_bypass_steps, 0, 0.0},
    {"blade deg", CHANNEL_blade_deg, 2, 0.02},
    {"tp_pct", CHANNEL_tp_pct, 1, 0.02},
    {"learned %", CHANNEL_learned_pct, 1, 0.0},
    {"effort %", CHANNEL_effort_pct, 1, 0.0},
    {"spark deg", CHANNEL_spark_deg, 1, 0.0},
    {"reserve %", CHANNEL_spark_reserve_pct, 1, 0.0},
};
static const struct table_column mixture_columns[] = {
    {"lambda", CHANNEL_lambda, 2, 0.015},
    {"stft_pct", CHANNEL_stft_pct, 1, 1.0},
    {"ltft_pct", CHANNEL_ltft_pct, 1, 1.0},
    {"ltft2_pct", CHANNEL_ltft2_pct, 1, 1.0},
    {"maf_gps", CHANNEL_maf_gps, 2, 0.03},
    {"map_kpa", CHANNEL_map_kpa, 1, 0.5},
    {"unmetered g/s", CHANNEL_unmetered_gps, 2, 0.02},
};
static const struct {
  const struct table_column *columns;
  size_t count;
  bool as_it_moves; // left out if none of its columns moves
} tables[TABLE_COUNT] = {
    {speed_columns, ARRAY_COUNT(speed_columns), false},
    {control_columns, ARRAY_COUNT(control_columns), false},
    {mixture_columns, ARRAY_COUNT(mixture_columns), true},
};

/* A row: name and readings. */
struct row {
  const char *label;
  const struct story_moment *moment;
};

/* The story's moments and those the explanation compares, each stretch once, in order of time. */
static size_t gather(const struct run_report *report, struct row rows[ROW_MAX]) {
  struct run_report_moment moments[RUN_REPORT_MOMENT_MAX];
  const size_t told = run_report_moments(report->story, moments);
  size_t count = 0;
  for (size_t i = 0; i < told; i++) rows[count++] = (struct row){moments[i].label, moments[i].moment};
  for (size_t i = 0; i < report->explanation->moment_count; i++) {
    const struct explain_moment *one = &report->explanation->moments[i];
    bool listed = false;
    for (size_t k = 0; k < count; k++)
      if (fabs(rows[k].moment->time_s - one->moment.time_s) < 1e-9) {
        listed = true;
        rows[k].label = one->label; // says more
      }
    if (!listed) rows[count++] = (struct row){one->label, &one->moment};
  }
  for (size_t i = 1; i < count; i++) // a handful: insertion
    for (size_t k = i; k > 0 && rows[k].moment->time_s < rows[k - 1].moment->time_s; k--) {
      const struct row kept = rows[k];
      rows[k] = rows[k - 1];
      rows[k - 1] = kept;
    }
  return count;
}

static bool column_shown(const struct table_column *column, const struct row *rows, size_t count, bool *moves) {
  double least = INFINITY, most = -INFINITY;
  for (size_t i = 0; i < count; i++) {
    const double value = rows[i].moment->mean[column->channel];
    if (isfinite(value)) least = fmin(least, value);
    if (isfinite(value)) most = fmax(most, value);
  }
  *moves = most - least >= column->least && column->least > 0.0;
  // a film that is there all the time does not move, and is worth its column
  if (column->channel == CHANNEL_film_um && most >= column->least) return true;
  return most >= least && (column->least <= 0.0 || *moves || count == 1);
}

static enum status print_table(const struct run_report *report, const struct row *rows, size_t count, size_t number, FILE *stream,
                               struct error *error) {
  const struct table_column *shown[TABLE_COLUMN_MAX];
  const char *headings[TEXT_COLUMN_MAX] = {"steady", "from s"};
  size_t column_count = 0;
  bool any = false;
  for (size_t i = 0; i < tables[number].count && column_count < TABLE_COLUMN_MAX; i++) {
    const struct table_column *column = &tables[number].columns[i];
    bool moves;
    if (!column_shown(column, rows, count, &moves)) continue;
    // alone these say what the air and the pressure say
    any |= moves && column->channel != CHANNEL_maf_gps && column->channel != CHANNEL_map_kpa;
    const struct us_unit *unit = report->us ? us_unit_of_own(channel_rows[column->channel].name) : NULL;
    headings[column_count + 2] = unit ? unit->text : column->heading;
    shown[column_count++] = column;
  }
  if (column_count == 0 || (tables[number].as_it_moves && !any)) return STATUS_OK;
  struct text_table table;
  text_table_init(&table, column_count + 2, headings);
  for (size_t k = 0; k < count; k++) {
    text_table_add(&table, "%s", rows[k].label);
    text_table_add(&table, "%.0f", rows[k].moment->time_s);
    for (size_t i = 0; i < column_count; i++) {
      const struct us_unit *unit = report->us ? us_unit_of_own(channel_rows[shown[i]->channel].name) : NULL;
      double value = rows[k].moment->mean[shown[i]->channel];
      if (unit) value = us_unit_from_own(unit, value, false);
      if (isfinite(value))
        text_table_add(&table, "%.*f", shown[i]->decimals, fabs(value) < 0.5 * pow(10.0, -shown[i]->decimals) ? 0.0 : value);
      else
        text_table_add(&table, "-");
    }
  }
  fputc('\n', stream);
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the summary") : STATUS_OK;
}

static const char caution[] = "A teaching model: on a real car the maker's information and a qualified technician decide.";
static const char places[] = "tp_pct of 10 at the closed stop and blade_pct of 0 are the same place.";

/* Freeze frame and readiness where a code was stored, then the moments that were asked for. */
static enum status print_scans(const struct run_report *report, FILE *stream, struct error *error) {
  if (report->last && report->last->frame.state != FREEZE_FRAME_NONE) {
    fprintf(stream, "\nScan tool\n");
    data_stream_print_frame(report->engine, &report->last->frame, stream);
    data_stream_print_readiness(report->engine, &report->last->monitors, stream);
  }
  for (size_t i = 0; i < report->stream_count; i++) {
    fputc('\n', stream);
    const enum status status = data_stream_print(report->engine, &report->streams[i], report->us, stream, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

/* ---- The sentences ---- */

static bool has_part(const struct explanation *explanation, enum claim_part part) {
  for (size_t i = 0; i < explanation->count; i++)
    if (explanation->claims[i].part == part) return true;
  return false;
}

/* One part; numbered: as links of a chain. */
static void print_part(const struct run_report *report, enum claim_part part, const char *heading, bool numbered, FILE *stream) {
  const struct explanation *explanation = report->explanation;
  int number = 0;
  if (!has_part(explanation, part)) return;
  fprintf(stream, "\n%s%s", heading, *heading ? "\n" : "");
  for (size_t i = 0; i < explanation->count; i++) {
    if (explanation->claims[i].part != part) continue;
    if (numbered)
      fprintf(stream, "  %d. ", ++number);
    else if (*heading)
      fprintf(stream, "  -  ");
    text_wrap(stream, *heading ? 5 : 0, explanation->claims[i].text);
  }
}

/* Codes by their number, the standard's name, and what became of them. Without --all only those that were set, or whose limit was passed. */
static enum status print_codes(const struct run_report *report, FILE *stream, struct error *error) {
  static const char *const headings[] = {"code", "name", "result"};
  struct text_table table;
  size_t count = 0;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < report->explanation->count; i++) {
    const struct claim *claim = &report->explanation->claims[i];
    if (claim->part != CLAIM_PART_CODE || (!report->all && claim->weight < EXPLAIN_CODE_SHOWN)) continue;
    text_table_add(&table, "%s", monitor_rows[claim->code].code);
    text_table_add(&table, "%s", monitor_rows[claim->code].text);
    text_table_add(&table, "%s", claim->text);
    count++;
  }
  if (count) fprintf(stream, "\nFault codes\n");
  const int failed = count ? text_table_print(&table, stream, 2) : 0;
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the summary") : STATUS_OK;
}

/* ---- What is behind --all ---- */

/* A key turned to start while the engine runs does nothing, and need not be read fifty times. */
static bool idle_turn(const struct run_report *report, const struct recording_event *event) {
  if (event->kind != RECORDING_ENGINE || event->value != RECORDING_VALUE_KEY + KEY_START) return false;
  const double stall_rpm = report->engine->plant.crank.stall_speed_rad_s / UNITS_RAD_S_PER_RPM;
  const struct window before = window_between(report->recording, event->time_s - 0.2, event->time_s);
  return window_rows(before) && window_least(report->recording, before, CHANNEL_speed_rpm) > stall_rpm;
}

static void print_events(const struct run_report *report, FILE *stream) {
  int turns = 0;
  fprintf(stream, "\nEvents\n");
  for (size_t i = 0; i < report->recording->event_count; i++) {
    const struct recording_event *event = &report->recording->events[i];
    if (idle_turn(report, event))
      turns++;
    else {
      fprintf(stream, "  %8.1f s  ", event->time_s);
      text_wrap(stream, 14, event->text);
    }
  }
  if (turns) fprintf(stream, "  The key was turned to start %d times while the engine ran, without effect.\n", turns);
}

static enum status print_rest(const struct run_report *report, FILE *stream, struct error *error) {
  struct row rows[ROW_MAX];
  const size_t count = gather(report, rows);
  print_part(report, CLAIM_PART_MORE, "More", false, stream);
  if (count) fprintf(stream, "\nReadings (means of steady stretches; at idle with the compressor off and out of gear)\n");
  for (size_t i = 0; count && i < TABLE_COUNT; i++) {
    const enum status status = print_table(report, rows, count, i, stream, error);
    if (status != STATUS_OK) return status;
  }
  print_events(report, stream);
  const enum status status = print_scans(report, stream, error);
  if (status != STATUS_OK) return status;
  if (report->file_count) fprintf(stream, "\nFiles\n");
  for (size_t i = 0; i < report->file_count; i++) fprintf(stream, "  %s\n", report->files[i]);
  return STATUS_OK;
}

/* Streams that were asked for are shown with or without --all. */
static enum status print_asked(const struct run_report *report, FILE *stream, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < report->stream_count; i++) {
    fputc('\n', stream);
    status = data_stream_print(report->engine, &report->streams[i], report->us, stream, error);
  }
  return status;
}

enum status run_report_print(const struct run_report *report, FILE *stream, struct error *error) {
  fprintf(stream, "%s\n%s", report->scenario->title, report->engine->title);
  if (report->all)
    fprintf(stream, "; %.0f s, seed %llu", report->scenario->duration_s, (unsigned long long)report->scenario->seed);
  fputc('\n', stream);
  print_part(report, CLAIM_PART_HEADLINE, "", false, stream);
  print_part(report, CLAIM_PART_CHAIN, "How it went", true, stream);
  print_part(report, CLAIM_PART_SURPRISE, "What may surprise you", false, stream);
  enum status status = print_codes(report, stream, error);
  if (status == STATUS_OK) status = report->all ? print_rest(report, stream, error) : print_asked(report, stream, error);
  if (status != STATUS_OK) return status;
  fputc('\n', stream);
  text_wrap(stream, 0, caution);
  text_wrap(stream, 0, report->all ? places : "More: --all.");
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

/* The stretches that the sentences compare. */
static void put_compared(struct json *json, const struct explanation *explanation) {
  if (explanation->moment_count == 0) return;
  json_open_array(json, "compared");
  for (size_t k = 0; k < explanation->moment_count; k++) {
    const struct explain_moment *one = &explanation->moments[k];
    json_open_object(json, NULL);
    json_put_text(json, "label", one->label);
    json_put_real(json, "from_s", one->moment.time_s, 3);
    for (int i = 1; i < CHANNEL_COUNT; i++)
      json_put_real(json, channel_rows[i].name, one->moment.mean[i], channel_rows[i].decimals + 2);
    json_close(json);
  }
  json_close(json);
}

static void put_loads(struct json *json, const struct story *story) {
  if (story->load_count == 0) return;
  json_open_array(json, "loads");
  for (size_t i = 0; i < story->load_count; i++) {
    const struct load_step *step = &story->loads[i];
    json_open_object(json, NULL);
    json_put_real(json, "time_s", step->time_s, 3);
    json_put_text(json, "kind", load_steps_kind_rows[step->kind].name);
    json_put_flag(json, "on", step->on);
    json_put_real(json, "film_um", step->film_um, 3);
    json_put_real(json, "before_rpm", step->before_rpm, 2);
    json_put_real(json, "lowest_rpm", step->lowest_rpm, 2);
    json_put_flag(json, "stalled", step->stalled);
    json_close(json);
  }
  json_close(json);
}

static void put_scans(struct json *json, const struct run_report *report) {
  if (report->last) {
    data_stream_put_frame(report->engine, &report->last->frame, json);
    data_stream_put_readiness(report->engine, &report->last->monitors, json);
  }
  if (report->stream_count == 0) return;
  json_open_array(json, "streams");
  for (size_t i = 0; i < report->stream_count; i++) {
    json_open_object(json, NULL);
    data_stream_put_json(report->engine, &report->streams[i], json);
    json_close(json);
  }
  json_close(json);
}

void run_report_put_json(const struct run_report *report, struct json *json) {
  json_put_text(json, "scenario", report->scenario->title);
  json_put_text(json, "engine", report->engine->title);
  json_open_object(json, "summary");
  put_moments(json, report->story);
  put_limits(json, report->story);
  put_compared(json, report->explanation);
  put_loads(json, report->story);
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
  put_scans(json, report);
  run_report_claims_put(report->explanation, json);
  json_open_array(json, "files");
  for (size_t i = 0; i < report->file_count; i++) json_put_text(json, NULL, report->files[i]);
  json_close(json);
}
