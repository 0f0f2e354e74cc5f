/* What decides how much film hides: its thickness against the width of the idle's gap, not the thickness as such.
 *
 * Truth. Arithmetic, with a pencil: a ring of thickness t on a rim of pi D takes at most pi D t of the gap, so an engine whose controller
 * can add the share r of the blade's air hides at least r w, w = A / (pi D); and twice the width hides at least twice the film. The
 * rule of docs/cliff.md, with its k read off the model's own table, is no outside truth: here it is held so that the page
 * stays true. Idle air from 0.9 to 1.6 g/s per litre is what the sources span (docs/validation.md, "Idle air"). */
#include "support/made_engine.h"

#include "base/attributes.h"
#include "support/check.h"

#include <math.h>

#define HIDDEN_RPM 10.0

static const struct made_engine_kind kinds[] = {{44.0, 0.9, 40.0}, {44.0, 1.3, 40.0}, {52.0, 0.9, 40.0}, {52.0, 1.07, 20.0},
                                                {52.0, 1.6, 40.0}, {60.0, 0.9, 40.0}, {60.0, 1.6, 40.0}};

static void hides_what_the_width_allows(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(kinds); i++) {
    struct plant_probe *probe = made_engine_create(&kinds[i]);
    const struct made_engine_gap gap = made_engine_gap(probe);
    const double hidden = made_engine_film_um(probe, HIDDEN_RPM), none = made_engine_film_um(probe, INFINITY);
    print_message("%.0f mm, %.2f g/s per litre: w %.1f um, r %.2f, hidden to %.1f um, rule %.1f, no settled idle from %.1f um\n",
                  kinds[i].bore_mm, kinds[i].gps_per_l, gap.width_um, gap.room_ratio, hidden, made_engine_rule_hidden_um(&gap),
                  none);
    check_above_at((double)i, hidden, gap.room_ratio * gap.width_um);
    check_close_at((double)i, hidden / made_engine_rule_hidden_um(&gap), 1.0, 0.05);
    check_above_at((double)i, none, 1.5 * hidden); // a slope behind it, no wall
    plant_probe_destroy(probe);
  }
}

/* The same film, 50 um: unseen behind a wide gap, an idle that cannot hold its target behind a narrow one. */
static void same_film_other_engine(void **state) {
  (void)state;
  struct plant_probe *narrow = made_engine_create(&(struct made_engine_kind){60.0, 0.9, 40.0}),
                     *wide = made_engine_create(&(struct made_engine_kind){44.0, 1.6, 40.0});
  const double times = made_engine_gap(wide).width_um / made_engine_gap(narrow).width_um;
  check_above(times, 2.0);
  check_above(made_engine_film_um(wide, HIDDEN_RPM), times * made_engine_film_um(narrow, HIDDEN_RPM));
  struct plant_probe *const both[] = {narrow, wide};
  for (size_t i = 0; i < ARRAY_COUNT(both); i++) {
    plant_probe_set(both[i], "film_um", 50.0);
    plant_probe_settle(both[i]);
  }
  assert_int_equal(narrow->point.outcome, SETTLE_DROOPS);
  check_below(plant_probe_value(narrow, CHANNEL_speed_rpm), plant_probe_value(narrow, CHANNEL_target_rpm) - 100.0);
  assert_int_equal(wide->point.outcome, SETTLE_IDLES);
  plant_probe_destroy(narrow);
  plant_probe_destroy(wide);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(hides_what_the_width_allows),
      cmocka_unit_test(same_film_other_engine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
