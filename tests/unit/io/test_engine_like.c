/* Engine files that say only what differs from another, and the writer of such files. Truth: the values that stand in the files; an
 * engine read back must be the one that was written, bit for bit (its digest). */
#include "base/attributes.h"
#include "base/units.h"
#include "car/setting.h"
#include "io/config/engine_file.h"
#include "io/config/engine_file_write.h"
#include "io/config/file_kind.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MODEL "models/four-16.cfg" // tests run at the root of the sources
#define CABLE "models/four-18-cable.cfg"

static struct error error;
static struct engine engine, model;
static char folder[] = "/tmp/bladegap-like-XXXXXX";

static int begin(void **state) {
  (void)state;
  error_clear(&error);
  return mkdtemp(folder) && engine_file_read(MODEL, &model, &error) == STATUS_OK ? 0 : -1;
}

static const char *path_of(const char *name) {
  static char paths[4][100];
  static int next;
  next = (next + 1) % 4;
  snprintf(paths[next], sizeof paths[next], "%s/%s", folder, name);
  return paths[next];
}

static int end(void **state) {
  (void)state;
  static const char *const names[] = {"a.cfg", "b.cfg", "c.cfg", "own.cfg"};
  for (size_t i = 0; i < ARRAY_COUNT(names); i++) unlink(path_of(names[i]));
  return rmdir(folder);
}

static void write_text(const char *name, const char *text) {
  FILE *file = fopen(path_of(name), "w");
  assert_non_null(file);
  fputs(text, file);
  assert_int_equal(fclose(file), 0);
}

static void reads(const char *name) {
  error_clear(&error);
  if (engine_file_read(path_of(name), &engine, &error) != STATUS_OK) fail_msg("%s", error.text);
}

/* Refused, with one line that ends so. */
static void refuses(const char *name, const char *text, const char *wanted) {
  char line[1000];
  write_text(name, text);
  error_clear(&error);
  assert_int_equal(engine_file_read(path_of(name), &engine, &error), STATUS_BAD_CONFIG);
  snprintf(line, sizeof line, "%s:%s", path_of(name), wanted);
  if (strcmp(error.text, line) != 0) fail_msg("\n'%s' and not\n'%s'", error.text, line);
}

static void only_what_differs(void **state) {
  (void)state;
  write_text("a.cfg", "like = \"four-16\"; // a shipped one\nfriction = { constant_bar = 0.5; }; // sd 0.03: an opinion\n");
  reads("a.cfg");
  assert_string_equal(engine.name, "a");
  assert_string_equal(engine.title, "a, like four-16"); // not the title of an engine that it is not
  check_relative(engine.plant.friction.constant_pa, 0.5e5, 1e-14);
  engine.plant.friction.constant_pa = model.plant.friction.constant_pa;
  assert_true(engine_digest(&engine) == engine_digest(&model)); // all else is as in the other
}

static void nothing_differs(void **state) {
  (void)state;
  write_text("a.cfg", "like = \"four-18-cable\"; title = \"mine\";\n");
  reads("a.cfg");
  assert_string_equal(engine.title, "mine");
  struct engine cable;
  assert_int_equal(engine_file_read(CABLE, &cable, &error), STATUS_OK);
  assert_true(engine_digest(&engine) == engine_digest(&cable));
  enum file_kind kind;
  assert_int_equal(file_kind_check(path_of("a.cfg"), &kind, &error), STATUS_OK);
  assert_int_equal(kind, FILE_KIND_ENGINE);
}

/* a is like b, which stands beside it, which is like a shipped one. Factors act on what the engine named has. */
static void chains_and_factors(void **state) {
  (void)state;
  write_text("b.cfg",
             "like = \"four-16\";\nfriction = { constant_bar = 0.5; };\nscale: { friction: { per_krpm_bar = 2.0; }; };\n");
  write_text("a.cfg",
             "like = \"b\";\nscale: { friction: { constant_bar = 1.1; };\n throttle: { discharge_by_opening_deg = 0.9; }; };\n");
  reads("a.cfg");
  assert_string_equal(engine.title, "a, like b");
  check_relative(engine.plant.friction.constant_pa, 0.55e5, 1e-14);
  check_relative(engine.plant.friction.per_krpm_pa, 2.0 * model.plant.friction.per_krpm_pa, 1e-12);
  for (size_t i = 0; i < model.plant.throttle.discharge.count; i++)
    check_relative(engine.plant.throttle.discharge.y[i], 0.9 * model.plant.throttle.discharge.y[i], 1e-12);
  write_text("a.cfg", "like = \"./b.cfg\";\n"); // by its path
  reads("a.cfg");
  check_relative(engine.plant.friction.constant_pa, 0.5e5, 1e-14);
}

/* A factor in a file and --scale come to the same, bit for bit. */
static void the_same_as_the_option(void **state) {
  (void)state;
  static const char *const words[] = {"friction.constant_bar=1.17", "discharge_by_opening_deg=0.93", "closed_deg=0.987"};
  struct engine by_option = model;
  struct setting setting;
  for (size_t i = 0; i < ARRAY_COUNT(words); i++)
    assert_int_equal(setting_scale_text("scale", words[i], &setting, &by_option, &error), STATUS_OK);
  write_text("a.cfg", "like = \"four-16\";\nscale: { friction: { constant_bar = 1.17; };\n"
                      "throttle: { discharge_by_opening_deg = 0.93; closed_deg = 0.987; }; };\n");
  reads("a.cfg");
  assert_true(engine_digest(&engine) == engine_digest(&by_option));
}

static void circles(void **state) {
  (void)state;
  refuses("a.cfg", "\nlike = \"a\";",
          "2: key 'like' names this file itself: name another engine, or leave the key out and give every value");
  write_text("a.cfg", "like = \"b\";");
  write_text("b.cfg", "// b\nlike = \"c.cfg\";");
  write_text("c.cfg", "\n\nlike = \"a\";");
  error_clear(&error);
  assert_int_equal(engine_file_read(path_of("a.cfg"), &engine, &error), STATUS_BAD_CONFIG);
  assert_int_equal(error.line_count, 3);
  if (!strstr(error.text, "c.cfg:3: key 'like' leads in a circle: a is like b, like c, like a\n")) fail_msg("%s", error.text);
  if (!strstr(error.text, "b.cfg:2: key 'like' names ")) fail_msg("%s", error.text);
}

static void no_such_engine(void **state) {
  (void)state;
  char wanted[300];
  snprintf(wanted, sizeof wanted,
           "1: key 'like' names for-16, which is not a shipped engine (bladegap list engines shows them), and %s/for-16.cfg is "
           "not there; did you mean four-16?",
           folder);
  refuses("a.cfg", "like = \"for-16\";", wanted);
  snprintf(wanted, sizeof wanted,
           "1: key 'like' names ./bb.cfg, which cannot be read: No such file or directory; did you mean %s/./b.cfg?", folder);
  write_text("b.cfg", "like = \"four-16\";");
  refuses("a.cfg", "like = \"./bb.cfg\";", wanted);
}

static void faults(void **state) {
  (void)state;
#define LIKE "like = \"four-16\";\n"
  refuses("a.cfg", "like = 3;", "1: key 'like' must be text in quotation marks, found the whole number 3");
  refuses("a.cfg", LIKE "frction = { constant_bar = 0.5; };", "2: key 'frction' is unknown; did you mean 'friction'?");
  refuses("a.cfg", LIKE "friction = { constant_bra = 0.5; };",
          "2: key 'friction.constant_bra' is unknown; did you mean 'constant_bar'?");
  refuses("a.cfg", LIKE "friction = { constant_bar = 50.0; };", "2: key 'friction.constant_bar' is 50; allowed: 0.1 to 3");
  refuses("a.cfg", LIKE "scale: { friction: { constnt_bar = 1.1; }; };",
          "2: key 'friction.constnt_bar' is unknown; did you mean 'constant_bar'?");
  refuses("a.cfg", LIKE "scale: { frction: { constant_bar = 1.1; }; };",
          "2: key 'scale.frction' is unknown; did you mean 'friction'?");
  refuses("a.cfg", LIKE "scale: { friction: { constant_bar = 101; }; };",
          "2: key 'friction.constant_bar' has the factor 101; allowed: 0.01 to 100");
  refuses("a.cfg", LIKE "scale: { friction: { constant_bar = \"x\"; }; };",
          "2: key 'friction.constant_bar' must be a number, found the text \"x\"");
  refuses("a.cfg", LIKE "scale: {\n throttle: { discharge_by_opening_deg = 1.2; }; };",
          "3: key 'throttle.discharge_by_opening_deg' times 1.2 is 1.08 at point 5; allowed: 0.3 to 1");
  refuses("a.cfg", LIKE "friction = { constant_bar = 0.5; };\nscale: { friction: { constant_bar = 1.1; }; };",
          "3: key 'friction.constant_bar' has a value of its own in line 2: give a value or a factor, not both");
  refuses("a.cfg", LIKE "scale = 1.1;", "2: key 'scale' must be a group { ... }, found the number 1.1");
}

/* What contradicts a value of the other engine is told at the line that stands here. */
static void contradictions(void **state) {
  (void)state;
  refuses("a.cfg", LIKE "warmth = { thermostat_opens_c = 97.0; };",
          "2: key 'warmth.thermostat_opens_c' is 97; it must be below 'warmth.thermostat_open_c', which is 96: it opens as the "
          "coolant warms up");
  refuses("a.cfg", LIKE "warmth = { thermostat_open_c = 80.0; };",
          "2: with this, key 'warmth.thermostat_opens_c' of the engine named by like is 86; it must be below "
          "'warmth.thermostat_open_c', which is 80: it opens as the coolant warms up");
  refuses("a.cfg", LIKE "\nscale: { loads: { alternator_fade_low_rpm = 2.5; }; };",
          "3: key 'loads.alternator_fade_low_rpm' is 875; it must be below 'loads.alternator_fade_high_rpm', which is 720: the "
          "alternator's output rises between the two");
  refuses("a.cfg", LIKE "throttle = { rest_opening_deg = 1.0; };",
          "2: key 'throttle.rest_opening_deg' is for a cable throttle; with 'throttle.kind' \"electronic\" it must be 0");
}

/* Every key that differs is written so that it reads back equal. */
static void written_and_read_back(void **state) {
  (void)state;
  static const char *const words[] = {"friction.constant_bar=0.4837261",
                                      "bank_count=2",
                                      "metering=pressure",
                                      "discharge_by_opening_deg=0:0.61,5:0.7123,83:0.9",
                                      "scatter.friction_pct=2.345",
                                      "warmth.thermostat_opens_c=85.3",
                                      "drive.inertia_kg_m2=1.25e-05"};
  struct engine changed = model;
  struct conditions unused;
  conditions_init(&unused);
  for (size_t i = 0; i < ARRAY_COUNT(words); i++) {
    error_clear(&error);
    if (setting_apply_text("set", words[i], &changed, &unused, &error) != STATUS_OK) fail_msg("%s", error.text);
  }
  snprintf(changed.title, sizeof changed.title, "a \"quoted\" \\ title");
  const struct engine_file_form form = {.like = "four-16", .heading = "made\nby a test", .base = &model};
  assert_int_equal(engine_file_write(path_of("own.cfg"), &form, &changed, &error), STATUS_OK);
  reads("own.cfg");
  assert_true(engine_digest(&engine) == engine_digest(&changed));
  assert_true(engine_digest(&engine) != engine_digest(&model));
  assert_string_equal(engine.title, changed.title);
}

/* Any engine over any other of its kind of throttle: every key of every kind. */
static void one_shipped_engine_over_another(void **state) {
  (void)state;
  struct engine three;
  assert_int_equal(engine_file_read("models/three-10.cfg", &three, &error), STATUS_OK);
  const struct engine_file_form form = {.like = "four-16", .base = &model};
  assert_int_equal(engine_file_write(path_of("own.cfg"), &form, &three, &error), STATUS_OK);
  reads("own.cfg");
  assert_true(engine_digest(&engine) == engine_digest(&three));
}

/* Deviations that hang together, written and read; and what cannot be. */
static void ties(void **state) {
  (void)state;
  struct engine tied = model;
  tied.scatter.of_models = true;
  tied.scatter.ties[scatter_tie(SCATTER_friction_pct, SCATTER_efficiency_pct)] = 0.5F;
  tied.scatter.ties[scatter_tie(SCATTER_track_pct, SCATTER_closed_deg)] = -0.25F;
  const struct engine_file_form form = {.like = "four-16", .base = &model};
  assert_int_equal(engine_file_write(path_of("own.cfg"), &form, &tied, &error), STATUS_OK);
  reads("own.cfg");
  assert_true(engine.scatter.of_models);
  assert_true(engine_digest(&engine) == engine_digest(&tied));
  assert_true(engine_digest(&engine) != engine_digest(&model));
  refuses("a.cfg", "like = \"four-16\";\nties = ((\"friction_pct\", \"filing_pct\", 0.5));\n",
          "2: key 'ties' must be a key of the group 'scatter'; bladegap list parameters shows them");
  refuses("a.cfg", "like = \"four-16\";\nties = ((\"friction_pct\", \"filling_pct\", 1.5));\n",
          "2: key 'ties' a correlation is a number from -1 to 1");
  refuses("a.cfg", "like = \"four-16\";\nties = ((\"friction_pct\", \"friction_pct\", 0.5));\n",
          "2: key 'ties' a deviation cannot be tied to itself");
  refuses("a.cfg",
          "like = \"four-16\";\nties = ((\"friction_pct\", \"filling_pct\", 0.9), (\"friction_pct\", \"track_pct\", 0.9),\n"
          "        (\"filling_pct\", \"track_pct\", -0.9));\n",
          "2: key 'ties' contradict each other: no car can have such correlations");
  refuses("a.cfg", "like = \"four-16\";\ndeviations_of = \"people\";\n",
          "2: key 'deviations_of' must be \"models\", each with a computer of its own, or \"cars\" of one model");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(only_what_differs),
      cmocka_unit_test(nothing_differs),
      cmocka_unit_test(chains_and_factors),
      cmocka_unit_test(the_same_as_the_option),
      cmocka_unit_test(circles),
      cmocka_unit_test(no_such_engine),
      cmocka_unit_test(faults),
      cmocka_unit_test(contradictions),
      cmocka_unit_test(written_and_read_back),
      cmocka_unit_test(one_shipped_engine_over_another),
      cmocka_unit_test(ties),
  };
  return cmocka_run_group_tests(tests, begin, end);
}
