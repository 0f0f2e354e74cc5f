#include "analysis/live/live_session.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const int live_session_speeds[] = {1, 2, 5, 10, 20, 30, 60};
const int live_session_speed_count = ARRAY_COUNT(live_session_speeds);

#define HALF_TICK_S (0.5 * COMPUTER_PERIOD_S)

void live_session_init(struct live_session *session, struct live_bench *bench) {
  memset(session, 0, sizeof *session);
  session->bench = bench;
  for (size_t i = 0; i < CONDITION_MOST; i++) session->goals[i].until_s = -1.0;
  session->key_until_s = -1.0;
}

void live_session_say(struct live_session *session, const char *format, ...) {
  va_list values;
  va_start(values, format);
  vsnprintf(session->said, sizeof session->said, format, values);
  va_end(values);
}

/* ---- acting ---- */

double live_session_goal(const struct live_session *session, size_t condition) {
  const struct simulation *sim = session->bench->sim;
  if (simulation_time_s(sim) < session->goals[condition].until_s) return session->goals[condition].si;
  return conditions_value(&sim->vehicle.conditions, &condition_rows[condition].field);
}

bool live_session_play(struct live_session *session, const struct scenario_step *step) {
  struct simulation *sim = session->bench->sim;
  struct error error;
  error_clear(&error);
  if (simulation_play(sim, step, &error) != STATUS_OK) {
    live_session_say(session, "%.400s", error.text);
    return false;
  }
  const double until_s = simulation_acts_s(sim) + step->ramp_s + HALF_TICK_S;
  for (size_t i = 0; i < step->set_count; i++) {
    session->goals[step->sets[i].condition].si = step->sets[i].value;
    session->goals[step->sets[i].condition].until_s = until_s;
  }
  if (step->key >= 0) {
    session->key_goal = step->key;
    session->key_until_s = until_s;
  }
  session->actions++;
  return true;
}

/* ---- keys ---- */

static const struct live_key_row *find_key(char letter) {
  for (size_t i = 0; i < live_key_count; i++)
    if (live_key_rows[i].key == letter) return &live_key_rows[i];
  return NULL;
}

enum status live_session_press(struct live_session *session, char letter, double *watch_s, struct error *error) {
  *watch_s = 0.0;
  if (session->bench->sim->waiting_count > 10000) // a key that was left lying on while time stands still
    return error_set(error, STATUS_USAGE, "more than 10000 actions at one moment");
  session->said[0] = '\0';
  if (session->typing) {
    live_key_type(session, letter);
    return STATUS_OK;
  }
  const bool blank = letter == '\n' || letter == '\r' || letter == '\t';
  if (session->pending_count > 0 && !blank) {
    live_key_answer(session, letter);
    return STATUS_OK;
  }
  const bool helped = session->help;
  session->help = false;
  if (blank || helped) return STATUS_OK; // any key goes back, and does no more
  const struct live_key_row *row = find_key(letter);
  if (row) {
    if (row->press) row->press(session, row->amount);
    *watch_s = row->watch_s;
  } else if (!row && letter >= 0x20 && letter < 0x7F) {
    live_session_say(session, "%c does nothing; ? shows the keys", letter);
  } else if (!row) {
    live_session_say(session, "that key does nothing; ? shows the keys");
  }
  return STATUS_OK;
}

/* ---- time ---- */

long live_session_ticks(const struct live_session *session, double watch_s) {
  return lround(watch_s * live_session_speeds[session->speed] * LIVE_BENCH_TICKS_PER_S);
}

enum status live_session_pass(struct live_session *session, long ticks, struct error *error) {
  struct live_bench *bench = session->bench;
  long passed;
  const enum status status = live_bench_pass(bench, ticks, &passed, error);
  if (status != STATUS_OK) return status;
  if (passed < ticks) {
    live_session_say(session, "A whole day has passed: the bench ends here.");
    session->ended = true;
  }
  const bool has_end = bench->scenario.step_count > 0;
  if (has_end && !session->scenario_over && simulation_time_s(bench->sim) > bench->scenario.duration_s + HALF_TICK_S) {
    session->scenario_over = true;
    live_session_say(session, "The scenario ended at %g s; the bench goes on.", bench->scenario.duration_s);
  }
  return STATUS_OK;
}
