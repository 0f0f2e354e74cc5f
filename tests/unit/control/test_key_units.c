/* The keys of an engine file: the factor into SI is that of the unit which the key's name ends in. Truth: the definitions of the units. */
#include "control/computer_params.h"
#include "plant/plant_params.h"
#include "support/check.h"

#include <string.h>

#define PI 3.14159265358979323846

static const struct {
  const char *ending;
  double factor, shift;
} units[] = {
    // longer endings first
    {"_pct_per_rpm_s", 0.01 / (PI / 30.0), 0.0},
    {"_pct_per_rpm", 0.01 / (PI / 30.0), 0.0},
    {"_gps_per_kw", 1e-3 / 1e3, 0.0},
    {"_nm_per_um", 1e6, 0.0},
    {"_mj_kg", 1e6, 0.0},
    {"_kj_k", 1e3, 0.0},
    {"_w_k", 1.0, 0.0},
    {"_nm_rad", 1.0, 0.0},
    {"_nm_a", 1.0, 0.0},
    {"_kg_m2", 1.0, 0.0},
    {"_rad_s", 1.0, 0.0},
    {"_deg_per_s", PI / 180.0, 0.0},
    {"_1_s", 1.0, 0.0},
    {"_per_s", 1.0, 0.0},
    {"_deg_m", 1.0, 0.0},                       // of valve lift tables: degrees of crank times metres, as the source has it
    {"_kpa_at_100gps", 1e3 / (0.1 * 0.1), 0.0}, // goes with the square of the flow
    {"_per_deg2", 1.0 / (PI / 180.0 * PI / 180.0), 0.0},
    {"_mm2", 1e-6, 0.0},
    {"_mm", 1e-3, 0.0},
    {"_um", 1e-6, 0.0},
    {"_deg_per_rpm", PI / 180.0 / (PI / 30.0), 0.0},
    {"_deg", PI / 180.0, 0.0},
    {"_pct", 0.01, 0.0},
    {"_kpa", 1e3, 0.0},
    {"_bar", 1e5, 0.0},
    {"_rpm", PI / 30.0, 0.0},
    {"_gps", 1e-3, 0.0},
    {"_revolutions", 2.0 * PI, 0.0},
    {"_proportional", 1.0, 0.0}, // trim per unit of lambda
    {"_ratio", 1.0, 0.0},
    {"_cycles", 1.0, 0.0},
    {"_lambda", 1.0, 0.0},
    {"_curvature", 1.0, 0.0},
    {"_ohm", 1.0, 0.0},
    {"_nm", 1.0, 0.0},
    {"_l", 1e-3, 0.0},
    {"_c", 1.0, 273.15},
    {"_s", 1.0, 0.0},
    {"_k", 1.0, 0.0},
};

static int unit_of(const char *name) {
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
    const size_t length = strlen(name), more = strlen(units[i].ending);
    if (length >= more && strcmp(name + length - more, units[i].ending) == 0) return (int)i;
    if (*units[i].ending && strcmp(name, units[i].ending + 1) == 0) return (int)i;
  }
  return -1;
}

static void check_field(const char *group, const struct field *field) {
  if (field->kind == FIELD_REAL) {
    const int unit = unit_of(field->key);
    if (unit < 0) fail_msg("%s.%s: the name ends in no unit that is known here", group, field->key);
    const double zero = field_to_si(field, 0.0), one = field_to_si(field, 1.0);
    if (fabs((one - zero) / units[unit].factor - 1.0) > 1e-9 || fabs(zero - units[unit].shift) > 1e-9)
      fail_msg("%s.%s: 0 is %g and 1 is %g", group, field->key, zero, one);
  }
  const char *by = field->kind == FIELD_CURVE ? strstr(field->key, "by_") : NULL;
  if (by) {
    const int unit = unit_of(by + 2);
    if (unit < 0) fail_msg("%s.%s: over what?", group, field->key);
    struct field x = *field;
    x.kind = FIELD_REAL;
    x.unit = field->x_unit;
    const double zero = field_to_si(&x, 0.0), one = field_to_si(&x, 1.0);
    if (fabs((one - zero) / units[unit].factor - 1.0) > 1e-9 || fabs(zero - units[unit].shift) > 1e-9)
      fail_msg("%s.%s: over 0 is %g and 1 is %g", group, field->key, zero, one);
  }
}

static void every_key(void **state) {
  (void)state;
  for (size_t g = 0; g < plant_params_group_count; g++)
    for (size_t i = 0; i < plant_params_groups[g].count; i++)
      check_field(plant_params_groups[g].name, &plant_params_groups[g].fields[i]);
  for (size_t g = 0; g < computer_params_group_count; g++)
    for (size_t i = 0; i < computer_params_groups[g].count; i++)
      check_field(computer_params_groups[g].name, &computer_params_groups[g].fields[i]);
}

/* A range is one, and what holds without a key lies in it. */
static void every_range(void **state) {
  (void)state;
  for (int table = 0; table < 2; table++) {
    const struct field_group *groups = table ? computer_params_groups : plant_params_groups;
    const size_t count = table ? computer_params_group_count : plant_params_group_count;
    for (size_t g = 0; g < count; g++)
      for (size_t i = 0; i < groups[g].count; i++) {
        const struct field *field = &groups[g].fields[i];
        if (field->kind != FIELD_REAL) continue;
        if (!(field->min < field->max)) fail_msg("%s.%s: %g to %g", groups[g].name, field->key, field->min, field->max);
        if (field->has_default && (field->initial < field->min || field->initial > field->max))
          fail_msg("%s.%s: without it %g", groups[g].name, field->key, field->initial);
      }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_key), cmocka_unit_test(every_range)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
