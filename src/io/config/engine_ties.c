#include "io/config/engine_ties.h"

#include "base/matrix.h"
#include "car/scatter.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { A_LINE = 3 };
#define TOLD 5e-5 // a weaker tie is not written; strong ones that are off by more would be none

static bool find_row(struct config *config, const struct config_setting_t *node, int *row) {
  const struct config_value value = config_value(node);
  *row = value.kind == CONFIG_TEXT ? scatter_find(value.text) : -1;
  if (*row < 0) config_fault_at(config, node, "must be a key of the group 'scatter'; bladegap list parameters shows them");
  return *row >= 0;
}

static void read_tie(struct config *config, const struct config_setting_t *entry, struct engine *engine) {
  if (config_value(entry).kind != CONFIG_LIST || config_child_count(entry) != 3) {
    config_fault_at(config, entry,
                    "each entry is (\"friction_pct\", \"efficiency_pct\", 0.53): two keys of 'scatter', their correlation");
    return;
  }
  int a, b;
  if (!find_row(config, config_child(entry, 0), &a) || !find_row(config, config_child(entry, 1), &b)) return;
  const struct config_value tie = config_value(config_child(entry, 2));
  if (a == b)
    config_fault_at(config, entry, "a deviation cannot be tied to itself");
  else if ((tie.kind != CONFIG_REAL && tie.kind != CONFIG_INTEGER) || !(fabs(tie.real) <= 1.0))
    config_fault_at(config, entry, "a correlation is a number from -1 to 1");
  else
    engine->scatter.ties[scatter_tie((enum scatter)a, (enum scatter)b)] = (float)tie.real;
}

/* Whether a car can have such deviations. */
static bool is_correlation(const struct scatter_params *scatter) {
  double *matrix = calloc((size_t)SCATTER_COUNT * SCATTER_COUNT, sizeof *matrix);
  if (!matrix) return true; // whoever needs it will say so
  for (int i = 0; i < SCATTER_COUNT; i++)
    for (int k = 0; k < SCATTER_COUNT; k++)
      matrix[i * SCATTER_COUNT + k] = i == k ? 1.0 : (double)scatter->ties[scatter_tie((enum scatter)i, (enum scatter)k)];
  const bool is = matrix_cholesky(SCATTER_COUNT, matrix);
  free(matrix);
  return is;
}

static void read_of(struct config *config, const struct config_setting_t *node, struct engine *engine) {
  const struct config_value value = config_value(node);
  const bool models = value.kind == CONFIG_TEXT && strcmp(value.text, "models") == 0;
  if (!models && !(value.kind == CONFIG_TEXT && strcmp(value.text, "cars") == 0))
    config_fault_at(config, node, "must be \"models\", each with a computer of its own, or \"cars\" of one model");
  engine->scatter.of_models = models;
}

void engine_ties_read(struct config *config, struct engine *engine) {
  const struct config_setting_t *of = config_member(config_root(config), ENGINE_TIES_OF_KEY);
  const struct config_setting_t *ties = config_member(config_root(config), ENGINE_TIES_KEY);
  if (of) read_of(config, of, engine);
  if (!ties) return;
  if (config_value(ties).kind != CONFIG_LIST) {
    config_fault_at(config, ties, "must be a list of (\"friction_pct\", \"efficiency_pct\", 0.53)");
    return;
  }
  memset(engine->scatter.ties, 0, sizeof engine->scatter.ties);
  for (size_t i = 0; i < config_child_count(ties); i++) read_tie(config, config_child(ties, i), engine);
  if (!is_correlation(&engine->scatter))
    config_fault_at(config, ties, "contradict each other: no car can have such correlations");
}

void engine_ties_print(const struct engine *engine, const struct engine *base, FILE *stream) {
  const struct scatter_params *scatter = &engine->scatter;
  if (scatter->of_models != base->scatter.of_models)
    fprintf(stream, "\n%s = \"%s\";\n", ENGINE_TIES_OF_KEY, scatter->of_models ? "models" : "cars");
  // any change of a bit is a change. NOLINTNEXTLINE(bugprone-suspicious-memory-comparison)
  if (memcmp(scatter->ties, base->scatter.ties, sizeof scatter->ties) == 0) return;
  size_t written = 0;
  fprintf(stream, "\n// How the deviations hang together: correlations.\n%s = (", ENGINE_TIES_KEY);
  for (int i = 1; i < SCATTER_COUNT; i++)
    for (int k = 0; k < i; k++) {
      const double tie = (double)scatter->ties[scatter_tie((enum scatter)i, (enum scatter)k)];
      if (fabs(tie) < TOLD) continue;
      fprintf(stream, "%s%s(\"%s\", \"%s\", %.5f)", written ? "," : "", written % A_LINE ? " " : "\n  ", scatter_rows[i].key,
              scatter_rows[k].key, tie);
      written++;
    }
  fprintf(stream, "\n);\n");
}
