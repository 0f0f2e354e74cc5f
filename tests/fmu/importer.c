/* A small importer of FMI units by dlopen, for either version: importer VERSION FOLDER ENGINE, FOLDER being an unpacked unit.
 *
 * It shares no declaration with the unit: types and calls stand here once more, from the text of FMI 2.0.4 and 3.0.2. References come from the
 * unit's own modelDescription.xml.
 *
 * Truth: the same actions at the same moments through libbladegap, whose runs tests/unit/library hold against the program's: every output, the same
 * bits; and the standard's text on what is refused. */
#include "library/bladegap.h"

#include <dlfcn.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OK = 0, DISCARD = 2, ERROR = 3, OUTPUTS_MOST = 200, NAME_SIZE = 96 };

static int faults, told;
static void fault(const char *format, ...) {
  va_list list;
  va_start(list, format);
  vfprintf(stderr, format, list);
  va_end(list);
  fputc('\n', stderr);
  if (++faults > 20) exit(1);
}
#define WANT(condition, ...) ((condition) ? (void)0 : fault(__VA_ARGS__))

/* ---- The calls, by name ---- */

static void *object;
static int version;

static void *call(const char *name) {
  char full[64];
  snprintf(full, sizeof full, "fmi%d%s", version, name);
  void *found = dlsym(object, full);
  if (!found) fault("%s is not exported", full), exit(1);
  return found;
}
#define CALL(type, name) \
  (((union { \
     void *object; \
     type function; \
   }){call(name)}) \
       .function)

struct callbacks2 {
  void (*logger)(void *, const char *, int, const char *, const char *, ...);
  void *(*allocate)(size_t, size_t);
  void (*release)(void *);
  void (*finished)(void *, int);
  void *environment;
};
static void log2_(void *environment, const char *instance, int status, const char *category, const char *message, ...) {
  (void)environment, (void)instance, (void)status, (void)category, (void)message;
  told++;
}
static void log3_(void *environment, int status, const char *category, const char *message) {
  (void)environment, (void)status, (void)category, (void)message;
  told++;
}

typedef void *(*instantiate2)(const char *, int, const char *, const char *, const struct callbacks2 *, int, int);
typedef void *(*instantiate3)(const char *, const char *, const char *, bool, bool, bool, bool, const uint32_t *, size_t, void *,
                              void (*)(void *, int, const char *, const char *), void *);
typedef const char *(*words)(void);
typedef int (*plain)(void *);
typedef void (*release)(void *);
typedef int (*setup2)(void *, int, double, double, int, double);
typedef int (*enter3)(void *, bool, double, double, bool, double);
typedef int (*get2)(void *, const uint32_t *, size_t, void *);
typedef int (*get3)(void *, const uint32_t *, size_t, void *, size_t);
typedef int (*step2)(void *, double, double, int);
typedef int (*step3)(void *, double, double, bool, bool *, bool *, bool *, double *);
typedef int (*state_call)(void *, void **);
typedef int (*state_put)(void *, void *);
typedef int (*state_size)(void *, void *, size_t *);
typedef int (*state_bytes)(void *, void *, char *, size_t);
typedef int (*state_read)(void *, const char *, size_t, void **);

static void *instantiate(const char *token, const char *resources) {
  static const struct callbacks2 callbacks = {log2_, calloc, free, NULL, NULL};
  if (version == 2) return CALL(instantiate2, "Instantiate")("one", 1, token, resources, &callbacks, 0, 0);
  return CALL(instantiate3, "InstantiateCoSimulation")("one", token, resources, false, false, false, false, NULL, 0, NULL, log3_,
                                                       NULL);
}

static int get(void *c, const char *type, uint32_t reference, void *value) {
  char name[32];
  snprintf(name, sizeof name, "Get%s", type);
  return version == 2 ? CALL(get2, name)(c, &reference, 1, value) : CALL(get3, name)(c, &reference, 1, value, 1);
}
static int set(void *c, const char *type, uint32_t reference, void *value) {
  char name[32];
  snprintf(name, sizeof name, "Set%s", type);
  return version == 2 ? CALL(get2, name)(c, &reference, 1, value) : CALL(get3, name)(c, &reference, 1, value, 1);
}

static int step(void *c, double now, double size) {
  bool event, terminate, early;
  double last = NAN;
  if (version == 2) return CALL(step2, "DoStep")(c, now, size, 1);
  const int status = CALL(step3, "DoStep")(c, now, size, true, &event, &terminate, &early, &last);
  WANT(!event && !terminate && !early, "a step asks for more than the description says");
  WANT(status != OK || fabs(last - now - size) < 1e-9, "a step of %g s from %g s ends at %g s", size, now, last);
  return status;
}

static void begin(void *c) {
  if (version == 2) {
    WANT(CALL(setup2, "SetupExperiment")(c, 0, 0.0, 0.0, 0, 0.0) == OK, "SetupExperiment");
    WANT(CALL(plain, "EnterInitializationMode")(c) == OK, "EnterInitializationMode");
  } else {
    WANT(CALL(enter3, "EnterInitializationMode")(c, false, 0.0, 0.0, false, 0.0) == OK, "EnterInitializationMode");
  }
  WANT(CALL(plain, "ExitInitializationMode")(c) == OK, "ExitInitializationMode");
}

/* ---- The description ---- */

static char *description, token[NAME_SIZE];

static void attribute(const char *element, const char *name, char *text, size_t size) {
  char key[NAME_SIZE];
  snprintf(key, sizeof key, " %s=\"", name);
  const char *end = strchr(element, '>'), *at = strstr(element, key);
  text[0] = '\0';
  if (!at || at > end) return;
  at += strlen(key);
  snprintf(text, size, "%.*s", (int)strcspn(at, "\""), at);
}

static uint32_t reference_of(const char *name) {
  char key[NAME_SIZE + 16], text[NAME_SIZE];
  snprintf(key, sizeof key, " name=\"%s\" valueReference", name);
  const char *at = strstr(description, key);
  if (!at) fault("there is no variable %s", name), exit(1);
  attribute(at, "valueReference", text, sizeof text);
  return (uint32_t)strtoul(text, NULL, 10);
}

struct output {
  char name[NAME_SIZE];
  uint32_t reference;
};
static struct output outputs[OUTPUTS_MOST]; // real ones
static size_t output_count;

static void find_outputs(void) {
  for (const char *at = description; (at = strstr(at, "causality=\"output\" variability=\"continuous\"")) != NULL; at++) {
    const char *begin_at = at;
    while (*begin_at != '<') begin_at--;
    char text[NAME_SIZE];
    attribute(begin_at, "name", outputs[output_count].name, NAME_SIZE);
    attribute(begin_at, "valueReference", text, sizeof text);
    outputs[output_count++].reference = (uint32_t)strtoul(text, NULL, 10);
  }
}

static void read_description(const char *folder) {
  char path[4096];
  snprintf(path, sizeof path, "%s/modelDescription.xml", folder);
  FILE *file = fopen(path, "rb");
  if (!file) fault("%s is missing", path), exit(1);
  description = calloc(1, 1 << 20);
  const size_t size = fread(description, 1, (1 << 20) - 1, file);
  fclose(file);
  description[size] = '\0';
  attribute(strstr(description, "<fmiModelDescription"), version == 2 ? "guid" : "instantiationToken", token, sizeof token);
  find_outputs();
}

/* ---- The same actions, here and there ---- */

static const char *engine_name;
static char error[BLADEGAP_ERROR_SIZE];

struct action {
  double at_s;
  const char *name; // a condition, or a key's word behind "key "
  double value;
};
static const struct action actions[] = {
    {0.0, "film_um", 25.0},   {5.0, "film_um", 40.0},      {12.0, "electrical_load_w", 900.0},
    {20.0, "pedal_pct", 6.0}, {24.0, "pedal_pct", 0.0},    {30.0, "leak_mm2", 5.0},
    {36.0, "leak_mm2", 0.0},  {40.0, "altitude_m", 900.0}, {46.0, "key", 0.0},
    {52.0, "key", 1.0},       {53.0, "key", 2.0},          {70.0, "film_um", 0.0},
    {75.0, "key", 0.0},
};
enum { ACTION_COUNT = sizeof actions / sizeof actions[0], STEPS = 800 };
static const double step_s = 0.1;

static void act_here(bladegap_run *run, const struct action *action) {
  static const char *const keys[] = {"off", "on", "start"};
  const bool key = strcmp(action->name, "key") == 0;
  if ((key ? bladegap_run_key(run, keys[(int)action->value], error, sizeof error)
           : bladegap_run_set(run, action->name, action->value, 0.0, error, sizeof error)) != 0)
    fault("%s", error);
}

static void act_there(void *c, const struct action *action) {
  char name[NAME_SIZE];
  snprintf(name, sizeof name, "set.%s", action->name);
  if (strcmp(action->name, "key") == 0) {
    int32_t key = (int32_t)action->value;
    WANT(set(c, version == 2 ? "Integer" : "Int32", reference_of(name), &key) == OK, "key %d", key);
  } else {
    double value = action->value;
    WANT(set(c, version == 2 ? "Real" : "Float64", reference_of(name), &value) == OK, "%s = %g", name, value);
  }
}

static void look(void *c, double values[OUTPUTS_MOST]) {
  for (size_t i = 0; i < output_count; i++)
    WANT(get(c, version == 2 ? "Real" : "Float64", outputs[i].reference, &values[i]) == OK, "%s cannot be had", outputs[i].name);
}

static bool same(double a, double b) { return memcmp(&a, &b, sizeof a) == 0; }

static double truth[STEPS + 1][OUTPUTS_MOST];

static void compute_truth(void) {
  bladegap_engine *engine = bladegap_engine_shipped(engine_name, error, sizeof error);
  if (!engine) fault("%s", error), exit(1);
  WANT(bladegap_engine_set(engine, "intake_c", 30.0, error, sizeof error) == 0, "%s", error);
  bladegap_run *run = bladegap_run_create(engine, "settled", 1, error, sizeof error);
  if (!run) fault("%s", error), exit(1);
  for (int i = 0, next = 0; i <= STEPS; i++) {
    for (; next < ACTION_COUNT && actions[next].at_s <= i * step_s + 1e-9; next++) act_here(run, &actions[next]);
    for (size_t k = 0; k < output_count; k++)
      WANT(bladegap_run_value(run, outputs[k].name, &truth[i][k], error, sizeof error) == 0, "%s", error);
    WANT(bladegap_run_step(run, 10, error, sizeof error) == 0, "%s", error);
  }
  bladegap_run_destroy(run);
  bladegap_engine_destroy(engine);
}

/* Steps from one to another, looking (or not) before and after each action; compares. */
static void go(void *c, int from, int to, bool early, const char *what) {
  static double values[OUTPUTS_MOST];
  int next = 0;
  while (next < ACTION_COUNT && actions[next].at_s < from * step_s - 1e-9) next++;
  for (int i = from; i < to; i++) {
    if (early) look(c, values); // what is set afterwards acts at this moment all the same
    for (; next < ACTION_COUNT && actions[next].at_s <= i * step_s + 1e-9; next++) act_there(c, &actions[next]);
    look(c, values);
    for (size_t k = 0; k < output_count; k++)
      if (!same(values[k], truth[i][k]))
        fault("%s, %g s: %s is %.17g, the library has %.17g", what, i * step_s, outputs[k].name, values[k], truth[i][k]);
    WANT(step(c, i * step_s, step_s) == OK, "%s: the step from %g s", what, i * step_s);
  }
}

static void *fresh(const char *resources) {
  void *c = instantiate(token, resources);
  if (!c) fault("there is no instance"), exit(1);
  double warm = 30.0;
  WANT(set(c, version == 2 ? "Real" : "Float64", reference_of("set.intake_c"), &warm) == OK, "intake_c before it begins");
  begin(c);
  return c;
}

/* ---- What is tried ---- */

static void states(const char *resources) {
  void *c = fresh(resources), *state = NULL;
  go(c, 0, 300, false, "before a state");
  WANT(CALL(state_call, version == 2 ? "GetFMUstate" : "GetFMUState")(c, &state) == OK, "no state");
  go(c, 300, 500, false, "after a state");
  WANT(CALL(state_put, version == 2 ? "SetFMUstate" : "SetFMUState")(c, state) == OK, "cannot go back");
  go(c, 300, 400, true, "gone back");
  size_t size = 0;
  WANT(CALL(state_size, version == 2 ? "SerializedFMUstateSize" : "SerializedFMUStateSize")(c, state, &size) == OK && size > 1000,
       "no size");
  char *bytes = malloc(size);
  WANT(CALL(state_bytes, version == 2 ? "SerializeFMUstate" : "SerializeFMUState")(c, state, bytes, size) == OK, "no bytes");
  WANT(CALL(state_call, version == 2 ? "FreeFMUstate" : "FreeFMUState")(c, &state) == OK && !state, "the state is not freed");
  CALL(release, "FreeInstance")(c);
  void *other = instantiate(token, resources);
  WANT(CALL(state_read, version == 2 ? "DeSerializeFMUstate" : "DeserializeFMUState")(other, bytes, size, &state) == OK,
       "bytes are no state");
  WANT(CALL(state_put, version == 2 ? "SetFMUstate" : "SetFMUState")(other, state) == OK,
       "another instance does not take the state");
  go(other, 300, 800, false, "from bytes, in another instance");
  CALL(state_call, version == 2 ? "FreeFMUstate" : "FreeFMUState")(other, &state);
  bytes[size / 2] ^= 1;
  void *broken = NULL;
  const int read = CALL(state_read, version == 2 ? "DeSerializeFMUstate" : "DeserializeFMUState")(other, bytes, size, &broken);
  WANT(read != OK || CALL(state_put, version == 2 ? "SetFMUstate" : "SetFMUState")(other, broken) == ERROR,
       "a changed state is taken");
  CALL(state_call, version == 2 ? "FreeFMUstate" : "FreeFMUState")(other, &broken);
  CALL(release, "FreeInstance")(other);
  free(bytes);
}

static void several(const char *resources) {
  void *a = fresh(resources), *b = fresh(resources);
  for (int i = 0; i < 200; i += 20) {
    go(a, i, i + 20, true, "one of two");
    go(b, i, i + 20, false, "the other of two");
  }
  WANT(CALL(plain, "Terminate")(a) == OK && CALL(plain, "Reset")(a) == OK, "it cannot begin again");
  double warm = 30.0;
  set(a, version == 2 ? "Real" : "Float64", reference_of("set.intake_c"), &warm);
  begin(a);
  go(a, 0, 60, false, "after a reset");
  CALL(release, "FreeInstance")(a);
  CALL(release, "FreeInstance")(b);
}

static void refusals(const char *resources) {
  const char *real = version == 2 ? "Real" : "Float64";
  WANT(!instantiate("{another}", resources), "another token is taken");
  WANT(!instantiate(token, version == 2 ? "file:///nowhere" : "/nowhere"), "an instance without resources");
  WANT(told >= 2, "nobody was told why");
  void *c = fresh(resources);
  double value = 1e6, before, after;
  get(c, real, reference_of("speed_rpm"), &before);
  WANT(set(c, real, reference_of("set.film_um"), &value) == DISCARD, "a film of a metre is taken");
  WANT(set(c, real, reference_of("speed_rpm"), &value) == ERROR, "an output is set");
  WANT(set(c, real, reference_of("charge.displacement_l"), &value) == ERROR, "a parameter is set while it runs");
  WANT(set(c, real, 4000000u, &value) == ERROR, "a reference of nothing is set");
  WANT(get(c, real, reference_of("set.key"), &value) == ERROR, "an integer is read as a real number");
  WANT(step(c, 0.0, 0.015) == DISCARD, "a step of 15 ms is taken");
  WANT(step(c, 1.0, 0.01) == ERROR, "a step from another moment is taken");
  WANT(step(c, 0.0, 0.03) == OK, "a step of 30 ms is refused");
  WANT(get(c, real, reference_of("speed_rpm"), &after) == OK && isfinite(after), "no speed any more");
  CALL(release, "FreeInstance")(c);
}

/* Calls at a moment that the standard does not allow: an error that is told, and the unit goes on as if they had not been. */
static void out_of_order(const char *resources) {
  const char *real = version == 2 ? "Real" : "Float64";
  double value = 20.0;
  void *c = instantiate(token, resources);
  told = 0;
  WANT(CALL(plain, "ExitInitializationMode")(c) == ERROR, "initialization ends that has not begun");
  WANT(CALL(plain, "Terminate")(c) == ERROR, "a unit ends that has not begun");
  WANT(step(c, 0.0, 0.01) == ERROR, "a step before initialization");
  WANT(told >= 3, "nobody was told of calls out of order");
  WANT(set(c, real, reference_of("charge.displacement_l"), &value) == DISCARD, "an engine of 20 litres");
  value = 30.0; // as fresh() has it
  WANT(set(c, real, reference_of("set.intake_c"), &value) == OK, "intake_c before it begins");
  begin(c);
  WANT(CALL(plain, "ExitInitializationMode")(c) == ERROR, "initialization ends twice");
  if (version == 2) WANT(CALL(setup2, "SetupExperiment")(c, 0, 0.0, 0.0, 0, 0.0) == ERROR, "set up while it runs");
  go(c, 0, 20, false, "after calls out of order");
  WANT(CALL(plain, "Terminate")(c) == OK, "it does not end");
  WANT(step(c, 20 * step_s, 0.01) == ERROR, "a step after the end");
  WANT(set(c, real, reference_of("set.film_um"), &value) == ERROR, "an input is set after the end");
  CALL(release, "FreeInstance")(c);
  CALL(release, "FreeInstance")(NULL); // is allowed
  WANT(CALL(plain, "Reset")(NULL) == ERROR, "nothing is reset");
}

/* A stop time that was told is kept; one that is not after the start is refused. */
static void stop_times(const char *resources) {
  for (int i = 0; i < 2; i++) {
    void *c = instantiate(token, resources);
    const double stop_s = i == 0 ? 1.0 : 0.0;
    int status = version == 2 ? CALL(setup2, "SetupExperiment")(c, 0, 0.0, 0.0, 1, stop_s)
                              : CALL(enter3, "EnterInitializationMode")(c, false, 0.0, 0.0, true, stop_s);
    WANT(status == (i == 0 ? OK : ERROR), "a run from 0 s to %g s", stop_s);
    if (i == 0) {
      if (version == 2) WANT(CALL(plain, "EnterInitializationMode")(c) == OK, "EnterInitializationMode");
      WANT(CALL(plain, "ExitInitializationMode")(c) == OK, "ExitInitializationMode");
      WANT(step(c, 0.0, 1.0) == OK, "to the stop time");
      WANT(step(c, 1.0, 0.01) == ERROR, "beyond the stop time");
    }
    CALL(release, "FreeInstance")(c);
  }
}

/* States that are none, or that were altered. */
static void bad_states(const char *resources) {
  void *c = fresh(resources), *kept = NULL, *other = NULL;
  static char bytes[1 << 20];
  size_t size = 0;
  const char *const save = version == 2 ? "GetFMUstate" : "GetFMUState", *const restore =
                                                                             version == 2 ? "SetFMUstate" : "SetFMUState";
  const char *const measure = version == 2 ? "SerializedFMUstateSize" : "SerializedFMUStateSize";
  const char *const write = version == 2 ? "SerializeFMUstate" : "SerializeFMUState";
  const char *const read = version == 2 ? "DeSerializeFMUstate" : "DeserializeFMUState";
  WANT(CALL(state_put, restore)(c, NULL) == ERROR, "a state of nothing is taken");
  WANT(CALL(state_call, save)(c, NULL) == ERROR, "a state goes nowhere");
  go(c, 0, 5, false, "before a state");
  WANT(CALL(state_call, save)(c, &kept) == OK && kept, "no state");
  WANT(CALL(state_size, measure)(c, kept, &size) == OK && size > 0 && size <= sizeof bytes, "a state of %zu bytes", size);
  WANT(CALL(state_size, measure)(c, NULL, &size) == ERROR, "the size of nothing");
  WANT(CALL(state_bytes, write)(c, kept, bytes, 8) == ERROR, "a state in eight bytes");
  WANT(CALL(state_bytes, write)(c, kept, bytes, size) == OK, "a state is not written");
  bytes[size / 2] = (char)(bytes[size / 2] + 1);
  WANT(CALL(state_read, read)(c, bytes, size, &other) != OK || CALL(state_put, restore)(c, other) == ERROR,
       "an altered state is taken");
  WANT(CALL(state_read, read)(c, NULL, size, &other) == ERROR, "no bytes are read");
  go(c, 5, 10, false, "after states that are none");
  CALL(state_call, version == 2 ? "FreeFMUstate" : "FreeFMUState")(c, &kept);
  if (other) CALL(state_call, version == 2 ? "FreeFMUstate" : "FreeFMUState")(c, &other);
  WANT(!kept && !other, "a state is still there");
  CALL(release, "FreeInstance")(c);
}

/* What the unit has not: text, derivatives, steps that go on by themselves. Each is there to be called, and says no. */
static void not_had(const char *resources) {
  typedef int (*logging)(void *, int, size_t, const char *const *);
  typedef int (*logging3)(void *, bool, size_t, const char *const *);
  typedef int (*status_of)(void *, int, void *);
  typedef int (*strings)(void *, const uint32_t *, size_t, const char **);
  typedef int (*strings3)(void *, const uint32_t *, size_t, const char **, size_t);
  static const char *const categories[] = {"logAll"};
  void *c = fresh(resources);
  const uint32_t reference = reference_of("speed_rpm");
  const char *text = "";
  go(c, 0, 3, false, "before calls that say no");
  if (version == 2) {
    double reached = 0.0;
    int ended = 7;
    WANT(strcmp(CALL(words, "GetTypesPlatform")(), "default") == 0, "another platform");
    WANT(CALL(logging, "SetDebugLogging")(c, 1, 1, categories) == OK && CALL(logging, "SetDebugLogging")(c, 0, 0, NULL) == OK,
         "log");
    WANT(CALL(strings, "GetString")(c, &reference, 1, &text) == ERROR &&
             CALL(strings, "SetString")(c, &reference, 1, &text) == ERROR,
         "text");
    WANT(CALL(strings, "GetString")(c, NULL, 0, NULL) == OK, "no text");
    WANT(CALL(plain, "CancelStep")(c) == ERROR, "a step is cancelled");
    WANT(CALL(status_of, "GetRealStatus")(c, 2, &reached) == OK && fabs(reached - 3 * step_s) < 1e-9, "it has reached %g s",
         reached);
    WANT(CALL(status_of, "GetRealStatus")(c, 1, &reached) == DISCARD, "another time is told");
    WANT(CALL(status_of, "GetBooleanStatus")(c, 3, &ended) == OK && ended == 0, "it has ended");
    WANT(CALL(status_of, "GetStatus")(c, 0, &ended) == DISCARD && CALL(status_of, "GetIntegerStatus")(c, 0, &ended) == DISCARD &&
             CALL(status_of, "GetStringStatus")(c, 1, &text) == DISCARD,
         "a step is still going on");
  } else {
    WANT(CALL(logging3, "SetDebugLogging")(c, true, 1, categories) == OK &&
             CALL(logging3, "SetDebugLogging")(c, false, 0, NULL) == OK,
         "log");
    WANT(CALL(strings3, "GetString")(c, &reference, 1, &text, 1) == ERROR &&
             CALL(strings3, "SetString")(c, &reference, 1, &text, 1) == ERROR,
         "text");
    float less;
    int8_t narrow;
    WANT(get(c, "Float32", reference, &less) == ERROR && get(c, "Int8", reference, &narrow) == ERROR, "it has no such type");
    WANT(set(c, "Float32", reference, &less) == ERROR && set(c, "Int8", reference, &narrow) == ERROR, "it takes no such type");
    WANT(CALL(plain, "EnterEventMode")(c) == ERROR && CALL(plain, "EnterStepMode")(c) == ERROR, "a mode of others");
  }
  go(c, 3, 6, false, "after calls that say no");
  CALL(release, "FreeInstance")(c);
}

int main(int argc, char **argv) {
  if (argc != 4) return 2;
  version = atoi(argv[1]);
  engine_name = argv[3];
  char path[4096], resources[4096];
  snprintf(path, sizeof path, "%s/binaries/%s/bladegap.so", argv[2], version == 2 ? "linux64" : "x86_64-linux");
  snprintf(resources, sizeof resources, version == 2 ? "file://%s/resources" : "%s/resources/", argv[2]);
  object = dlopen(path, RTLD_NOW | RTLD_LOCAL);
  if (!object) fault("%s", dlerror()), exit(1);
  const words tell_version = CALL(words, "GetVersion");
  WANT(strcmp(tell_version(), version == 2 ? "2.0" : "3.0") == 0, "its version is %s", tell_version());
  read_description(argv[2]);
  compute_truth();
  void *c = fresh(resources);
  go(c, 0, STEPS, false, "one instance");
  CALL(release, "FreeInstance")(c);
  states(resources);
  several(resources);
  refusals(resources);
  out_of_order(resources);
  stop_times(resources);
  bad_states(resources);
  not_had(resources);
  printf("%s, FMI %d: %zu outputs, %d faults\n", engine_name, version, output_count, faults);
  dlclose(object);
  free(description);
  return faults > 0;
}
