#include "analysis/estimate/estimate_symptoms_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WOULD_SHOW 0.2 // share of cars with a cause from which an absent code, or a complaint, is worth a word; our own choice
enum { LIST_SIZE = 200 };

static struct estimate_claim *begin(struct estimate_why *why) {
  if (why->count < ESTIMATE_SENTENCE_MAX) why->count++;
  struct estimate_claim *claim = &why->claims[why->count - 1];
  estimate_claim_begin(claim);
  return claim;
}

/* The likeliest that is a cause with a name; 0, which is nothing wrong, if there is none. */
static size_t leading_of(const struct estimate *e) {
  for (size_t i = 0; i < e->count; i++)
    if (e->hypotheses[e->order[i]].fault.count > 0 && e->told[e->order[i]].looked) return e->order[i];
  return 0;
}

static bool is_stored(const struct estimate *e, enum monitor_code code) {
  return (e->question->symptoms->stored & monitors_bit(code)) != 0;
}

bool estimate_symptoms_words_tells(const struct estimate *e, enum monitor_code code) {
  const struct estimate_symptoms *s = e->question->symptoms;
  if (!s->codes_given) return false;
  return is_stored(e, code) || (!s->codes_incomplete && e->told[leading_of(e)].code[code] >= WOULD_SHOW); // NaN: not monitored
}

bool estimate_symptoms_words_felt(const struct estimate *e) {
  for (size_t i = 0; i < e->count; i++)
    if (e->hypotheses[i].probability >= ESTIMATE_COMPARED_LEAST && e->told[i].complaint >= WOULD_SHOW) return true;
  return false;
}

double estimate_symptoms_words_frame_factor(const struct estimate *e, size_t hypothesis) {
  return exp(e->told[hypothesis].log_frame - e->told[0].log_frame);
}

/* "on 59 % of such cars with film, on below 1 % with nothing wrong." */
static void say_shares(const struct estimate *e, const char *path, double with, double without, struct estimate_claim *c) {
  const size_t leading = leading_of(e);
  char name[ESTIMATE_NAME_SIZE], nothing[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(&e->hypotheses[leading], name);
  estimate_hypothesis_name(&e->hypotheses[0], nothing);
  if (leading > 0) {
    estimate_claim_words(c, "on ");
    estimate_claim_share(c, with, "%s.causes[%s].probability", path, name);
    estimate_claim_words(c, " of such cars with %s, ", name);
  }
  estimate_claim_words(c, leading > 0 ? "on " : "on such cars: ");
  if (e->told[0].looked)
    estimate_claim_share(c, without, "%s.causes[%s].probability", path, nothing);
  else
    estimate_claim_words(c, "none");
  estimate_claim_words(c, " with nothing wrong%s.", e->told[0].looked ? "" : ", which cannot read so");
}

static void say_codes(const struct estimate *e, struct estimate_why *why) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const enum monitor_code code = (enum monitor_code)i;
    char path[LIST_SIZE];
    if (!estimate_symptoms_words_tells(e, code)) continue;
    snprintf(path, sizeof path, "symptoms.codes[%s]", monitor_rows[i].code);
    struct estimate_claim *c = begin(why);
    estimate_claim_words(c, is_stored(e, code) ? "%s is stored: it sets " : "%s is not stored, and would be set ",
                         monitor_rows[i].code);
    say_shares(e, path, e->told[leading_of(e)].code[i], e->told[0].code[i], c);
  }
}

static void say_complaint(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_symptoms *s = e->question->symptoms;
  if (s->complaint == ESTIMATE_COMPLAINT_COUNT) return;
  struct estimate_claim *c = begin(why);
  estimate_claim_words(c, "The driver says that %s: ", estimate_complaints[s->complaint].text);
  if (estimate_symptoms_words_felt(e)) {
    estimate_claim_words(c, "to be expected ");
    say_shares(e, "symptoms.complaint", e->told[leading_of(e)].complaint, e->told[0].complaint, c);
  } else {
    estimate_claim_words(
        c, "none of the likely causes lets an idling engine show that more than the others do, so it decides little.");
  }
}

static void say_frame(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_symptoms *s = e->question->symptoms;
  const size_t leading = leading_of(e);
  if (!s->frame_given) return;
  struct estimate_claim *c = begin(why);
  if (s->frame_left_out) {
    estimate_claim_words(c, "The freeze frame is left out: %s.", s->frame_left_out);
    return;
  }
  const double factor = estimate_symptoms_words_frame_factor(e, leading);
  char name[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(&e->hypotheses[leading], name);
  estimate_claim_words(c, "The freeze frame is one of warm idle");
  if (leading > 0 && e->told[0].looked) {
    estimate_claim_words(c, "; by it %s, against nothing wrong, is ", name);
    estimate_claim_number(c, factor, factor < 1.0 ? 2 : 1, "symptoms.freeze_frame.causes[%s].factor", name);
    estimate_claim_words(c, " times as likely as without");
  }
  estimate_claim_words(c, ".");
}

static void say_strange(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_symptoms *s = e->question->symptoms;
  char list[LIST_SIZE] = "";
  if (s->strange_count == 0) return;
  for (size_t i = 0; i < s->strange_count; i++) {
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "", s->strange[i]);
  }
  struct estimate_claim *c = begin(why);
  estimate_claim_words(
      c, "%s: no monitor of this engine's file sets %s, so %s left out. Look %s up in the maker's service information.", list,
      s->strange_count > 1 ? "these" : "this", s->strange_count > 1 ? "they are" : "it is", s->strange_count > 1 ? "them" : "it");
}

void estimate_symptoms_words(const struct estimate *e, struct estimate_why *why) {
  if (!e->question->symptoms) return;
  if (e->p_value >= ESTIMATE_P_VALUE_LEAST && estimate_symptoms_given(e->question->symptoms)) {
    say_codes(e, why);
    say_complaint(e, why);
  }
  if (e->p_value >= ESTIMATE_P_VALUE_LEAST || e->question->symptoms->frame_left_out) say_frame(e, why);
  say_strange(e, why);
}
