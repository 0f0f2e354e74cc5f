/* The engines inside the library. Truth: the files of models/, read as the program reads them. */
#include "car/engine_pack.h"
#include "io/config/engine_file.h"
#include "library/bladegap_engine.h"
#include "library/shipped.h"
#include "support/check.h"

#include <glob.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t size_of(const struct field *field) {
  switch (field->kind) {
  case FIELD_REAL:
  case FIELD_SWITCH:
    return sizeof(double);
  case FIELD_COUNT:
  case FIELD_CHOICE:
    return sizeof(int);
  case FIELD_CURVE:
    return sizeof(struct curve);
  }
  fail();
  return 0;
}

/* Every field of every group, bit by bit. */
static void assert_same(const struct engine *a, const struct engine *b) {
  assert_string_equal(a->name, b->name);
  assert_string_equal(a->title, b->title);
  assert_null(a->calibrated_on);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      for (size_t k = 0; k < group->count; k++) {
        const size_t at = engine_parts[i].base + group->base + group->fields[k].offset;
        if (memcmp((const char *)a + at, (const char *)b + at, size_of(&group->fields[k])) != 0)
          fail_msg("%s: %s.%s differs", a->name, group->name, group->fields[k].key);
      }
    }
}

static void every_engine_is_inside_as_its_file_has_it(void **state) {
  (void)state;
  glob_t files;
  assert_int_equal(glob("models/*.cfg", 0, NULL, &files), 0);
  assert_int_equal(files.gl_pathc, shipped_engine_count);
  for (size_t i = 0; i < files.gl_pathc; i++) {
    static struct engine read;
    struct error error;
    error_clear(&error);
    assert_int_equal(engine_file_read(files.gl_pathv[i], &read, &error), STATUS_OK);
    char text[BLADEGAP_ERROR_SIZE];
    bladegap_engine *shipped = bladegap_engine_shipped(read.name, text, sizeof text);
    assert_non_null(shipped);
    assert_same(&read, &shipped->engine);
    bladegap_engine_destroy(shipped);
  }
  globfree(&files);
}

/* Numbers that are not an engine's are refused and never reach past what there is; the sanitizers watch. */
static void numbers_of_no_engine_are_refused(void **state) {
  (void)state;
  static struct engine engine;
  const struct shipped_engine *shipped = &shipped_engines[0];
  assert_true(shipped->number_count <= engine_pack_size());
  double *numbers = calloc(shipped->number_count + 1, sizeof *numbers);
  assert_non_null(numbers);
  for (size_t count = 0; count <= shipped->number_count + 1; count++) {
    double *cut = malloc((count ? count : 1) * sizeof *cut);
    assert_non_null(cut);
    memcpy(numbers, shipped->numbers, shipped->number_count * sizeof *numbers);
    memcpy(cut, numbers, count * sizeof *cut);
    assert_int_equal(engine_pack_undo(cut, count, &engine), count == shipped->number_count);
    free(cut);
  }
  static const double wrong[] = {NAN, INFINITY, -1e300, 1e300, 0.5, -1.0};
  for (size_t i = 0; i < shipped->number_count; i++)
    for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
      memcpy(numbers, shipped->numbers, shipped->number_count * sizeof *numbers);
      numbers[i] = wrong[k];
      const bool taken = engine_pack_undo(numbers, shipped->number_count, &engine);
      assert_false(taken && !isfinite(wrong[k]));
    }
  free(numbers);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_engine_is_inside_as_its_file_has_it),
      cmocka_unit_test(numbers_of_no_engine_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
