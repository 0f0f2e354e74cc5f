#include "library/bladegap_estimate.h"

#include "analysis/estimate/estimate_baseline.h"
#include "analysis/estimate/estimate_check.h"
#include "analysis/estimate/estimate_log_text.h"
#include "analysis/estimate/estimate_place.h"
#include "base/attributes.h"
#include "library/bladegap_engine.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- Beginning ---- */

/* What was set of the engine becomes the day; what an estimate looks for, or readings say themselves, cannot be. */
static enum status take_day(const struct settle_query *query, struct estimate_setting *setting, struct error *error) {
  struct conditions usual;
  conditions_init(&usual);
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    const double value = conditions_value(&query->conditions, field), start = conditions_value(&usual, field);
    if (!(value < start || value > start)) continue;
    const enum status status = estimate_setting_check(&condition_rows[i], error);
    if (status != STATUS_OK) return status;
    conditions_set(&setting->conditions, field, value);
  }
  if (query->engine_off) return error_set(error, STATUS_USAGE, "engine_off: the condition of each reading (key_on) says that");
  return STATUS_OK;
}

static enum status begin(bladegap_estimate *e, const bladegap_engine *engine, struct error *error) {
  e->engine = engine->engine;
  e->question.engine = &e->engine;
  estimate_setting_init(&e->question.setting);
  estimate_symptoms_init(&e->symptoms);
  e->question.symptoms = &e->symptoms;
  enum status status = take_day(&engine->query, &e->question.setting, error);
  if (status == STATUS_OK && !engine->place_told) estimate_place_unknown(&e->engine, &e->question.setting.conditions);
  if (status == STATUS_OK) status = estimate_readings_init(&e->input, &e->engine, error);
  if (status != STATUS_OK) return status;
  e->input.ambient_kpa = conditions_ambient_pa(&e->question.setting.conditions) / UNITS_PA_PER_KPA;
  if (!engine->place_told) e->input.ambient_sd_kpa = ESTIMATE_PLACE_SD_PA / UNITS_PA_PER_KPA;
  e->baseline = e->input;                             // nothing read yet
  e->question.baseline_setting = e->question.setting; // the same day, and long use since
  e->question.setting.stale = engine->query.learning == SETTLE_STALE;
  e->question.setting.learned_ratio = engine->query.learned_ratio;
  return STATUS_OK;
}

bladegap_estimate *bladegap_estimate_create(const bladegap_engine *engine, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (bladegap_engine_ready(engine, edge) != BLADEGAP_OK) return NULL;
  bladegap_estimate *e = calloc(1, sizeof *e);
  if (!e) {
    edge_fail(edge, STATUS_NO_MEMORY, "out of memory for an estimate");
    return NULL;
  }
  struct error what;
  error_clear(&what);
  if (begin(e, engine, &what) == STATUS_OK) return e;
  edge_tell(edge, &what);
  bladegap_estimate_destroy(e);
  return NULL;
}

static void forget(bladegap_estimate *e) {
  free(e->findings);
  estimate_destroy(e->estimate);
  e->findings = NULL;
  e->estimate = NULL;
}

void bladegap_estimate_destroy(bladegap_estimate *e) {
  if (!e) return;
  forget(e);
  free(e->notes);
  free(e);
}

/* ---- Readings ---- */

/* Whether something may still be added. */
static int open(const bladegap_estimate *e, struct edge edge) {
  if (!e) return edge_fail(edge, STATUS_USAGE, "the estimate is NULL");
  if (e->findings) return edge_fail(edge, STATUS_USAGE, "the estimate has been computed: begin another to change what is asked");
  return BLADEGAP_OK;
}

static int add(bladegap_estimate *e, bool baseline, const char *name, const char *condition, double value, double sd,
               struct edge edge) {
  const int code = open(e, edge);
  if (code != BLADEGAP_OK) return code;
  if (!name || !condition) return edge_fail(edge, STATUS_USAGE, "the name of the reading or of its condition is NULL");
  struct error what;
  error_clear(&what);
  const enum status status = estimate_readings_add(baseline ? &e->baseline : &e->input, name, condition, value, sd, &what);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_estimate_add(bladegap_estimate *e, const char *name, const char *condition, double value, double sd, char *error,
                          size_t error_size) {
  return add(e, false, name, condition, value, sd, edge_begin(error, error_size));
}

int bladegap_estimate_add_baseline(bladegap_estimate *e, const char *name, const char *condition, double value, double sd,
                                   char *error, size_t error_size) {
  return add(e, true, name, condition, value, sd, edge_begin(error, error_size));
}

static enum status keep_notes(bladegap_estimate *e, const char *notes, struct error *error) {
  const size_t before = e->notes ? strlen(e->notes) : 0, more = strlen(notes);
  char *all = realloc(e->notes, before + more + 1);
  if (!all) return error_append(error, STATUS_NO_MEMORY, "out of memory for what a log tells");
  memcpy(all + before, notes, more + 1);
  e->notes = all;
  return STATUS_OK;
}

static int add_text(bladegap_estimate *e, bool baseline, const char *source, const char *text, size_t size, struct edge edge) {
  const int code = open(e, edge);
  if (code != BLADEGAP_OK) return code;
  if (!source || !text) return edge_fail(edge, STATUS_USAGE, "the readings or the name of their source are NULL");
  struct error what;
  error_clear(&what);
  char *notes = NULL;
  enum status status = estimate_log_text_add(baseline ? &e->baseline : &e->input, source, text, size, &notes, &what);
  if (notes && status == STATUS_OK) status = keep_notes(e, notes, &what);
  free(notes);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_estimate_add_text(bladegap_estimate *e, const char *source, const char *text, size_t size, char *error,
                               size_t error_size) {
  return add_text(e, false, source, text, size, edge_begin(error, error_size));
}

int bladegap_estimate_add_baseline_text(bladegap_estimate *e, const char *source, const char *text, size_t size, char *error,
                                        size_t error_size) {
  return add_text(e, true, source, text, size, edge_begin(error, error_size));
}

enum symptom { SYMPTOM_CODES, SYMPTOM_CODES_SOME, SYMPTOM_COMPLAINT, SYMPTOM_FREEZE_FRAME };
static const char *const symptom_names[] = {"codes", "codes_some", "complaint", "freeze_frame"};

static enum status add_frame(bladegap_estimate *e, const char *text, struct error *error) {
  struct estimate_symptoms_frame *frame = calloc(1, sizeof *frame);
  if (!frame) return error_append(error, STATUS_NO_MEMORY, "out of memory for a freeze frame");
  enum status status = estimate_symptoms_frame_init(frame, &e->engine, &e->question.setting, error);
  if (status == STATUS_OK) status = estimate_symptoms_frame_add_list(frame, "freeze_frame", text, error);
  if (status == STATUS_OK) estimate_symptoms_frame_finish(frame, &e->symptoms);
  free(frame);
  return status;
}

static enum status add_symptom(bladegap_estimate *e, enum symptom symptom, const char *text, struct error *error) {
  const bool given[] = {e->symptoms.codes_given, e->symptoms.codes_given, e->symptoms.complaint != ESTIMATE_COMPLAINT_COUNT,
                        e->symptoms.frame_given};
  if (given[symptom]) return error_append(error, STATUS_USAGE, "%s: it was already given", symptom_names[symptom]);
  if (symptom == SYMPTOM_COMPLAINT) return estimate_symptoms_set_complaint(&e->symptoms, "complaint", text, error);
  if (symptom == SYMPTOM_FREEZE_FRAME) return add_frame(e, text, error);
  struct estimate_symptoms codes;
  estimate_symptoms_init(&codes);
  const enum status status = estimate_symptoms_add_codes(&codes, &e->engine, symptom_names[symptom], text, error);
  if (status != STATUS_OK) return status; // nothing taken of what is half wrong
  e->symptoms.codes_given = true;
  e->symptoms.codes_incomplete = symptom == SYMPTOM_CODES_SOME;
  e->symptoms.stored = codes.stored;
  e->symptoms.strange_count = codes.strange_count;
  memcpy(e->symptoms.strange, codes.strange, sizeof codes.strange);
  return STATUS_OK;
}

int bladegap_estimate_add_symptom(bladegap_estimate *e, const char *name, const char *text, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = open(e, edge);
  if (code != BLADEGAP_OK) return code;
  if (!name || !text) return edge_fail(edge, STATUS_USAGE, "the name or the text of a symptom is NULL");
  const int found = edge_find(name, symptom_names, ARRAY_COUNT(symptom_names));
  if (found < 0) return edge_unknown(edge, "symptom", name, symptom_names, ARRAY_COUNT(symptom_names));
  struct error what;
  error_clear(&what);
  return add_symptom(e, (enum symptom)found, text, &what) == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_estimate_option(bladegap_estimate *e, const char *name, int value, char *error, size_t error_size) {
  static const char *const names[] = {"pairs", "trust"};
  const struct edge edge = edge_begin(error, error_size);
  const int code = open(e, edge);
  if (code != BLADEGAP_OK) return code;
  if (!name) return edge_fail(edge, STATUS_USAGE, "the name of the option is NULL");
  const int found = edge_find(name, names, ARRAY_COUNT(names));
  if (found < 0) return edge_unknown(edge, "option of an estimate", name, names, ARRAY_COUNT(names));
  if (value != 0 && value != 1) return edge_fail(edge, STATUS_USAGE, "%s=%d: it is a switch, 0 or 1", name, value);
  *(found == 0 ? &e->question.pairs : &e->trust) = value == 1;
  return BLADEGAP_OK;
}

/* ---- Working it out ---- */

/* Readings that no such engine shows are not swallowed. */
static enum status ask_about(const bladegap_estimate *e, const struct estimate_readings_input *input,
                             const struct estimate_setting *setting, struct error *error) {
  if (input->given.count == 0) return STATUS_OK;
  struct plausible_ranges *ranges = calloc(1, sizeof *ranges);
  if (!ranges) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  enum status status = plausible_find(&e->engine, setting, &input->given, e->question.pairs, &for_each_serial, ranges, error);
  if (status == STATUS_OK) status = estimate_check_readings(input, setting, ranges, error);
  free(ranges);
  return status;
}

static enum status compute(bladegap_estimate *e, struct error *error) {
  struct estimate_question *question = &e->question;
  enum status status = estimate_readings_finish(&e->input, &question->setting, &question->readings, error);
  if (status == STATUS_OK)
    status = estimate_readings_finish(&e->baseline, &question->baseline_setting, &question->baseline, error);
  if (status == STATUS_OK && !e->trust) status = estimate_check_throttled(&e->input, &question->setting, error);
  if (status == STATUS_OK && !e->trust) status = ask_about(e, &e->input, &question->setting, error);
  if (status == STATUS_OK && !e->trust) status = ask_about(e, &e->baseline, &question->baseline_setting, error);
  if (status == STATUS_OK && !e->trust) status = estimate_baseline_check(question, error);
  if (status == STATUS_OK) status = estimate_create(question, &for_each_serial, &e->estimate, error);
  if (status != STATUS_OK) return status;
  e->findings = calloc(1, sizeof *e->findings);
  if (!e->findings) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  return estimate_findings_init(e->findings, e->estimate, NULL, error);
}

int bladegap_estimate_compute(bladegap_estimate *e, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = open(e, edge);
  if (code != BLADEGAP_OK) return code;
  if (e->input.given.count == 0 && !estimate_symptoms_given(&e->symptoms))
    return edge_fail(edge, STATUS_USAGE, "there are no readings: bladegap_estimate_add() first");
  struct error what;
  error_clear(&what);
  if (compute(e, &what) == STATUS_OK) return BLADEGAP_OK;
  forget(e);
  return edge_tell(edge, &what);
}

int bladegap_estimate_done(const bladegap_estimate *e, struct edge edge) {
  if (!e) return edge_fail(edge, STATUS_USAGE, "the estimate is NULL");
  return e->findings ? BLADEGAP_OK : edge_fail(edge, STATUS_USAGE, "not computed yet: bladegap_estimate_compute() first");
}
