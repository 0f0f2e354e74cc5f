/* From a card to an engine. Truth: the trade's 0.8 to 1.1 g/s of idle air per litre (common practice; DOE 0.92 to 0.98 measured on a
 * fleet), and what a calibrated computer is: it learns nothing, with a load or without. */
#include "analysis/fit/card_engine.h"
#include "base/units.h"
#include "car/engine_check.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void check_ok(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static const double litres[] = {1.0, 1.4, 2.0, 2.8, 4.0, 6.0};

/* Reads the shipped engine that the card starts from and makes the card's. */
static void make(const struct card *card, struct engine *engine) {
  char path[80];
  struct engine *start = calloc(1, sizeof *start);
  struct error error;
  error_clear(&error);
  snprintf(path, sizeof path, "models/%s.cfg", card_engine_start(card));
  check_ok(engine_file_read(path, start, &error), &error);
  check_ok(card_engine_make(card, start, engine, &error), &error);
  check_ok(engine_check(engine, &error), &error);
  free(start);
}

static void set(struct card *card, const char *key, const char *value) {
  struct error error;
  error_clear(&error);
  check_ok(card_set(card, "here", key, value, "", &error), &error);
}

static void settle_with(const struct engine *engine, bool compressor, double load_w, struct settle_point *point) {
  struct settle *settle;
  struct settle_query query;
  struct error error;
  error_clear(&error);
  settle_query_init(&query);
  query.conditions.warmth_held = 1.0;
  query.conditions.compressor_request = compressor;
  query.learning = SETTLE_STALE;
  conditions_set(&query.conditions, &condition_find("electrical_load_w")->field, load_w);
  check_ok(settle_create(engine, &settle, &error), &error);
  settle_solve(settle, &query, point);
  settle_destroy(settle);
}

static void check_idles(const struct card *card, double size_l) {
  struct engine *engine = calloc(1, sizeof *engine);
  struct settle_point point;
  make(card, engine);
  settle_with(engine, false, 300.0, &point);
  const double per_litre = point.values[CHANNEL_airflow_gps] / size_l;
  if (point.outcome != SETTLE_IDLES || fabs(point.values[CHANNEL_effort_pct]) > 1.0 || per_litre < 0.78 || per_litre > 1.45)
    fail_msg("%s of %.1f l: %s, %.2f g/s per litre, effort %.2f %%", engine->name, size_l, settle_outcome_names[point.outcome],
             per_litre, point.values[CHANNEL_effort_pct]);
  printf("%s %.1f l: %.2f g/s per litre, opening %.2f deg, steps %.0f, %.1f kPa\n", engine->name, size_l, per_litre,
         point.values[CHANNEL_blade_deg], point.values[CHANNEL_bypass_steps], point.values[CHANNEL_manifold_kpa]);
  settle_with(engine, true, 300.0, &point);
  if (point.outcome != SETTLE_IDLES || fabs(point.values[CHANNEL_effort_pct]) > 1.0)
    fail_msg("%s of %.1f l with the compressor: %s, effort %.2f %%", engine->name, size_l, settle_outcome_names[point.outcome],
             point.values[CHANNEL_effort_pct]);
  free(engine);
}

/* Every kind from one litre to six. */
static void idles_at_any_size(void **state) {
  (void)state;
  static const char *const kinds[][3] = {{"electronic", "air_flow", "no"},
                                         {"electronic", "pressure", "no"},
                                         {"cable", "air_flow", "no"},
                                         {"cable", "pressure", "no"},
                                         {"electronic", "air_flow", "yes"}};
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
    for (size_t i = 0; i < sizeof litres / sizeof litres[0]; i++) {
      struct card card;
      char text[20];
      card_init(&card);
      set(&card, "kind", kinds[k][0]);
      set(&card, "metering", kinds[k][1]);
      set(&card, "turbo", kinds[k][2]);
      snprintf(text, sizeof text, "%.1f", litres[i]);
      set(&card, "displacement_l", text);
      check_idles(&card, litres[i]);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(idles_at_any_size)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
