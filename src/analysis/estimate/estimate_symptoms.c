#include "analysis/estimate/estimate_symptoms.h"

#include "base/near_miss.h"
#include "base/number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A frame is one of warm idle if ... All three: common practice, no source. */
#define WARM_C          70.0 // the coolant is warmer than this,
#define IDLE_MOST_RATIO 1.6  // the speed less than this times the target at that coolant, so that an idle that races is one,
#define STANDING_KPH    3.0  // and the car slower than this, if the frame has it

enum { LIST_SIZE = 200, WORD_SIZE = 96 };

const struct estimate_complaint_row estimate_complaints[ESTIMATE_COMPLAINT_COUNT] = {
#define COMPLAINT(member, name, text) {name, text},
    ESTIMATE_COMPLAINT_LIST(COMPLAINT)
#undef COMPLAINT
};

void estimate_symptoms_init(struct estimate_symptoms *symptoms) {
  memset(symptoms, 0, sizeof *symptoms);
  symptoms->complaint = ESTIMATE_COMPLAINT_COUNT;
}

bool estimate_symptoms_given(const struct estimate_symptoms *s) {
  return s->codes_given || s->complaint != ESTIMATE_COMPLAINT_COUNT || (s->frame_given && !s->frame_left_out);
}

/* The next word between commas, without blanks round it; false at the end. */
static bool next_word(const char **at, char word[WORD_SIZE]) {
  if (!*at) return false;
  const char *comma = strchr(*at, ',');
  const char *begin = *at, *end = comma ? comma : *at + strlen(*at);
  while (begin < end && isspace((unsigned char)*begin)) begin++;
  while (end > begin && isspace((unsigned char)end[-1])) end--;
  snprintf(word, WORD_SIZE, "%.*s", (int)(end - begin), begin);
  *at = comma ? comma + 1 : NULL;
  return true;
}

/* ---- codes ---- */

static int find_monitor(const char *code) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (strcmp(monitor_rows[i].code, code) == 0) return i;
  return -1;
}

static bool is_there(const struct estimate_symptoms *s, const char *code) {
  const int monitor = find_monitor(code);
  if (monitor >= 0 && (s->stored & monitors_bit((enum monitor_code)monitor))) return true;
  for (size_t i = 0; i < s->strange_count; i++)
    if (strcmp(s->strange[i], code) == 0) return true;
  return false;
}

static void add_code(struct estimate_symptoms *s, const struct engine *engine, const char *option, const char *word,
                     struct error *error) {
  char code[WORD_SIZE];
  size_t length = 0;
  for (; word[length]; length++) code[length] = (char)toupper((unsigned char)word[length]);
  code[length] = '\0';
  if (length == 0)
    error_append(error, STATUS_USAGE, "%s: a code is missing between two commas, or at an end", option);
  else if (monitors_code_bytes(code) < 0)
    error_append(
        error, STATUS_USAGE,
        "%s: '%s' is no code: a code is P, C, B or U, a digit up to 3 and three more, as in P0506; none says that none is "
        "stored",
        option, word);
  else if (is_there(s, code))
    error_append(error, STATUS_USAGE, "%s: %s is there already", option, code);
  else {
    const int monitor = find_monitor(code);
    if (monitor >= 0 && !(monitor_rows[monitor].enable & ~monitors_possible(engine_features(engine))))
      s->stored |= monitors_bit((enum monitor_code)monitor);
    else if (s->strange_count == ESTIMATE_SYMPTOMS_STRANGE_MAX)
      error_append(error, STATUS_USAGE, "%s: more than %d codes that this engine does not set", option,
                   ESTIMATE_SYMPTOMS_STRANGE_MAX);
    else
      snprintf(s->strange[s->strange_count++], ESTIMATE_SYMPTOMS_CODE_SIZE, "%.5s", code);
  }
}

static bool is_none(const char *word) {
  static const char none[] = "none";
  size_t i = 0;
  while (none[i] && tolower((unsigned char)word[i]) == none[i]) i++;
  return none[i] == '\0' && word[i] == '\0';
}

enum status estimate_symptoms_add_codes(struct estimate_symptoms *s, const struct engine *engine, const char *option,
                                        const char *text, struct error *error) {
  const size_t before = error->line_count;
  char word[WORD_SIZE];
  bool none = s->codes_given && s->stored == 0 && s->strange_count == 0;
  for (const char *at = text; next_word(&at, word);) {
    if (is_none(word))
      none = true;
    else
      add_code(s, engine, option, word, error);
  }
  s->codes_given = true;
  if (none && (s->stored || s->strange_count))
    error_append(error, STATUS_USAGE, "%s: none says that no code is stored, and there are codes beside it", option);
  return error->line_count == before ? STATUS_OK : error->status;
}

/* ---- complaint ---- */

enum estimate_complaint estimate_complaint_find(const char *name) {
  for (int i = 0; i < ESTIMATE_COMPLAINT_COUNT; i++) {
    const char *row = estimate_complaints[i].name;
    size_t k = 0;
    while (row[k] && (name[k] == '_' ? '-' : tolower((unsigned char)name[k])) == row[k]) k++;
    if (row[k] == '\0' && name[k] == '\0') return (enum estimate_complaint)i;
  }
  return ESTIMATE_COMPLAINT_COUNT;
}

enum status estimate_symptoms_set_complaint(struct estimate_symptoms *s, const char *option, const char *name,
                                            struct error *error) {
  s->complaint = estimate_complaint_find(name);
  if (s->complaint != ESTIMATE_COMPLAINT_COUNT) return STATUS_OK;
  const char *names[ESTIMATE_COMPLAINT_COUNT];
  char list[LIST_SIZE] = "";
  for (int i = 0; i < ESTIMATE_COMPLAINT_COUNT; i++) {
    const size_t used = strlen(list);
    names[i] = estimate_complaints[i].name;
    snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", names[i]);
  }
  const char *near = near_miss_best(name, names, ESTIMATE_COMPLAINT_COUNT);
  return near ? error_append(error, STATUS_USAGE, "%s: there is no complaint '%s'; did you mean '%s'?", option, name, near)
              : error_append(error, STATUS_USAGE, "%s: there is no complaint '%s'; there are %s", option, name, list);
}

/* ---- freeze frame ---- */

enum status estimate_symptoms_frame_init(struct estimate_symptoms_frame *frame, const struct engine *engine,
                                         const struct estimate_setting *setting, struct error *error) {
  const enum status status = estimate_readings_init(&frame->input, engine, error);
  frame->input.ambient_kpa = conditions_ambient_pa(&setting->conditions) / UNITS_PA_PER_KPA;
  frame->speed_kph = NAN;
  return status;
}

static const char road_speed[] = "vehicle_speed_kph";

enum status estimate_symptoms_frame_add(struct estimate_symptoms_frame *frame, const char *place, const char *text,
                                        struct error *error) {
  const char *equals = strchr(text, '=');
  if (!equals || equals == text || equals[1] == '\0' || strchr(text, '@'))
    return error_append(
        error, STATUS_USAGE,
        "%s: '%s': a freeze frame wants NAME=VALUE, as in speed_rpm=702; it says itself at which condition it was "
        "taken",
        place, text);
  if ((size_t)(equals - text) == sizeof road_speed - 1 && strncmp(text, road_speed, sizeof road_speed - 1) == 0) {
    if (!isnan(frame->speed_kph)) return error_append(error, STATUS_USAGE, "%s: %s is there already", place, road_speed);
    return number_read(equals + 1, &frame->speed_kph) && frame->speed_kph >= 0.0 && frame->speed_kph < 500.0
               ? STATUS_OK
               : error_append(error, STATUS_USAGE, "%s: '%s' is no speed of a car in km/h", place, equals + 1);
  }
  char at_idle[2 * WORD_SIZE];
  if (strlen(text) >= sizeof at_idle - 5) return error_append(error, STATUS_USAGE, "%s: '%.40s...' is too long", place, text);
  snprintf(at_idle, sizeof at_idle, "%s@%s", text, estimate_conditions[ESTIMATE_CONDITION_idle].name);
  return estimate_readings_add_text(&frame->input, place, at_idle, error);
}

enum status estimate_symptoms_frame_add_list(struct estimate_symptoms_frame *frame, const char *place, const char *text,
                                             struct error *error) {
  const size_t before = error->line_count;
  char word[WORD_SIZE];
  for (const char *at = text; next_word(&at, word);) (void)!estimate_symptoms_frame_add(frame, place, word, error);
  return error->line_count == before ? STATUS_OK : error->status;
}

/* Of one moment only what hangs on the engine's state there, not on how long it has idled or on what the computer meant. */
static bool speaks(enum estimate_quantity quantity) {
  switch (quantity) {
  case ESTIMATE_QUANTITY_speed_rpm:
  case ESTIMATE_QUANTITY_tp_pct:
  case ESTIMATE_QUANTITY_maf_gps:
  case ESTIMATE_QUANTITY_map_kpa:
  case ESTIMATE_QUANTITY_load_pct:
  case ESTIMATE_QUANTITY_spark_deg:
  case ESTIMATE_QUANTITY_trim_pct:
  case ESTIMATE_QUANTITY_trim2_pct:
    return true;
  default:
    return false;
  }
}

static const char *why_not_idle(const struct estimate_symptoms_frame *frame) {
  const struct engine *engine = frame->input.engine;
  const struct estimate_reading *coolant =
      estimate_readings_find(&frame->input.given, ESTIMATE_QUANTITY_coolant_c, ESTIMATE_CONDITION_idle);
  const struct estimate_reading *speed =
      estimate_readings_find(&frame->input.given, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle);
  if (!speed || !coolant) return "without speed_rpm and coolant_c it does not tell whether it was taken at warm idle";
  if (coolant->value < WARM_C) return "its coolant says that the engine was not warm";
  if (frame->speed_kph > STANDING_KPH) return "the car was moving";
  const double target_rad_s = curve_value(&engine->computer.target.by_coolant, coolant->value + UNITS_KELVIN_AT_ZERO_C);
  if (speed->value <= 0.0) return "the engine stood";
  if (speed->value * UNITS_RAD_S_PER_RPM > IDLE_MOST_RATIO * target_rad_s) return "its speed is not one of idling";
  return NULL;
}

void estimate_symptoms_frame_finish(const struct estimate_symptoms_frame *frame, struct estimate_symptoms *s) {
  struct estimate_readings given = frame->input.given;
  s->frame_given = true;
  s->frame.count = 0;
  s->frame_left_out = why_not_idle(frame);
  if (s->frame_left_out) return;
  estimate_readings_join(&given);
  for (size_t i = 0; i < given.count; i++)
    if (speaks(given.readings[i].quantity)) s->frame.readings[s->frame.count++] = given.readings[i];
}
