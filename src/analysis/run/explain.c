#include "analysis/run/explain_account.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* A sentence with a number that is not known, as its window is empty, is left out. */
void explain_account_say(struct explain_account *account, const char *format, ...) {
  if (account->out->count >= EXPLAIN_SENTENCE_MAX) return;
  char *text = account->out->text[account->out->count];
  va_list values;
  va_start(values, format);
  vsnprintf(text, EXPLAIN_TEXT_SIZE, format, values);
  va_end(values);
  if (!strstr(text, " nan") && !strstr(text, " -nan")) account->out->count++;
}

static void keep(struct explain_account *account, const struct story_moment *moment, bool held, const char *format,
                 va_list values) {
  struct explanation *out = account->out;
  if (!moment->happened || out->moment_count >= EXPLAIN_MOMENT_MAX) return;
  for (size_t i = 0; i < out->moment_count; i++)
    if (fabs(out->moments[i].moment.time_s - moment->time_s) < 1e-9) return;
  struct explain_moment *kept = &out->moments[out->moment_count++];
  kept->moment = *moment;
  if (held) kept->moment.mean[CHANNEL_speed_sd_rpm] = NAN;
  vsnprintf(kept->label, sizeof kept->label, format, values);
}

void explain_account_keep(struct explain_account *account, const struct story_moment *moment, const char *format, ...) {
  va_list values;
  va_start(values, format);
  keep(account, moment, false, format, values);
  va_end(values);
}

void explain_account_keep_held(struct explain_account *account, const struct story_moment *moment, const char *format, ...) {
  va_list values;
  va_start(values, format);
  keep(account, moment, true, format, values);
  va_end(values);
}

const char *explain_account_change(char text[EXPLAIN_CHANGE_SIZE], enum channel channel, int decimals, double least,
                                   const struct story_moment *from, const struct story_moment *to) {
  const double before = from->mean[channel], after = to->mean[channel];
  const char *name = channel_rows[channel].name;
  if (fabs(after - before) < least)
    snprintf(text, EXPLAIN_CHANGE_SIZE, "%s stayed at %.*f", name, decimals, after);
  else
    snprintf(text, EXPLAIN_CHANGE_SIZE, "%s went from %.*f to %.*f", name, decimals, before, decimals, after);
  return text;
}

bool explain_account_by_air_flow(const struct explain_account *account) {
  return account->sim->vehicle.engine->computer.fuel.metering == METERING_AIR_FLOW;
}

const struct story_moment *explain_account_clean_idle(const struct story *story) {
  if (story->first.happened && story->first.mean[CHANNEL_film_um] < 0.5) return &story->first;
  if (story->relearned.happened) return &story->relearned;
  return NULL;
}

double explain_account_trim_pct(const struct story_moment *moment, int bank) {
  const double sum = bank == 0 ? moment->mean[CHANNEL_stft_pct] + moment->mean[CHANNEL_ltft_pct]
                               : moment->mean[CHANNEL_stft2_pct] + moment->mean[CHANNEL_ltft2_pct];
  return fabs(sum) < 0.05 ? 0.0 : sum; // nothing is written -0.0
}

void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation) {
  explanation->count = explanation->moment_count = 0;
  struct explain_account account = {.sim = sim, .recording = recording, .story = story, .out = explanation};
  account.phase_count = phases_find(sim->scenario, account.phases);
  explain_start_tell(&account);
  explain_film_tell(&account);
  explain_faults_tell(&account);
  explain_loads_tell(&account);
  explain_stall_tell(&account);
  explain_clean_tell(&account);
  explain_codes_tell(&account);
}
