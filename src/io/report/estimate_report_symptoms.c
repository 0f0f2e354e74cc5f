#include "analysis/estimate/estimate_symptoms_words.h"
#include "io/report/estimate_report.h"

/* What each leading cause lets expect of it; value: of a hypothesis. */
typedef double (*value_of)(const struct estimate *e, size_t hypothesis, int code);

static double code_of(const struct estimate *e, size_t hypothesis, int code) { return e->told[hypothesis].code[code]; }

static double complaint_of(const struct estimate *e, size_t hypothesis, int code) {
  (void)code;
  return e->told[hypothesis].complaint;
}

static double frame_of(const struct estimate *e, size_t hypothesis, int code) {
  (void)code;
  return estimate_symptoms_words_frame_factor(e, hypothesis);
}

static void put_by_cause(struct json *json, const struct estimate *e, const char *key, value_of value, int code) {
  json_open_array(json, "causes");
  for (size_t i = 0; i < e->count; i++) {
    char name[ESTIMATE_NAME_SIZE];
    if (!e->told[i].looked) continue;
    estimate_hypothesis_name(&e->hypotheses[i], name);
    json_open_object(json, NULL);
    json_put_text(json, "cause", name);
    json_put_real(json, key, value(e, i, code), 5);
    json_close(json);
  }
  json_close(json);
}

static void put_codes(struct json *json, const struct estimate *e) {
  const struct estimate_symptoms *s = e->question->symptoms;
  json_open_array(json, "codes");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (!estimate_symptoms_words_tells(e, (enum monitor_code)i)) continue;
    json_open_object(json, NULL);
    json_put_text(json, "name", monitor_rows[i].code);
    json_put_flag(json, "stored", (s->stored & monitors_bit((enum monitor_code)i)) != 0);
    put_by_cause(json, e, "probability", code_of, i);
    json_close(json);
  }
  json_close(json);
  json_put_flag(json, "codes_complete", s->codes_given && !s->codes_incomplete);
  json_open_array(json, "codes_left_out");
  for (size_t i = 0; i < s->strange_count; i++) json_put_text(json, NULL, s->strange[i]);
  json_close(json);
}

static void put_frame(struct json *json, const struct estimate *e) {
  const struct estimate_symptoms *s = e->question->symptoms;
  if (!s->frame_given) {
    json_put_null(json, "freeze_frame");
    return;
  }
  json_open_object(json, "freeze_frame");
  if (s->frame_left_out)
    json_put_text(json, "left_out", s->frame_left_out);
  else
    json_put_null(json, "left_out");
  json_open_array(json, "readings");
  for (size_t i = 0; i < s->frame.count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[s->frame.readings[i].quantity].name);
    json_put_real(json, "value", s->frame.readings[i].value, 3);
    json_close(json);
  }
  json_close(json);
  if (!s->frame_left_out) put_by_cause(json, e, "factor", frame_of, 0);
  json_close(json);
}

void estimate_report_symptoms(struct json *json, const struct estimate *e) {
  const struct estimate_symptoms *s = e->question->symptoms;
  if (!s || !(estimate_symptoms_given(s) || s->frame_given)) {
    json_put_null(json, "symptoms");
    return;
  }
  json_open_object(json, "symptoms");
  put_codes(json, e);
  if (s->complaint == ESTIMATE_COMPLAINT_COUNT) {
    json_put_null(json, "complaint");
  } else {
    json_open_object(json, "complaint");
    json_put_text(json, "name", estimate_complaints[s->complaint].name);
    put_by_cause(json, e, "probability", complaint_of, 0);
    json_close(json);
  }
  put_frame(json, e);
  json_close(json);
}
