#include "analysis/practice/practice_words.h"

#include "analysis/estimate/estimate_findings.h"

#include <stdio.h>

const struct practice_words_act practice_words_acts[PRACTICE_WORDS_ACT_COUNT] = {
    {"search", "find the cause by hand, from end to end"},
    {"hand_back", "nothing is repaired: the car is handed back"},
};

void practice_words_fault(const struct estimate_fault *fault, char name[PRACTICE_WORDS_NAME_SIZE]) {
  const size_t size = PRACTICE_WORDS_NAME_SIZE;
  if (fault->count == 0) snprintf(name, size, "nothing wrong");
  if (fault->count == 1) snprintf(name, size, "%s", cause_rows[fault->cause[0]].name);
  if (fault->count == 2) snprintf(name, size, "%s+%s", cause_rows[fault->cause[0]].name, cause_rows[fault->cause[1]].name);
}

const char *practice_words_share(double probability, char text[PRACTICE_WORDS_SHARE_SIZE]) {
  const size_t size = PRACTICE_WORDS_SHARE_SIZE;
  if (probability > 0.99)
    snprintf(text, size, "over 99 %%");
  else if (probability < 0.01)
    snprintf(text, size, "below 1 %%");
  else
    snprintf(text, size, "%.0f %%", 100.0 * probability);
  return text;
}

static void put_codes(const struct practice_case *drawn, char text[PRACTICE_WORDS_SIZE]) {
  size_t used = (size_t)snprintf(text, PRACTICE_WORDS_SIZE, "Stored codes: ");
  const size_t first = used;
  for (int c = 0; c < MONITOR_CODE_COUNT; c++)
    if ((drawn->codes & monitors_bit((enum monitor_code)c)) && used < PRACTICE_WORDS_SIZE)
      used += (size_t)snprintf(text + used, PRACTICE_WORDS_SIZE - used, "%s%s (%s)", used > first ? ", " : "",
                               monitor_rows[c].code, monitor_rows[c].text);
  if (used < PRACTICE_WORDS_SIZE) snprintf(text + used, PRACTICE_WORDS_SIZE - used, "%s.", used > first ? "" : "none");
}

void practice_words_case(const struct practice_case *drawn, int line, char text[PRACTICE_WORDS_SIZE]) {
  if (line == 0) snprintf(text, PRACTICE_WORDS_SIZE, "%s, %d km.", drawn->engine->name, drawn->driven_km);
  if (line == 1)
    snprintf(text, PRACTICE_WORDS_SIZE, "The driver: %s, for %d week%s now.",
             drawn->complaint == ESTIMATE_COMPLAINT_COUNT ? "a warning lamp is on" : estimate_complaints[drawn->complaint].text,
             drawn->weeks, drawn->weeks == 1 ? "" : "s");
  if (line == 2) put_codes(drawn, text);
}

size_t practice_words_truth_count(const struct practice_case *drawn) { return drawn->fault.count ? drawn->fault.count : 1; }

void practice_words_truth(const struct practice_case *drawn, size_t place, char text[PRACTICE_WORDS_SIZE]) {
  if (drawn->fault.count == 0) {
    snprintf(text, PRACTICE_WORDS_SIZE, "Hidden: nothing. The car is good, within the normal differences between such cars.");
    return;
  }
  const struct cause_row *row = &cause_rows[drawn->fault.cause[place]];
  snprintf(text, PRACTICE_WORDS_SIZE, "Hidden: %s (%s), %s %.3g.", row->name, row->text, row->condition,
           drawn->fault.severity[place]);
}

void practice_words_backed(const struct practice_answer *answer, const struct practice_mark *mark,
                           char text[PRACTICE_WORDS_SIZE]) {
  char share[PRACTICE_WORDS_SHARE_SIZE];
  if (answer->not_told)
    snprintf(text, PRACTICE_WORDS_SIZE, "Answered: not told.");
  else
    snprintf(text, PRACTICE_WORDS_SIZE, "By your readings alone, this answer has a probability of %s.",
             practice_words_share(mark->backed, share));
}

void practice_words_settled(const struct practice_bank *bank, const struct practice_mark *m, char text[PRACTICE_WORDS_SIZE]) {
  char rival[PRACTICE_WORDS_NAME_SIZE];
  if (m->settled == m->count) {
    snprintf(text, PRACTICE_WORDS_SIZE, "None of these tests decided the case: the hidden cause never reached %.0f %%.",
             100.0 * PRACTICE_TOLD);
    return;
  }
  const struct practice_step *step = &m->steps[m->settled];
  const struct practice_test *test = &bank->tests->tests[step->result.test];
  practice_words_fault(&bank->hypotheses[m->rival].fault, rival);
  if (m->telling == PRACTICE_SHOWN_MAX) {
    snprintf(text, PRACTICE_WORDS_SIZE, "Decided by: %s. Before it, the likeliest other cause was %s.", test->what.name, rival);
    return;
  }
  const struct estimate_reading *r = &bank->tests->readings.readings[test->shown[m->telling]];
  const int decimals = estimate_findings_decimals(r->quantity);
  snprintf(text, PRACTICE_WORDS_SIZE,
           "Decided by: %s. The most telling reading was %s = %.*f: the hidden cause predicts %.*f (plus or minus %.*f), %s "
           "predicts %.*f (plus or minus %.*f).",
           test->what.name, estimate_quantities[r->quantity].name, decimals, m->read, decimals, m->truth_mean, decimals,
           m->truth_sd, rival, decimals, m->rival_mean, decimals, m->rival_sd);
}

void practice_words_best(const struct practice_bank *bank, const struct practice_plan *best, char text[PRACTICE_WORDS_SIZE]) {
  char likeliest[PRACTICE_WORDS_NAME_SIZE], share[PRACTICE_WORDS_SHARE_SIZE];
  practice_words_fault(&bank->hypotheses[best->likeliest].fault, likeliest);
  if (best->told)
    snprintf(text, PRACTICE_WORDS_SIZE, "It ends after %.0f min at %s (%s).", best->minutes, likeliest,
             practice_words_share(best->probability, share));
  else
    snprintf(text, PRACTICE_WORDS_SIZE,
             "It ends after %.0f min at \"not told\": the likeliest cause, %s, has %s, and no further test would tell enough.",
             best->minutes, likeliest, practice_words_share(best->probability, share));
}
