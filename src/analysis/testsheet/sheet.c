#include "analysis/testsheet/sheet.h"

#include "analysis/run/window.h"
#include "base/attributes.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SCATTER_SIGMAS 2.0 // 95 % of readings, as usual
#define LIGHT_SHARE    0.4 // a gap smaller or larger by this share of a good one is seen to be so; our own choice
#define DARK_SHARE     0.1 // less than this of a good gap shows no light; our own choice
#define IN_KEY         (1u << SHEET_PROCEDURE_KEY)
#define IN_UNPLUGGED   (1u << SHEET_PROCEDURE_UNPLUGGED)
#define IN_RUN         (1u << SHEET_PROCEDURE_RUN)

const struct sheet_section_row sheet_sections[SHEET_SECTION_COUNT] = {
#define SECTION(name, heading, text) {#name, heading, text},
    SHEET_SECTION_LIST(SECTION)
#undef SECTION
};

/* How far good units and ordinary days lie apart; common practice, no source. */
const struct sheet_allowance sheet_allowances[] = {
    {"battery 0.2 V below full", {{"battery_rest_v", 12.4}}, 0, IN_KEY},
    {"sensor supply 0.05 V off", {{"sensor_supply_v", 4.95}}, 0, IN_KEY | IN_UNPLUGGED},
    {"weather: 3 kPa and 10 K", {{"ambient_kpa", 98.3}, {"intake_c", 30}}, 0, IN_KEY | IN_RUN},
    {"springs 15 % off", {{"spring_ratio", 1.15}}, 0, IN_KEY | IN_UNPLUGGED},
    {"motor and wiring 10 % off", {{"motor_resistance_ratio", 1.1}}, 0, IN_KEY},
    {"clearance of the blade 3 um off", {{0}}, 3e-6, IN_KEY | IN_UNPLUGGED | IN_RUN},
    {"150 W more electrical load and 0.5 Nm more drag", {{"electrical_load_w", 450}, {"drag_nm", 0.5}}, 0, IN_RUN},
    {"air-flow sensor 3 % off", {{"maf_gain_ratio", 1.03}}, 0, IN_RUN},
    {"pressure sensor 1 kPa off", {{"map_offset_kpa", 1}}, 0, IN_KEY | IN_RUN},
    {"fuel delivery 3 % off", {{"fuel_delivery_ratio", 0.97}}, 0, IN_RUN},
};
const size_t sheet_allowance_count = ARRAY_COUNT(sheet_allowances);

/* ---- jobs ---- */
unsigned sheet_needs(const struct sheet_set *sets, unsigned beyond) {
  unsigned needs = beyond;
  for (size_t i = 0; i < SHEET_SET_MAX && sets[i].condition; i++) {
    const struct condition_row *row = condition_find(sets[i].condition);
    assert(row); // tests/unit/analysis/test_sheet.c
    needs |= row->needs;
  }
  return needs;
}

static void add_job(struct sheet *sheet, enum sheet_procedure procedure, enum sheet_job_kind kind, size_t index) {
  if (!sheet_procedure_applies(procedure, sheet->engine)) return;
  assert(sheet->job_count < SHEET_JOB_MAX);
  struct sheet_job *job = &sheet->jobs[sheet->job_count++];
  *job = (struct sheet_job){.procedure = procedure, .kind = kind, .index = index};
}

/* The longest first: threads that share the jobs then end at about the same time. */
void sheet_init(struct sheet *sheet, const struct engine *engine) {
  memset(sheet, 0, sizeof *sheet);
  sheet->engine = engine;
  for (int i = SHEET_PROCEDURE_COUNT; i-- > 0;) {
    const unsigned bit = 1u << i;
    add_job(sheet, (enum sheet_procedure)i, SHEET_JOB_GOOD, 0);
    for (size_t k = 0; k < sheet_allowance_count; k++) {
      const struct sheet_allowance *allowance = &sheet_allowances[k];
      if ((allowance->procedures & bit) && engine_has(engine, sheet_needs(allowance->sets, 0)))
        add_job(sheet, (enum sheet_procedure)i, SHEET_JOB_ALLOWANCE, k);
    }
    for (size_t k = 0; k < sheet_fault_count; k++) {
      const struct sheet_fault *fault = &sheet_fault_rows[k];
      if ((fault->procedures & bit) && engine_has(engine, sheet_needs(fault->sets, fault->needs)))
        add_job(sheet, (enum sheet_procedure)i, SHEET_JOB_FAULT, k);
    }
  }
}

/* A stretch in which the engine stalled has nothing to read. */
static bool stalled_by(const struct sheet_procedure_run *run, double time_s) {
  for (size_t i = 0; i < run->recording.event_count; i++) {
    const struct recording_event *event = &run->recording.events[i];
    if (event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STALL && event->time_s <= time_s) return true;
  }
  return false;
}

static double read_stretch(const struct sheet_row *row, const struct sheet_view *view) {
  if (row->value) return row->value(view);
  const struct window window = window_between(view->recording, view->from_s, view->to_s);
  if (row->statistic == SHEET_LEAST) return window_least(view->recording, window, row->channel);
  if (row->statistic == SHEET_MOST) return window_most(view->recording, window, row->channel);
  return window_mean(view->recording, window, row->channel);
}

/* Mean and standard deviation over the stretches. */
static void read_row(const struct sheet_procedure_run *run, const struct engine *engine, const struct sheet_row *row,
                     double *value, double *scatter) {
  const struct sheet_procedure_span *span = &run->spans[row->window];
  double sum = 0.0, squares = 0.0;
  for (int i = 0; i < span->count; i++) {
    const struct sheet_view view = {engine, &run->recording, span->from_s[i], span->to_s[i]};
    const double one = stalled_by(run, span->to_s[i]) ? NAN : read_stretch(row, &view);
    sum += one;
    squares += one * one;
  }
  *value = span->count > 0 ? sum / span->count : NAN;
  const double variance = span->count > 1 ? (squares - sum * *value) / (span->count - 1) : 0.0;
  *scatter = sqrt(fmax(variance, 0.0)); // rounding can leave it a hair below nothing
}

static void apply_sets(struct sheet_procedure_run *run, const struct sheet_set *sets) {
  for (size_t i = 0; i < SHEET_SET_MAX && sets[i].condition; i++) sheet_procedure_set(run, sets[i].condition, sets[i].value);
}

enum status sheet_run_job(struct sheet *sheet, size_t index, struct error *error) {
  assert(index < sheet->job_count);
  struct sheet_job *job = &sheet->jobs[index];
  struct engine *engine = malloc(sizeof *engine); // large for a small stack
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for the test sheet");
  *engine = *sheet->engine;
  struct sheet_procedure_run run;
  const int stretches = job->kind == SHEET_JOB_GOOD ? SHEET_PROCEDURE_STRETCH_MAX : 1;
  enum status status = sheet_procedure_init(&run, job->procedure, engine, stretches, error);
  if (status == STATUS_OK) {
    if (job->kind == SHEET_JOB_FAULT) apply_sets(&run, sheet_fault_rows[job->index].sets);
    if (job->kind == SHEET_JOB_ALLOWANCE) {
      apply_sets(&run, sheet_allowances[job->index].sets);
      engine->plant.throttle.bore.clearance_m += sheet_allowances[job->index].clearance_m;
    }
    status = sheet_procedure_play(&run, engine, error);
  }
  if (status == STATUS_OK && !run.idles && job->kind != SHEET_JOB_FAULT)
    status =
        error_set(error, STATUS_BAD_CONFIG,
                  "%s does not idle as a good unit%s%s: there is nothing to measure; bladegap run with a film of 0 um shows why",
                  engine->name, job->kind == SHEET_JOB_ALLOWANCE ? " with " : "",
                  job->kind == SHEET_JOB_ALLOWANCE ? sheet_allowances[job->index].text : "");
  for (size_t i = 0; status == STATUS_OK && i < sheet_row_count; i++) {
    job->value[i] = NAN;
    if (run.idles && sheet_procedure_window_rows[sheet_rows[i].window].procedure == job->procedure)
      read_row(&run, engine, &sheet_rows[i], &job->value[i], &job->scatter[i]);
  }
  sheet_procedure_destroy(&run);
  free(engine);
  return status;
}

/* ---- readings ---- */
static const struct sheet_job *good_job(const struct sheet *sheet, enum sheet_procedure procedure) {
  for (size_t i = 0; i < sheet->job_count; i++)
    if (sheet->jobs[i].procedure == procedure && sheet->jobs[i].kind == SHEET_JOB_GOOD) return &sheet->jobs[i];
  return NULL;
}

static double unit_to_unit(const struct sheet *sheet, size_t row, enum sheet_procedure procedure, double good) {
  const double stated = sheet_rows[row].stated;
  double squares = stated * stated;
  for (size_t i = 0; i < sheet->job_count; i++) {
    const struct sheet_job *job = &sheet->jobs[i];
    if (job->kind != SHEET_JOB_ALLOWANCE || job->procedure != procedure || !isfinite(job->value[row])) continue;
    squares += (job->value[row] - good) * (job->value[row] - good);
  }
  return sqrt(squares);
}

/* Whether a comes before b: first what is seen, then the higher reading; nothing to read is last of the
 * seen. */
static bool before(const struct sheet_departure *a, const struct sheet_departure *b) {
  if (a->seen != b->seen) return a->seen;
  if (isnan(a->value) || isnan(b->value)) return isnan(b->value) && !isnan(a->value);
  return a->value > b->value;
}

static void add_departure(struct sheet_reading *reading, const struct sheet_fault *fault, double value) {
  const double off = value - reading->good;
  const bool too_low = off < -reading->tolerance && !reading->row->less_is_good;
  const bool usual = reading->row->usual_high > 0.0;
  const bool beyond = usual ? value < reading->low || value > reading->high : off > reading->tolerance || too_low;
  const bool seen = isnan(value) || beyond;
  const struct sheet_departure departure = {fault, value, seen};
  size_t place = reading->departure_count++;
  for (; place > 0 && before(&departure, &reading->departures[place - 1]); place--)
    reading->departures[place] = reading->departures[place - 1];
  reading->departures[place] = departure;
}

/* Volts, areas, flows and steps are never below nothing; trims, angles of spark and differences can be. */
static bool may_be_negative(const struct sheet_row *row, double good) {
  return good < 0.0 || row->section == SHEET_SECTION_mixture || row->channel == CHANNEL_learned_pct ||
         row->channel == CHANNEL_spark_deg || row->channel == CHANNEL_duty_pct;
}

static void add_reading(struct sheet *sheet, size_t row, const struct sheet_job *good) {
  const struct sheet_row *what = &sheet_rows[row];
  struct sheet_reading *reading = &sheet->readings[sheet->reading_count++];
  const enum sheet_procedure procedure = good->procedure;
  *reading = (struct sheet_reading){.row = what, .good = good->value[row]};
  reading->scatter = SCATTER_SIGMAS * good->scatter[row];
  reading->resolution = what->torch ? LIGHT_SHARE * fabs(reading->good) : what->resolution;
  reading->unit = unit_to_unit(sheet, row, procedure, reading->good);
  reading->tolerance =
      sqrt(reading->scatter * reading->scatter + reading->resolution * reading->resolution + reading->unit * reading->unit);
  reading->low = reading->good - reading->tolerance;
  if (!may_be_negative(what, reading->good)) reading->low = fmax(reading->low, 0.0);
  if (what->less_is_good) reading->low = 0.0;
  reading->high = reading->good + reading->tolerance;
  if (what->usual_high > 0.0) {
    reading->low = what->usual_low;
    reading->high = what->usual_high;
  }
  for (size_t i = 0; i < sheet->job_count; i++) {
    const struct sheet_job *job = &sheet->jobs[i];
    if (job->kind != SHEET_JOB_FAULT || job->procedure != procedure) continue;
    const struct sheet_fault *fault = &sheet_fault_rows[job->index];
    if (fault->sections & (1u << what->section)) add_departure(reading, fault, job->value[row]);
  }
  reading->cautions = caution_for(what->steps, engine_features(sheet->engine));
  sheet->cautions |= reading->cautions;
  for (size_t i = 0; i < reading->departure_count && reading->departures[i].seen; i++)
    sheet->cautions |= sheet_departure_cautions(sheet, &reading->departures[i]);
}

void sheet_finish(struct sheet *sheet) {
  sheet->reading_count = 0;
  sheet->cautions = 0;
  for (size_t row = 0; row < sheet_row_count; row++) {
    const struct sheet_job *good = good_job(sheet, sheet_procedure_window_rows[sheet_rows[row].window].procedure);
    if (good && isfinite(good->value[row])) add_reading(sheet, row, good);
  }
}

unsigned sheet_departure_cautions(const struct sheet *sheet, const struct sheet_departure *departure) {
  return caution_for(departure->fault->steps, engine_features(sheet->engine));
}

const struct sheet_reading *sheet_find(const struct sheet *sheet, const char *id) {
  for (size_t i = 0; i < sheet->reading_count; i++)
    if (strcmp(sheet->readings[i].row->id, id) == 0) return &sheet->readings[i];
  return NULL;
}

const char *sheet_light(const struct sheet_reading *reading, double value) {
  if (isnan(value)) return "no reading";
  if (value > reading->high) return "wide open";
  if (value >= reading->low) return "light all round";
  return value < DARK_SHARE * reading->good ? "none" : "thin, or on one side";
}

const char *sheet_where(const struct sheet *sheet, const struct sheet_reading *reading) {
  return reading->row->torch ? caution_torch(engine_features(sheet->engine)) : reading->row->where;
}

/* ---- remarks in numbers of this engine ---- */
static void remark_track(const struct sheet *sheet, const char *closed, const char *open, char *text, size_t size) {
  const struct sheet_reading *from = sheet_find(sheet, closed), *to = sheet_find(sheet, open);
  if (!from || !to) return;
  snprintf(text, size, "This track %s as the blade opens: %.2f V closed, %.2f V open.", to->good > from->good ? "rises" : "falls",
           from->good, to->good);
}

void sheet_remark(const struct sheet *sheet, const struct sheet_reading *reading, char *text, size_t size) {
  const char *id = reading->row->id;
  const struct engine *engine = sheet->engine;
  text[0] = '\0';
  if (strcmp(id, "track1_closed") == 0) remark_track(sheet, "track1_closed", "track1_open", text, size);
  if (strcmp(id, "track2_closed") == 0) remark_track(sheet, "track2_closed", "track2_open", text, size);
  if (strcmp(id, "air_idle") == 0)
    snprintf(text, size,
             "%.1f g/s per litre of displacement, with this engine's speed and loads; small and hot-idling engines stand near 1, "
             "a fast or loaded idle well above it (common practice, no source): compare with the range, not with a rule.",
             reading->good / (1e3 * engine->plant.charge.displacement_m3));
  if (strcmp(id, "supply_key_off") == 0)
    snprintf(text, size, "The drive goes to sleep %.0f s after key off.", engine->plant.drive.awake_s);
  if (strcmp(id, "closed_gap") == 0) {
    const struct bore_geometry *bore = &engine->plant.throttle.bore;
    snprintf(text, size, "All round the blade, that is a slit of %.0f um.",
             1e6 * reading->good * UNITS_M2_PER_MM2 / (2.0 * UNITS_PI * bore->radius_m));
  }
}
