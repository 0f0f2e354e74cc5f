/* JSON results. Truth: RFC 8259's grammar, written out by hand for each document. */
#include "io/format/json.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

/* Prints into memory and compares with the blanks taken out. */
static void prints(struct json *json, const char *expected) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  struct error error;
  error_clear(&error);
  assert_int_equal(json_print(json, stream, &error), STATUS_OK);
  fclose(stream);
  json_destroy(json);
  char *to = text;
  for (const char *from = text; *from; from++)
    if (*from != ' ' && *from != '\n') *to++ = *from;
  *to = '\0';
  assert_string_equal(text, expected);
  free(text);
}

static void empty_object(void **state) {
  (void)state;
  prints(json_create(), "{}");
}

static void every_kind(void **state) {
  (void)state;
  struct json *json = json_create();
  json_put_text(json, "a", "x");
  json_put_count(json, "b", -3);
  json_put_flag(json, "c", true);
  json_put_null(json, "d");
  json_open_array(json, "e");
  json_put_real(json, NULL, 1.25, 2);
  json_open_object(json, NULL);
  json_put_text(json, "f", "");
  json_close(json);
  json_close(json);
  json_put_flag(json, "g", false);
  prints(json, "{\"a\":\"x\",\"b\":-3,\"c\":true,\"d\":null,\"e\":[1.25,{\"f\":\"\"}],\"g\":false}");
}

static void numbers_have_the_digits_asked_for(void **state) {
  (void)state;
  struct json *json = json_create();
  json_open_array(json, "n");
  json_put_real(json, NULL, 0.1, 3);
  json_put_real(json, NULL, 849.99999, 1);
  json_put_real(json, NULL, 2.0 / 3.0, 4);
  json_put_real(json, NULL, -0.0001, 2);
  json_put_real(json, NULL, (double)NAN, 2);
  json_put_real(json, NULL, (double)INFINITY, 2);
  prints(json, "{\"n\":[0.1,850.0,0.6667,0.0,null,null]}");
}

static void text_is_escaped_and_made_utf_8(void **state) {
  (void)state;
  struct json *json = json_create();
  json_put_text(json, "quote", "\"\\\n");
  json_put_text(json, "degree", "\xc2\xb0");
  json_put_text(json, "broken",
                "a\xff"
                "b");
  prints(json, "{\"quote\":\"\\\"\\\\\\n\",\"degree\":\"\xc2\xb0\",\"broken\":\"a?b\"}");
}

static void no_memory_is_told(void **state) {
  (void)state;
  struct error error;
  error_clear(&error);
  json_open_array(NULL, "a"); // what follows a failed json_create
  json_put_count(NULL, NULL, 1);
  json_close(NULL);
  assert_int_equal(json_print(NULL, stdout, &error), STATUS_NO_MEMORY);
  json_destroy(NULL);
}

static void full_disk_is_told(void **state) {
  (void)state;
  FILE *full = fopen("/dev/full", "w");
  assert_non_null(full);
  setvbuf(full, NULL, _IONBF, 0);
  struct json *json = json_create();
  struct error error;
  error_clear(&error);
  assert_int_equal(json_print(json, full, &error), STATUS_IO);
  assert_non_null(strstr(error.text, "No space left"));
  json_destroy(json);
  fclose(full);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(empty_object),
      cmocka_unit_test(every_kind),
      cmocka_unit_test(numbers_have_the_digits_asked_for),
      cmocka_unit_test(text_is_escaped_and_made_utf_8),
      cmocka_unit_test(no_memory_is_told),
      cmocka_unit_test(full_disk_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
