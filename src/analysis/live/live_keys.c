/* The keys, a row each, and what they do. */
#include "analysis/live/live_session.h"
#include "car/caution.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define FILM_UM_PER_S  1.0 // a film that is there at once stalls an engine that would have followed a slower one
#define GROW_UM_PER_S  0.1 // a growing film, to be watched at x10 and more
#define STEPS_IN_RANGE 20.0

static size_t row_of(const char *key) { return (size_t)(condition_find(key) - condition_rows); }

static struct scenario_step set_step(size_t condition, double value, double ramp_s) {
  const struct field *field = &condition_rows[condition].field;
  return (struct scenario_step){.key = -1, .ramp_s = ramp_s, .set_count = 1, .sets = {{condition, field_to_si(field, value)}}};
}

static double goal_of(const struct live_session *session, size_t condition) {
  return field_from_si(&condition_rows[condition].field, live_session_goal(session, condition));
}

static double value_of(const struct live_session *session, size_t condition) {
  const struct field *field = &condition_rows[condition].field;
  return field_from_si(field, conditions_value(&session->bench->sim->vehicle.conditions, field));
}

/* Whether this engine has what the condition is about; says so if not. */
static bool is_there(struct live_session *session, size_t condition) {
  const struct condition_row *row = &condition_rows[condition];
  if (engine_has(&session->bench->engine, row->needs)) return true;
  for (int i = 0; i < FEATURE_COUNT; i++)
    if (row->needs >> i & 1u) {
      live_session_say(session, "%s: this engine does not have %s.", row->field.key, feature_texts[i]);
      break;
    }
  return false;
}

/* In decimals that a range of this width needs. */
static double rounded(double value, double step) { return round(value / step) * step; }

static double within(const struct field *field, double value) { return fmin(fmax(value, field->min), field->max); }

static void set_and_say(struct live_session *session, size_t condition, double value) {
  if (!is_there(session, condition)) return;
  const struct scenario_step step = set_step(condition, value, 0.0);
  if (live_session_play(session, &step))
    live_session_say(session, "%s is now %.6g", condition_rows[condition].field.key, goal_of(session, condition));
}

static void change(struct live_session *session, const char *key, double amount) {
  const size_t condition = row_of(key);
  const struct field *field = &condition_rows[condition].field;
  set_and_say(session, condition, within(field, goal_of(session, condition) + amount));
}

static void toggle(struct live_session *session, const char *key, const char *on, const char *off) {
  const size_t condition = row_of(key);
  if (!is_there(session, condition)) return;
  const double value = goal_of(session, condition) > 0.5 ? 0.0 : 1.0;
  const struct scenario_step step = set_step(condition, value, 0.0);
  if (live_session_play(session, &step)) live_session_say(session, "%s", value > 0.5 ? on : off);
}

/* ---- time ---- */

static void press_pause(struct live_session *session, double amount) {
  (void)amount;
  session->paused = !session->paused;
  live_session_say(session, session->paused ? "paused" : "running");
}

static void press_speed(struct live_session *session, double amount) {
  const int speed = session->speed + (int)amount;
  if (speed >= 0 && speed < live_session_speed_count) session->speed = speed;
  live_session_say(session, "x%d", live_session_speeds[session->speed]);
}

/* ---- the film ---- */

static void move_film(struct live_session *session, double goal_um, double um_per_s) {
  const size_t film = row_of("film_um");
  const double now_um = value_of(session, film), way_um = fabs(goal_um - now_um);
  const double ramp_s = fmax(rounded(way_um / um_per_s, 0.01), 0.01);
  const struct scenario_step step = set_step(film, goal_um, way_um > 0.0 ? ramp_s : 0.0);
  if (live_session_play(session, &step)) live_session_say(session, "the film goes to %.6g um, %g um a second", goal_um, um_per_s);
}

static void press_film(struct live_session *session, double amount) {
  const size_t film = row_of("film_um");
  const struct field *field = &condition_rows[film].field;
  const double now_um = value_of(session, film), goal_um = goal_of(session, film);
  // A growing film is on its way to the very end: from there it would be no step but a jump.
  const bool growing = goal_um >= field->max && now_um < field->max - 1.0;
  move_film(session, within(field, rounded((growing ? now_um : goal_um) + amount, 1.0)), FILM_UM_PER_S);
}

static void press_grow(struct live_session *session, double amount) {
  const size_t film = row_of("film_um");
  const struct field *field = &condition_rows[film].field;
  const double now_um = value_of(session, film);
  if (goal_of(session, film) >= field->max && now_um < field->max) {
    const struct scenario_step step = set_step(film, now_um, 0.0);
    if (live_session_play(session, &step)) live_session_say(session, "the film stays at %.1f um", now_um);
    return;
  }
  move_film(session, field->max, amount);
  if (goal_of(session, film) >= field->max) live_session_say(session, "the film grows, %g um a second", amount);
}

/* Shows the cautions of steps and waits for a yes. */
static void ask(struct live_session *session, const char *what, unsigned caution_steps, const struct scenario_step *step) {
  const unsigned cautions = caution_for(caution_steps, engine_features(&session->bench->engine));
  live_session_say(session, "On a car, before %s:", what);
  for (int i = 0; i < CAUTION_COUNT; i++) {
    if (!(cautions >> i & 1u)) continue;
    const size_t used = strlen(session->said);
    snprintf(session->said + used, sizeof session->said - used, "\n%s.", caution_rows[i].brief);
  }
  const size_t used = strlen(session->said);
  snprintf(session->said + used, sizeof session->said - used, "\nPress y to do it here, any other key to leave it.");
  session->pending[0] = *step;
  session->pending_count = 1;
}

static void press_clean(struct live_session *session, double amount) {
  (void)amount;
  struct scenario_step step = set_step(row_of("film_um"), 0.0, 0.0);
  step.sets[step.set_count++] = (struct scenario_set){row_of("edge_film_um"), 0.0};
  ask(session, "bore and blade are cleaned", CAUTION_STEP_unplug | CAUTION_STEP_blade | CAUTION_STEP_clean_bore, &step);
}

void live_key_answer(struct live_session *session, char letter) {
  const size_t count = session->pending_count;
  session->pending_count = 0;
  if (letter != 'y') {
    live_session_say(session, "left as it was");
    return;
  }
  for (size_t i = 0; i < count; i++)
    if (!live_session_play(session, &session->pending[i])) return;
  live_session_say(session, "done");
}

/* ---- driver and loads ---- */

static void press_pedal(struct live_session *session, double amount) { change(session, "pedal_pct", amount); }

static void press_release(struct live_session *session, double amount) {
  (void)amount;
  set_and_say(session, row_of("pedal_pct"), 0.0);
}

static void press_gear(struct live_session *session, double amount) {
  (void)amount;
  toggle(session, "drive", "in gear, brakes on", "out of gear");
}

static void press_air_conditioning(struct live_session *session, double amount) {
  (void)amount;
  toggle(session, "air_conditioning", "air conditioning on", "air conditioning off");
}

static void press_electrical(struct live_session *session, double amount) { change(session, "electrical_load_w", amount); }

static void press_steering(struct live_session *session, double amount) { change(session, "steering_pct", amount); }

static void turn_key(struct live_session *session, int key, const char *said) {
  const struct scenario_step step = {.key = key};
  if (live_session_play(session, &step)) live_session_say(session, "%s", said);
}

static void press_key(struct live_session *session, double amount) {
  (void)amount;
  const bool turning = simulation_time_s(session->bench->sim) < session->key_until_s;
  const int key = turning ? session->key_goal : (int)session->bench->sim->vehicle.key;
  if (key == KEY_OFF)
    turn_key(session, KEY_ON, "key on");
  else
    turn_key(session, KEY_OFF, "key off");
}

static void press_start(struct live_session *session, double amount) {
  (void)amount;
  turn_key(session, KEY_START, "starter");
}

/* ---- computer ---- */

static void use_tool(struct live_session *session, enum scenario_action action, const char *said) {
  const struct scenario_step step = {.key = -1, .action = action};
  if (live_session_play(session, &step)) live_session_say(session, "%s", said);
}

static void press_reset(struct live_session *session, double amount) {
  (void)amount;
  use_tool(session, SCENARIO_ACTION_RESET_LEARNED, "learned idle air reset");
}

static void press_erase(struct live_session *session, double amount) {
  (void)amount;
  use_tool(session, SCENARIO_ACTION_CLEAR_CODES, "codes erased");
}

static void press_freeze(struct live_session *session, double amount) {
  (void)amount;
  toggle(session, "controller_frozen", "the controller is frozen", "the controller works again");
}

/* ---- any condition ---- */

static void say_chosen(struct live_session *session) {
  const struct condition_row *row = &condition_rows[session->chosen];
  live_session_say(session, "%s, now %.6g, %g to %g: %s", row->field.key, goal_of(session, session->chosen), row->field.min,
                   row->field.max, row->field.text);
}

static void press_choose(struct live_session *session, double amount) {
  const size_t step = amount > 0.0 ? 1 : condition_count - 1;
  do session->chosen = (session->chosen + step) % condition_count;
  while (!engine_has(&session->bench->engine, condition_rows[session->chosen].needs));
  say_chosen(session);
}

/* A twentieth of the range, rounded to 1, 2 or 5. */
static double step_of(const struct field *field) {
  const double wanted = (field->max - field->min) / STEPS_IN_RANGE, power = pow(10.0, floor(log10(wanted)));
  const double times = wanted / power;
  return (times < 1.5 ? 1.0 : times < 3.5 ? 2.0 : times < 7.5 ? 5.0 : 10.0) * power;
}

static bool pushes_blade(size_t condition) { return condition == row_of("hand_nm"); }

/* Plays it, or asks first where a hand would be at the blade. */
static bool play_or_ask(struct live_session *session, const struct scenario_step *step) {
  for (size_t i = 0; i < step->set_count; i++)
    if (pushes_blade(step->sets[i].condition) && fabs(step->sets[i].value) > 0.0) {
      ask(session, "the blade is pushed by hand", CAUTION_STEP_unplug | CAUTION_STEP_blade | CAUTION_STEP_press, step);
      return false;
    }
  return live_session_play(session, step);
}

static void press_move(struct live_session *session, double amount) {
  const size_t condition = session->chosen;
  const struct condition_row *row = &condition_rows[condition];
  const double now = goal_of(session, condition), by = step_of(&row->field);
  if (!is_there(session, condition)) return;
  double value =
      row->field.kind == FIELD_SWITCH ? (amount > 0.0 ? 1.0 : 0.0) : within(&row->field, rounded(now + amount * by, by));
  if (condition_is_ambient(row) && field_to_si(&row->field, value) < CONDITION_AMBIENT_LEAST_PA)
    value = amount > 0.0 ? 1e-3 * CONDITION_AMBIENT_LEAST_PA : 0.0; // what lies between is a slip of the unit
  const struct scenario_step step = set_step(condition, value, 0.0);
  if (play_or_ask(session, &step)) say_chosen(session);
}

static void press_sound(struct live_session *session, double amount) {
  (void)amount;
  const struct scenario_step step = set_step(session->chosen, condition_rows[session->chosen].initial, 0.0);
  if (is_there(session, session->chosen) && live_session_play(session, &step)) say_chosen(session);
}

static void press_type(struct live_session *session, double amount) {
  (void)amount;
  session->typing = true;
  session->typed[0] = '\0';
}

static void play_typed(struct live_session *session) {
  struct scenario_step step;
  struct error error;
  error_clear(&error);
  if (live_bench_read_step(session->typed, &step, &error) != STATUS_OK)
    live_session_say(session, "%.400s", error.text);
  else if ((step.set_count == 0 || is_there(session, step.sets[0].condition)) && play_or_ask(session, &step))
    live_session_say(session, "done: %s", session->typed);
}

void live_key_type(struct live_session *session, char letter) {
  const size_t size = strlen(session->typed);
  if (letter == '\n' || letter == '\r' || letter == ';') {
    session->typing = false;
    if (size > 0) play_typed(session);
  } else if (letter == '\x1b') {
    session->typing = false;
    live_session_say(session, "left as it was");
  } else if (letter == '\b' || letter == '\x7f') {
    size_t end = size;
    while (end > 1 && ((unsigned char)session->typed[end - 1] & 0xC0) == 0x80) end--; // a letter of UTF-8 goes as a whole
    if (end > 0) session->typed[end - 1] = '\0';
  } else if ((unsigned char)letter >= 0x20 && size + 1 < sizeof session->typed) {
    session->typed[size] = letter;
    session->typed[size + 1] = '\0';
  }
}

/* ---- the session ---- */

static void press_mark(struct live_session *session, double amount) {
  (void)amount;
  struct scenario_step step = {.key = -1};
  snprintf(step.note, sizeof step.note, "mark %d", session->marks + 1);
  if (!live_session_play(session, &step)) return;
  session->marks++;
  live_session_say(session, "mark %d at %.2f s", session->marks, simulation_acts_s(session->bench->sim));
}

static void press_why(struct live_session *session, double amount) {
  (void)amount;
  session->why = true;
}

static void press_help(struct live_session *session, double amount) {
  (void)amount;
  session->help = true;
}

static void press_end(struct live_session *session, double amount) {
  (void)amount;
  session->ended = true;
}

/* Columns: key, what it does, function, amount, seconds of watching. */
// clang-format off
const struct live_key_row live_key_rows[] = {
    {' ', "stop, and go on", press_pause, 0, 0},
    {'+', "faster, up to x60", press_speed, 1, 0},
    {'-', "slower, down to x1", press_speed, -1, 0},
    {'.', "let one second of watching pass at once, also when stopped", NULL, 0, 1.0},
    {',', "let a tenth of it pass", NULL, 0, 0.1},
    {'f', "film 5 um thicker, 1 um a second", press_film, 5, 0},
    {'F', "film 5 um thinner", press_film, -5, 0},
    {'g', "the film grows by itself, 0.1 um a second, or stays", press_grow, GROW_UM_PER_S, 0},
    {'c', "clean the bore; its cautions come first", press_clean, 0, 0},
    {'p', "pedal 5 % further", press_pedal, 5, 0},
    {'P', "pedal 5 % back", press_pedal, -5, 0},
    {'o', "foot off the pedal", press_release, 0, 0},
    {'d', "in gear, out of gear", press_gear, 0, 0},
    {'a', "air conditioning on, off", press_air_conditioning, 0, 0},
    {'e', "electrical load 200 W more", press_electrical, 200, 0},
    {'E', "electrical load 200 W less", press_electrical, -200, 0},
    {'t', "steering turned a quarter further", press_steering, 25, 0},
    {'T', "steering a quarter back", press_steering, -25, 0},
    {'k', "key off, key on", press_key, 0, 0},
    {'s', "starter", press_start, 0, 0},
    {'l', "reset what the computer has learned of idle air", press_reset, 0, 0},
    {'x', "erase fault codes", press_erase, 0, 0},
    {'z', "freeze the controller, or let it work", press_freeze, 0, 0},
    {'n', "choose the next condition: faults, loads, weather", press_choose, 1, 0},
    {'N', "choose the one before", press_choose, -1, 0},
    {'>', "the chosen one up by a step", press_move, 1, 0},
    {'<', "the chosen one down by a step", press_move, -1, 0},
    {'0', "the chosen one as usual again", press_sound, 0, 0},
    {'=', "type an action: leak_mm2 12, or film_um 40 7 for a ramp of 7 s, then Enter", press_type, 0, 0},
    {'m', "mark this moment", press_mark, 0, 0},
    {'r', "the reasons, where they are not on view", press_why, 0, 0},
    {'?', "show the keys", press_help, 0, 0},
    {'q', "end", press_end, 0, 0},
};
// clang-format on
const size_t live_key_count = ARRAY_COUNT(live_key_rows);

const char *live_key_name(char key, char name[2]) {
  if (key == ' ') return "space";
  name[0] = key;
  name[1] = '\0';
  return name;
}
