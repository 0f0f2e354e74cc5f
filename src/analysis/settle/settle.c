#include "analysis/settle/settle.h"

#include "analysis/settle/settle_balance.h"
#include "base/curve.h"
#include "base/root.h"
#include "base/units.h"
#include "control/idle.h"
#include "control/supervise.h"
#include "physics/orifice.h"
#include "sim/driver.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ROOT_ITERATION_MAX = 80 };
enum { SCAN_COUNT = 28 }; // speeds looked at for a droop: closer than any two balances of these engines
enum { WARMTH_ITERATION_MAX = 40 };
enum { LIMP_ROUND_MAX = 3 }; // none, reduced power, drive off
#define FIRST_PEDAL_RATIO 0.06
#define OVERREACH         1.2
#define FILM_TAKES        0.7 // it is thinner where the blade's edge has gone to
#define HOTTEST_K         420.0
#define HOVER_RAD_S       (5.0 * UNITS_RAD_S_PER_RPM) // nobody reads a held speed closer
#define IMBALANCE_NM      0.01                        // moves speed by 0.1 rpm at most; a root found is a millionth of it

const char *const settle_outcome_names[SETTLE_OUTCOME_COUNT] = {"idles",  "droops",    "races",          "held",
                                                                "stands", "stalls",    "cannot hold",    "limps",
                                                                "cuts",   "rev limit", "not controlled", "not settled"};

static void begin_engine(struct settle *s, const struct engine *engine) {
  memset(&s->vehicle, 0, sizeof s->vehicle);
  s->vehicle.engine = engine;
  struct conditions sound;
  conditions_init(&sound);
  s->sound = sound.circuit_faults;
  sensors_init(&s->vehicle.sensors);
  computer_design_init(&s->vehicle.design, &engine->computer, engine_calibrated_on(engine));
  s->vehicle.film_bore.on_demand = true;
  film_bore_change(&s->vehicle.film_bore, &engine->plant.throttle.bore, &engine->plant.throttle.film_shape);
}

enum status settle_create(const struct engine *engine, struct settle **result, struct error *error) {
  struct settle *s = calloc(1, sizeof *s);
  if (!s) return error_set(error, STATUS_NO_MEMORY, "out of memory for settled points");
  begin_engine(s, engine);
  *result = s;
  return STATUS_OK;
}

void settle_change_car(struct settle *s, const struct engine *car) {
  const struct throttle_params *throttle = &car->plant.throttle;
  film_bore_change(&s->vehicle.film_bore, &throttle->bore, &throttle->film_shape);
  s->vehicle.engine = car;
  s->vehicle.design.params = &car->computer;
  if (car->calibrated_on) return;
  const struct bore_table *known = &s->vehicle.design.clean_bore;
  if (film_bore_alike(&known->bore, &known->shape, &throttle->bore, &throttle->film_shape))
    computer_design_change(&s->vehicle.design, &car->computer, &car->plant);
  else
    computer_design_rebase(&s->vehicle.design, &car->computer, &car->plant);
}

void settle_change_engine(struct settle *s, const struct engine *engine) {
  const struct throttle_params *throttle = &engine->plant.throttle;
  if (engine->calibrated_on || !film_bore_is_of(&s->vehicle.film_bore, &throttle->bore, &throttle->film_shape)) {
    begin_engine(s, engine);
    return;
  }
  s->vehicle.engine = engine;
  computer_design_change(&s->vehicle.design, &engine->computer, &engine->plant);
}

void settle_destroy(struct settle *s) { free(s); }

const struct vehicle *settle_rest(const struct settle *s) { return &s->vehicle; }

void settle_limits(const struct engine *engine, const struct settle_query *query, double coolant_k, double *low, double *high) {
  const bool warm = coolant_k >= engine->computer.supervision.warm_k;
  const bool learns = query->learning == SETTLE_LEARNED && warm; // cold, nothing is learned
  idle_limits(&engine->computer, learns ? NAN : query->learned_ratio, low, high);
}

/* Parts what the controller adds into learned offset and effort. */
static void part(struct settle *s, double added) {
  idle_learned_rest(&s->vehicle.engine->computer, added, s->kept_ratio, &s->vehicle.computer);
}

/* Net torque as a function of one unknown, for the root finder. */
struct unknown {
  struct settle *s;
  double (*net_nm)(struct settle *s, double unknown, double given);
  double given;
};

static double net_by_effort(struct settle *s, double added, double speed) { return settle_balance_idle_nm(s, speed, added); }
static double net_idling(struct settle *s, double speed, double added) { return settle_balance_idle_nm(s, speed, added); }
static double net_by_pedal(struct settle *s, double pedal, double speed) { return settle_balance_pedal_nm(s, speed, pedal); }
static double net_by_speed(struct settle *s, double speed, double unused) {
  (void)unused;
  return settle_balance_nm(s, speed);
}

static double unknown_net_nm(double x, void *user) {
  const struct unknown *u = user;
  return u->net_nm(u->s, x, u->given);
}

/* Where net torque is nothing between two ends of opposite sign. */
static double root(struct unknown *u, double a, double fa, double b, double fb, double tolerance) {
  const struct root_limits limits = {tolerance, SETTLE_TORQUE_NM, ROOT_ITERATION_MAX};
  return root_between(unknown_net_nm, u, a, fa, b, fb, &limits);
}

/* Speeds between two at which torque balances and more speed means less torque; the one nearest to `from` first. */
static size_t balances(struct unknown *by_speed, double from, double net_from_nm, double to, size_t most, double *found) {
  size_t count = 0;
  double last = from, last_net = net_from_nm;
  for (int i = 1; i <= SCAN_COUNT && count < most; i++) {
    const double speed = from + (to - from) * i / SCAN_COUNT;
    const double net = by_speed->net_nm(by_speed->s, speed, by_speed->given);
    const bool stable = to < from ? last_net < 0.0 && net >= 0.0 : last_net > 0.0 && net <= 0.0;
    if (stable) found[count++] = root(by_speed, last, last_net, speed, net, SETTLE_SPEED_RAD_S);
    last = speed;
    last_net = net;
  }
  return count;
}

/* Where speed goes from here: down to the first balance or a stall, up to the first balance or to where fuel is cut. The engine is left
 * there; `balanced` is the outcome of a balance. */
static void follow_speed(struct unknown *by_speed, double from, double net_nm, enum settle_outcome balanced,
                         struct settle_point *point) {
  struct settle *s = by_speed->s;
  const struct supervise_cut cut = supervise_cut(&s->vehicle.design, &s->vehicle.computer);
  const bool rises = net_nm > 0.0;
  const double end = rises ? cut.above_rad_s : s->vehicle.engine->plant.crank.stall_speed_rad_s;
  point->branch_count = balances(by_speed, from, net_nm, end, s->all_balances ? SETTLE_BRANCH_MAX : 1, point->branch_rad_s);
  point->outcome = balanced;
  if (point->branch_count == 0 && !rises) {
    point->outcome = SETTLE_STALLS;
    return;
  }
  if (point->branch_count == 0) {
    point->outcome = s->vehicle.computer.limp == COMPUTER_LIMP_REST ? SETTLE_CUTS : SETTLE_LIMITED;
    point->branch_count = 2;
    point->branch_rad_s[0] = cut.above_rad_s;
    point->branch_rad_s[1] = cut.below_rad_s;
  }
  by_speed->net_nm(s, point->branch_rad_s[0], by_speed->given);
}

/* What the controller adds, and the net torque with it at the target. */
struct effort {
  double added_ratio, net_nm;
};

static struct effort effort_of(struct settle *s, double added_ratio) {
  return (struct effort){added_ratio, settle_balance_idle_nm(s, s->vehicle.computer.target_rad_s, added_ratio)};
}

/* Where to begin looking: a film takes of the idle air about its share of the gap's mean width. Nothing but time hangs on it. */
static double likely_added_ratio(const struct settle *s) {
  const struct vehicle *vehicle = &s->vehicle;
  const struct throttle_params *throttle = &vehicle->engine->plant.throttle;
  if (throttle->kind == THROTTLE_CABLE) return 0.0;
  const double air = idle_air_kg_s(&vehicle->design, &s->sensors, vehicle->computer.target_rad_s, 0.0);
  const double gap_m2 =
      orifice_choked_cda_m2(air, s->sensors.barometer_pa, s->sensors.intake_k) / curve_value(&throttle->discharge, 0.0);
  const double film_m = vehicle->conditions.film_m + vehicle->conditions.edge_film_m;
  return FILM_TAKES * film_m * 2.0 * UNITS_PI * throttle->bore.radius_m / gap_m2;
}

/* From where torque does not balance to beyond where it does, or to a limit. Torque goes with air, so that a step is guessed from the
 * indicated torque of now, and from the last step after it; each reaches a little too far. */
static struct effort reach_over(struct settle *s, struct effort *from, double least, double most) {
  double per_ratio = s->signals.indicated_nm;
  for (;;) {
    const double step = per_ratio > 0.0 ? -OVERREACH * from->net_nm / per_ratio : from->net_nm > 0.0 ? -INFINITY : INFINITY;
    const struct effort next = effort_of(s, fmin(fmax(from->added_ratio + step, least), most));
    const bool at_limit = next.added_ratio <= least || next.added_ratio >= most;
    if (at_limit || next.net_nm * from->net_nm <= 0.0) return next;
    per_ratio = (next.net_nm - from->net_nm) / (next.added_ratio - from->added_ratio);
    *from = next;
  }
}

static void solve_idle(struct settle *s, struct settle_point *point) {
  const double target = s->vehicle.computer.target_rad_s;
  double low, high;
  idle_limits(&s->vehicle.engine->computer, s->kept_ratio, &low, &high);
  // at a limit a bypass valve stands on a whole step; between them it swings from one to the next, so that its mean is any part
  const double least = settle_balance_whole_step_ratio(s, low), most = settle_balance_whole_step_ratio(s, high);
  struct effort from = effort_of(s, fmin(fmax(likely_added_ratio(s), least), most));
  const struct effort to = reach_over(s, &from, least, most);
  if (to.net_nm * from.net_nm > 0.0) {
    const bool droops = to.net_nm < 0.0;
    struct unknown by_speed = {s, net_idling, to.added_ratio};
    follow_speed(&by_speed, target, to.net_nm, droops ? SETTLE_DROOPS : SETTLE_RACES, point);
    point->short_nm = point->outcome == SETTLE_STALLS ? -to.net_nm : 0.0;
    part(s, droops ? high : low); // what the computer believes to add
    return;
  }
  point->outcome = SETTLE_IDLES;
  struct unknown by_effort = {s, net_by_effort, target};
  const double added = root(&by_effort, from.added_ratio, from.net_nm, to.added_ratio, to.net_nm, SETTLE_EFFORT_RATIO);
  point->branch_count = 1;
  point->branch_rad_s[0] = target;
  settle_balance_idle_nm(s, target, added);
  part(s, fmin(fmax(added, low), high));
}

/* Nothing that idle control could do: the pedal is pressed, or taken for pressed, or the drive is off. Speed goes from the target to
 * where torque balances. */
static void solve_left_alone(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const bool pressed = query->conditions.pedal_ratio > s->vehicle.engine->computer.pedal.closed_ratio;
  const bool limps = s->vehicle.computer.limp == COMPUTER_LIMP_REST;
  struct unknown by_speed = {s, net_by_speed, 0.0};
  const double target = s->vehicle.computer.target_rad_s;
  follow_speed(&by_speed, target, settle_balance_nm(s, target),
               limps     ? SETTLE_LIMPS
               : pressed ? SETTLE_HELD
                         : SETTLE_UNCONTROLLED,
               point);
}

/* A foot that holds a speed goes from a pedal just pressed to the most that anybody gives. Too fast already, it lets go, and the engine
 * idles; too slow still, it stays there. */
static void solve_held(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const double speed = query->conditions.hold_speed_rad_s;
  double less = nextafter(s->vehicle.engine->computer.pedal.closed_ratio, 1.0), more = FIRST_PEDAL_RATIO;
  double net_less = settle_balance_pedal_nm(s, speed, less);
  if (net_less > 0.0) {
    s->vehicle.pedal_ratio = 0.0;
    settle_balance_place(s);
    if (s->vehicle.computer.idling)
      solve_idle(s, point);
    else
      solve_left_alone(s, query, point);
    return;
  }
  // little pedal holds most speeds: the bracket grows from there
  double net_more = settle_balance_pedal_nm(s, speed, more);
  while (net_more < 0.0 && more < DRIVER_TRAVEL_MOST) {
    less = more;
    net_less = net_more;
    more = fmin(2.0 * more, DRIVER_TRAVEL_MOST);
    net_more = settle_balance_pedal_nm(s, speed, more);
  }
  struct unknown by_speed = {s, net_by_speed, 0.0};
  if (net_more < 0.0 || speed > supervise_cut(&s->vehicle.design, &s->vehicle.computer).above_rad_s) {
    const double target = s->vehicle.computer.target_rad_s;
    follow_speed(&by_speed, target, settle_balance_nm(s, target), SETTLE_CANNOT_HOLD, point);
    return;
  }
  struct unknown by_pedal = {s, net_by_pedal, speed};
  point->outcome = SETTLE_HELD;
  point->branch_count = 1;
  point->branch_rad_s[0] = speed;
  settle_balance_pedal_nm(s, speed, root(&by_pedal, less, net_less, more, net_more, SETTLE_PEDAL_RATIO));
}

/* Signals and throttle drive as they were before anything was wrong with them, and nobody at the pedal. */
static struct conditions sound_idle(const struct settle *s, const struct conditions *conditions) {
  struct conditions idle = *conditions;
  idle.circuit_faults = s->sound;
  idle.faults.motor_open = idle.motor_supply_lost = 0.0;
  idle.pedal_ratio = idle.hold_speed_rad_s = 0.0;
  return idle;
}

/* Where the engine stands when pedal, or what is wrong with signals and drive, comes to it: it idled. */
static void idle_before(struct settle *s, const struct settle_query *query, double coolant_k, struct settle_point *point) {
  const struct conditions before = sound_idle(s, &query->conditions);
  settle_balance_begin(s, query, &before, coolant_k);
  solve_idle(s, point);
  s->stood_rad = s->vehicle.state.blade_rad;
  s->vehicle.pedal_ratio = query->conditions.hold_speed_rad_s > 0.0 ? 0.0 : query->conditions.pedal_ratio;
  settle_balance_change(s, &query->conditions);
  settle_balance_keep_idle_air(s);
  settle_balance_place(s);
}

static bool has_past(const struct settle *s, const struct conditions *conditions) {
  return conditions->pedal_ratio > 0.0 || conditions->hold_speed_rad_s > 0.0 || conditions->faults.motor_open > 0.5 ||
         // any change of a bit is a change. NOLINTNEXTLINE(bugprone-suspicious-memory-comparison)
         conditions->motor_supply_lost > 0.5 || memcmp(&s->sound, &conditions->circuit_faults, sizeof s->sound) != 0;
}

static void solve_supervised(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const bool drive_on = s->vehicle.computer.limp != COMPUTER_LIMP_REST;
  if (query->conditions.hold_speed_rad_s > 0.0 && drive_on)
    solve_held(s, query, point);
  else if (s->vehicle.computer.idling)
    solve_idle(s, point);
  else
    solve_left_alone(s, query, point);
}

/* What a settled point cannot know of the engine as it stands. */
static const char *refusal(const struct vehicle *vehicle) {
  const struct conditions *conditions = &vehicle->conditions;
  const struct throttle_params *throttle = &vehicle->engine->plant.throttle;
  if (conditions->controller_frozen > 0.5) return "a frozen controller keeps doing what it happened to do when it was frozen";
  if (conditions->learned_frozen > 0.5)
    return "a frozen learned offset stays what it happened to be; keep one with stale-learned";
  if (conditions->spark_frozen > 0.5) return "frozen spark stays what it happened to be";
  if (throttle->kind == THROTTLE_CABLE) return NULL; // the foot has the blade, and it is at its stop
  if (conditions->blade_jammed > 0.5) return "the position of a jammed blade depends on when it jammed";
  const enum circuit track = vehicle->computer.track_good[0] ? CIRCUIT_TRACK1 : CIRCUIT_TRACK2;
  const double opening_rad = vehicle->state.blade_rad - throttle->bore.closed_angle_rad;
  if (vehicle->computer.drive_powered && circuits_blade_worn(&conditions->circuit_faults, track, opening_rad))
    return "the track is worn where the blade should be, so it hunts over that place";
  return NULL;
}

/* Of some codes those that go with a limp-home: they are stored at once, and stay. */
static uint64_t limp_codes(uint64_t codes) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (monitor_rows[i].effect == MONITOR_EFFECT_NONE) codes &= ~monitors_bit((enum monitor_code)i);
  return codes;
}

/* Where torque does not balance after all: on either side of something that switches, or past which the blade jumps. */
static const char *imbalance(const struct settle *s, enum settle_outcome outcome) {
  const bool swings = outcome == SETTLE_CUTS || outcome == SETTLE_LIMITED;
  return !swings && fabs(s->signals.net_nm) > IMBALANCE_NM
             ? "torque balances on neither side of a jump, so the engine swings across it"
             : NULL;
}

/* A foot that is to hold a speed and lets go of a pedal just pressed, since that is too much, though idling is too slow: in a run it
 * comes and goes about the travel at which the pedal counts as pressed, and the mean is held. */
static const char *hovering(const struct settle *s, const struct settle_query *query, enum settle_outcome outcome) {
  const bool let_go = s->vehicle.pedal_ratio <= 0.0 && (outcome == SETTLE_IDLES || outcome == SETTLE_DROOPS);
  return let_go && s->vehicle.state.crank_speed_rad_s < query->conditions.hold_speed_rad_s - HOVER_RAD_S
             ? "with the pedal released it is too slow, and just pressed too fast: the foot comes and goes, and holds the speed "
               "on average"
             : NULL;
}

/* Limp-home as far as the faults of now lead: it holds until the key is turned off. True if it went further. */
static bool follow_limp(struct settle *s, struct settle_point *point) {
  struct computer_state *computer = &s->vehicle.computer;
  uint64_t codes;
  const enum monitor_effect effect = settle_balance_supervise(s, &point->measures, &codes);
  const enum computer_limp limp = effect == MONITOR_EFFECT_REST      ? COMPUTER_LIMP_REST
                                  : effect == MONITOR_EFFECT_REDUCED ? COMPUTER_LIMP_REDUCED
                                                                     : COMPUTER_LIMP_NONE;
  point->codes |= limp > computer->limp ? limp_codes(codes) : codes;
  if (limp <= computer->limp) return false;
  computer->limp = limp;
  settle_balance_place(s);
  return true;
}

static void solve_at_warmth(struct settle *s, const struct settle_query *query, double coolant_k, struct settle_point *point) {
  point->codes = 0;
  if (has_past(s, &query->conditions) && !query->engine_off) {
    idle_before(s, query, coolant_k, point);
    while (follow_limp(s, point)) continue; // at once: before idle control has had time for anything
    point->codes = limp_codes(point->codes);
  } else {
    settle_balance_begin(s, query, &query->conditions, coolant_k);
  }
  if (query->engine_off) {
    settle_balance_stand(s);
    while (follow_limp(s, point)) continue;
    point->outcome = SETTLE_STANDS;
    point->branch_count = 1;
    point->branch_rad_s[0] = 0.0;
    return;
  }
  for (int i = 0; i < LIMP_ROUND_MAX; i++) {
    solve_supervised(s, query, point);
    if (!follow_limp(s, point)) break;
  }
}

/* Coolant where what warms it equals what cools it; the oil follows. */
static void solve_warmth(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  double low = query->conditions.intake_k, high = HOTTEST_K;
  for (int i = 0; i < WARMTH_ITERATION_MAX && high - low > 1e-4; i++) {
    const double middle = 0.5 * (low + high);
    solve_at_warmth(s, query, middle, point);
    if (point->outcome == SETTLE_STALLS) return;
    if (settle_balance_coolant_rate_k_s(s) > 0.0)
      low = middle;
    else
      high = middle;
  }
}

void settle_solve(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  memset(point, 0, sizeof *point);
  s->all_balances = query->all_balances;
  if (query->conditions.warmth_held > 0.5 || query->engine_off)
    solve_at_warmth(s, query, query->conditions.coolant_k, point);
  else
    solve_warmth(s, query, point);
  if (point->outcome == SETTLE_STALLS) {
    settle_balance_stand(s);
    settle_balance_supervise(s, &point->measures, &point->codes); // none that only a running engine sets
  }
  point->limp = s->vehicle.computer.limp;
  if (point->outcome != SETTLE_STANDS && point->outcome != SETTLE_STALLS) {
    point->reason = refusal(&s->vehicle);
    if (!point->reason) point->reason = imbalance(s, point->outcome);
    if (!point->reason) point->reason = hovering(s, query, point->outcome);
  }
  settle_balance_sample(s, point->values);
  if (point->reason) {
    point->outcome = SETTLE_NOT_SETTLED;
    point->branch_count = 0;
    point->codes = 0;
    for (int i = 0; i < CHANNEL_COUNT; i++) point->values[i] = NAN;
  }
}
