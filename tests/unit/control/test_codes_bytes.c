/* monitors_code_bytes: two bytes of a code on the wire. Truth: the published form, top two bits 00 for P, two bits for
 * the first digit, a hex nibble for each other (docs/readings.md); for P codes that is the four digits read as hex. */
#include "control/monitors.h"
#include "support/check.h"

#include <stdlib.h>

static void test_by_hand(void **unused) {
  (void)unused;
  assert_int_equal(monitors_code_bytes("P0506"), 0x0506);
  assert_int_equal(monitors_code_bytes("P2135"), 0x2135);
  assert_int_equal(monitors_code_bytes("P050A"), 0x050A);
  assert_int_equal(monitors_code_bytes("P3FFF"), 0x3FFF);
  assert_int_equal(monitors_code_bytes("C0300"), 0x4300);
  assert_int_equal(monitors_code_bytes("B1200"), 0x9200);
  assert_int_equal(monitors_code_bytes("U0100"), 0xC100);
}

static void test_all_rows(void **unused) {
  (void)unused;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const long digits = strtol(monitor_rows[i].code + 1, NULL, 16);
    assert_int_equal(monitors_code_bytes(monitor_rows[i].code), digits);
    if (i) assert_true(digits > strtol(monitor_rows[i - 1].code + 1, NULL, 16)); // each once, in order
  }
}

static void test_no_code(void **unused) {
  (void)unused;
  static const char *const wrong[] = {"", "P", "P050", "P05066", "X0506", "P4506", "P0G06", "0506", "P-506"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) assert_int_equal(monitors_code_bytes(wrong[i]), -1);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_by_hand), cmocka_unit_test(test_all_rows),
                                     cmocka_unit_test(test_no_code)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
