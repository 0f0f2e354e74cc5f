/* physics/warmth. Truth: hand values from the equations in its header, the balance of the two lumps. */
#include "support/check.h"

#include "physics/warmth.h"

static const struct warmth_params warmth = {.coolant_j_k = 40e3,
                                            .oil_j_k = 8e3,
                                            .wall_heat_ratio = 0.5,
                                            .coolant_loss_w_k = 12.0,
                                            .oil_loss_w_k = 4.0,
                                            .coolant_oil_w_k = 40.0,
                                            .thermostat_opens_k = 360.0,
                                            .thermostat_open_k = 370.0,
                                            .radiator_w_k = 400.0};

/* Half open: 0.5 * 400 * 65 = 13 kW at 300 K; u = 1/4: 0.15625 * 400 * 62.5 = 3906.25 W; shut below, all
 * above. */
static void radiator(void **state) {
  (void)state;
  check_relative(warmth_radiator_w(&warmth, 365.0, 300.0), 13e3, 1e-14);
  check_relative(warmth_radiator_w(&warmth, 362.5, 300.0), 3906.25, 1e-14);
  check_close(warmth_radiator_w(&warmth, 359.9, 300.0), 0.0, 0.0);
  check_relative(warmth_radiator_w(&warmth, 380.0, 300.0), 32e3, 1e-14);
}

/* Coolant 350, oil 330, air 300: (5000 - 12*50 - 40*20)/40000 = 0.09 K/s; oil (300 + 40*20 - 4*30)/8000 =
 * 0.1225 K/s. */
static void rates(void **state) {
  (void)state;
  check_relative(warmth_coolant_rate_k_s(&warmth, 5000.0, 350.0, 330.0, 300.0), 0.09, 1e-13);
  check_relative(warmth_oil_rate_k_s(&warmth, 300.0, 350.0, 330.0, 300.0), 0.1225, 1e-13);
  check_close(warmth_coolant_rate_k_s(&warmth, 0.0, 300.0, 300.0, 300.0), 0.0, 0.0);
  check_close(warmth_oil_rate_k_s(&warmth, 0.0, 300.0, 300.0, 300.0), 0.0, 0.0);
}

/* What one lump gives the other takes: stored = wall heat + friction - radiator - losses to the air. */
static void balance(void **state) {
  (void)state;
  for (double coolant = 260.0; coolant < 390.0; coolant += 9.0)
    for (double oil = 250.0; oil < 410.0; oil += 11.0) {
      const double stored = 40e3 * warmth_coolant_rate_k_s(&warmth, 4000.0, coolant, oil, 290.0) +
                            8e3 * warmth_oil_rate_k_s(&warmth, 700.0, coolant, oil, 290.0);
      const double out = warmth_radiator_w(&warmth, coolant, 290.0) + 12.0 * (coolant - 290.0) + 4.0 * (oil - 290.0);
      check_close_at(coolant, stored, 4700.0 - out, 1e-8);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(radiator), cmocka_unit_test(rates), cmocka_unit_test(balance)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
