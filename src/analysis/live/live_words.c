#include "analysis/live/live_words.h"

#include "physics/orifice.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define RUNNING_RPM    300.0 // below any idle, above what a starter reaches
#define NO_FILM_UM     0.05
#define PEDAL_PCT      0.5
#define SPENT_PCT      0.05 // so near its limit nothing is left
#define UNMETERED_GPS  0.03
#define OFF_TARGET_RPM 30.0 // less is the usual scatter of an idle
#define NEAR_RPM       10.0

struct text {
  char *at;
  size_t size, used;
};

static void add(struct text *text, const char *format, ...) PRINTF_LIKE(2, 3);

static void add(struct text *text, const char *format, ...) {
  if (text->used + 1 >= text->size) return;
  va_list values;
  va_start(values, format);
  const int length = vsnprintf(text->at + text->used, text->size - text->used, format, values);
  va_end(values);
  if (length > 0) text->used += (size_t)length;
  if (text->used >= text->size) text->used = text->size - 1;
}

static struct text begin(size_t size, char *at) {
  at[0] = '\0';
  return (struct text){at, size, 0};
}

void live_words_time(const struct live_session *session, size_t size, char *at) {
  struct text text = begin(size, at);
  add(&text, "%.1f s, x%d%s%s", session->bench->row[CHANNEL_time_s], live_session_speeds[session->speed],
      session->paused ? ", paused" : "", session->behind && !session->paused ? ", slower here" : "");
}

/* Without a minus before nothing. */
static double tidy(double value, double least) { return fabs(value) < 0.5 * least ? 0.0 : value; }

void live_words_numbers(const struct live_session *session, bool brief, size_t size, char *at) {
  const double *row = session->bench->row;
  struct text text = begin(size, at);
  add(&text, "%.0f rpm, target %.0f; blade %.2f deg open; air %.2f g/s", row[CHANNEL_speed_rpm], row[CHANNEL_target_rpm],
      tidy(row[CHANNEL_blade_deg], 0.01), tidy(row[CHANNEL_airflow_gps], 0.01));
  if (brief) return;
  add(&text, "; spark %.1f deg", row[CHANNEL_spark_deg]);
  if (!isnan(row[CHANNEL_bypass_steps])) add(&text, "; idle valve %.0f steps", row[CHANNEL_bypass_steps]);
}

/* ---- codes ---- */

void live_words_codes(const struct live_session *session, size_t size, char *at) {
  const struct simulation *sim = session->bench->sim;
  const struct computer_state *computer = &sim->vehicle.computer;
  const unsigned possible = monitors_possible(engine_features(&session->bench->engine));
  const double needed_s = session->bench->engine.computer.supervision.debounce_s;
  struct text text = begin(size, at);
  size_t stored = 0;
  add(&text, "Codes:");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_state *state = &computer->memory.monitors.code[i];
    if (state->code == CODE_NONE) continue;
    add(&text, "%s %s %s%s", stored++ ? "," : "", monitor_rows[i].code, monitors_code_state_name(state->code),
        state->lamp ? ", lamp on" : "");
  }
  add(&text, "%s.", stored ? "" : " none");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_state *state = &computer->memory.monitors.code[i];
    if (state->code != CODE_NONE || state->failing_s <= 0.0 || (monitor_rows[i].enable & ~possible)) continue;
    add(&text, " %s seen for %.1f of %.1f s.", monitor_rows[i].code, state->failing_s, monitor_rows[i].debounce_ratio * needed_s);
  }
}

void live_words_event(const struct recording_event *event, size_t size, char *at) {
  struct text text = begin(size, at);
  add(&text, "%.2f s: %s", event->time_s, event->text);
}

/* ---- the chain of reasons ---- */

static void film_reason(struct text *text, const double *row) {
  const double lost_pct = 100.0 * (1.0 - row[CHANNEL_area_mm2] / row[CHANNEL_clean_area_mm2]);
  const bool on_wall = row[CHANNEL_film_um] > NO_FILM_UM, on_edge = row[CHANNEL_edge_film_um] > NO_FILM_UM;
  if (!on_wall && !on_edge)
    add(text, "No film: the gap is %.2f mm2 at %.2f deg.", row[CHANNEL_area_mm2], row[CHANNEL_blade_deg]);
  else
    add(text, "A film of %.1f um%s leaves %.2f of %.2f mm2 at this opening: %.0f %% of the area is gone.",
        on_wall ? row[CHANNEL_film_um] : row[CHANNEL_edge_film_um], on_wall ? "" : " on the blade's edge", row[CHANNEL_area_mm2],
        row[CHANNEL_clean_area_mm2], lost_pct);
}

static bool is_spent(const struct live_bench *bench) {
  const struct idle_air_params *air = &bench->engine.computer.air;
  return bench->row[CHANNEL_effort_pct] > 100.0 * air->effort_most_ratio - SPENT_PCT &&
         bench->row[CHANNEL_learned_pct] > 100.0 * air->learned_most_ratio - SPENT_PCT;
}

static double pressure_ratio(const struct live_bench *bench) {
  return bench->row[CHANNEL_manifold_kpa] * UNITS_PA_PER_KPA / conditions_ambient_pa(&bench->sim->vehicle.conditions);
}

static bool is_choked(const struct live_bench *bench) { return pressure_ratio(bench) <= orifice_critical_ratio(); }

static void controller_reason(struct text *text, const struct live_bench *bench) {
  const double *row = bench->row;
  if (bench->sim->vehicle.conditions.controller_frozen > 0.5) {
    add(text, " The controller is frozen: idle air, spark and trims stay where they are.");
    return;
  }
  const double effort_pct = round(row[CHANNEL_effort_pct]), learned_pct = round(row[CHANNEL_learned_pct]);
  add(text, " The computer %s %.0f %% of a new engine's idle air now and has learned %s%.0f %% over time%s.",
      effort_pct < 0.0 ? "takes away" : "adds", fabs(effort_pct), learned_pct < 0.0 ? "-" : "", fabs(learned_pct),
      is_spent(bench) ? ": both are at their limits, it has no more air to give" : "");
}

static void air_reason(struct text *text, const struct live_bench *bench) {
  const double *row = bench->row;
  add(text, " %.2f g/s of air come in; manifold %.1f kPa, %.2f of the air outside: %s 0.53, %s.", row[CHANNEL_airflow_gps],
      row[CHANNEL_manifold_kpa], pressure_ratio(bench), is_choked(bench) ? "below" : "above",
      is_choked(bench) ? "choked" : "not choked");
  if (row[CHANNEL_unmetered_gps] > UNMETERED_GPS)
    add(text, " Of it %.2f g/s %s.", row[CHANNEL_unmetered_gps],
        engine_has(&bench->engine, FEATURE_air_flow) ? "come in behind the air-flow sensor's place"
                                                     : "do not come through the intake");
  add(text, " They make %.1f Nm; more spark could add %.0f %%.", row[CHANNEL_torque_nm], row[CHANNEL_spark_reserve_pct]);
}

void live_words_reasons(const struct live_session *session, size_t size, char *at) {
  const struct live_bench *bench = session->bench;
  const double *row = bench->row;
  struct text text = begin(size, at);
  film_reason(&text, row);
  if (row[CHANNEL_speed_rpm] <= RUNNING_RPM) {
    add(&text, " The engine does not run (%.0f rpm); the blade stands %.2f deg open.", row[CHANNEL_speed_rpm],
        row[CHANNEL_blade_deg]);
    return;
  }
  const bool pressed = row[CHANNEL_pedal_pct] > PEDAL_PCT;
  if (pressed)
    add(&text, " The pedal is pressed: the blade stands %.2f deg open.", row[CHANNEL_blade_deg]);
  else
    controller_reason(&text, bench);
  air_reason(&text, bench);
  const double off_rpm = round(row[CHANNEL_speed_rpm]) - round(row[CHANNEL_target_rpm]);
  if (pressed) return;
  if (fabs(off_rpm) < NEAR_RPM)
    add(&text, " So it turns %.0f rpm, about its target.", row[CHANNEL_speed_rpm]);
  else
    add(&text, " So it turns %.0f rpm, %.0f %s its target.", row[CHANNEL_speed_rpm], fabs(off_rpm),
        off_rpm < 0.0 ? "below" : "above");
}

unsigned live_words_kind(const struct live_session *session) {
  const struct live_bench *bench = session->bench;
  const double *row = bench->row, off_rpm = row[CHANNEL_speed_rpm] - row[CHANNEL_target_rpm];
  const bool running = row[CHANNEL_speed_rpm] > RUNNING_RPM, pressed = row[CHANNEL_pedal_pct] > PEDAL_PCT;
  const bool film = row[CHANNEL_film_um] > NO_FILM_UM || row[CHANNEL_edge_film_um] > NO_FILM_UM;
  const bool frozen = bench->sim->vehicle.conditions.controller_frozen > 0.5;
  unsigned kind = (film ? 1u : 0u) | (running ? 2u : 0u);
  if (!running) return kind;
  kind |= (pressed ? 4u : 0u) | (frozen ? 8u : 0u) | (is_spent(bench) ? 16u : 0u) | (is_choked(bench) ? 32u : 0u);
  return kind | (pressed || fabs(off_rpm) < OFF_TARGET_RPM ? 0u : off_rpm < 0.0 ? 64u : 128u);
}
