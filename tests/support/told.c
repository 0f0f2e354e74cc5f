#include "support/told.h"

#include "support/check.h"

#include <string.h>

void told_tell(struct told *told) {
  told->scene.solver = &solver_fixed;
  scene_run(&told->scene);
  story_find(&told->scene.recording, &told->story);
  told->story.load_count = load_steps_find(&told->scene.recording, &told->scene.scenario, told->story.loads, STORY_LOAD_MAX);
  explain_run(told->scene.sim, &told->scene.recording, &told->story, &told->explanation);
}

/* The first sentence with this text in it, NULL if none. */
const char *told_sentence(const struct told *told, const char *text) {
  for (size_t i = 0; i < told->explanation.count; i++) {
    const char *found = strstr(told->explanation.claims[i].text, text);
    if (found) return found;
  }
  return NULL;
}

const struct claim *told_claim(const struct told *told, enum claim_kind kind) {
  for (size_t i = 0; i < told->explanation.count; i++)
    if (told->explanation.claims[i].kind == kind) return &told->explanation.claims[i];
  return NULL;
}

double told_value(const struct told *told, enum claim_kind kind, const char *name) {
  const struct claim *claim = told_claim(told, kind);
  if (!claim) fail_msg("nothing is said of the kind %s", claim_kind_rows[kind].name);
  const struct claim_value *value = claim_value_of(claim, name);
  if (!value) fail_msg("%s has no value %s", claim->text, name);
  return value->value;
}

/* Mean of a channel over the rows that a value of the claim was taken from. */
double told_mean(const struct told *told, enum claim_kind kind, const char *name, enum channel channel) {
  const struct claim_value *value = claim_value_of(told_claim(told, kind), name);
  return scene_mean(&told->scene, value->from_s, value->to_s, channel);
}
